"""Files of keys that are no files."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops.api_keys import BadKeys, KeyRing, new_key
from rimpoise_service.api.ops.settings import Settings


def test_what_might_never_end_is_not_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    path, (key, line) = tmp_path / "keys", new_key("workshop")
    path.write_text(line, encoding="utf-8")
    client = create_app(Settings(keys_file=path)).test_client()
    path.unlink()
    os.mkfifo(path)
    monkeypatch.setattr(Path, "read_text", lambda *_, **__: pytest.fail("it would wait for a writer"))
    assert client.get("/v1/reference", headers={"Authorization": f"Bearer {key}"}).status_code == 200
    assert "it is a folder, a pipe or a device; give a file" in caplog.text
    with pytest.raises(BadKeys, match="give a file"):
        KeyRing(path)
