"""Files of keys that are no files, are half written, too long or out of reach for a while."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops import api_keys
from rimpoise_service.api.ops.api_keys import AGAIN_S, SETTLE_S, BadKeys, KeyRing, new_key
from rimpoise_service.api.ops.settings import Settings
from tests.clock import Clock


def test_what_might_never_end_is_not_read(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    path, (key, line) = tmp_path / "keys", new_key("workshop")
    path.write_text(line, encoding="utf-8")
    client = create_app(Settings(keys_file=path)).test_client()
    path.unlink()
    os.mkfifo(path)
    monkeypatch.setattr(Path, "open", lambda *_, **__: pytest.fail("it would wait for a writer"))
    for _ in range(2):
        assert client.get("/v1/reference", headers={"Authorization": f"Bearer {key}"}).status_code == 200
        clock.now += SETTLE_S  # in a place on the disk that was a file's it looks like one that is written to
    assert "it is a folder, a pipe or a device; give a file" in caplog.text
    with pytest.raises(BadKeys, match="give a file"):
        KeyRing(path)


def test_a_file_that_is_written_in_place_is_read_when_it_is_all_there(tmp_path: Path, clock: Clock) -> None:
    """As into a container that has this one file: whoever's key was not there yet got a 401."""
    path, (old, line), (new, another) = tmp_path / "keys", new_key("workshop"), new_key("garage")
    path.write_text(line, encoding="utf-8")
    ring = KeyRing(path)
    path.write_text(another + "\n", encoding="utf-8")
    assert ring.name_of(old) == "workshop"
    clock.now += SETTLE_S / 2
    path.write_text(another + "\n" + line, encoding="utf-8")
    clock.now += SETTLE_S / 2
    assert [ring.name_of(old), ring.name_of(new)] == ["workshop", None]
    clock.now += SETTLE_S
    assert [ring.name_of(old), ring.name_of(new)] == ["workshop", "garage"]


def test_a_file_that_could_not_be_read_is_tried_again(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As without a free descriptor: it was given up until it changed, and an hour later nobody got in."""
    path, (_, line), (new, another) = tmp_path / "keys", new_key("workshop"), new_key("garage")
    path.write_text(line, encoding="utf-8")
    ring = KeyRing(path)
    path.unlink()
    path.write_text(another, encoding="utf-8")
    clock.now += SETTLE_S
    with monkeypatch.context() as patch:
        patch.setattr(Path, "open", lambda *_, **__: (_ for _ in ()).throw(OSError(24, "Too many open files")))
        assert ring.name_of(new) is None
        clock.now += SETTLE_S
        assert ring.name_of(new) is None
    clock.now += AGAIN_S
    assert ring.name_of(new) == "garage"


def test_of_a_file_that_is_too_long_not_all_is_read_or_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """500 MB of something else took 4 GB of each worker."""
    path = tmp_path / "keys"
    path.write_text("nonsense\n" * 1000, encoding="utf-8")
    with pytest.raises(BadKeys, match="lines 1, 2, 3, 4, 5, 6, 7, 8, 9, 10 and more are not"):
        KeyRing(path)
    monkeypatch.setattr(api_keys, "MAX_BYTES", 8000)
    with pytest.raises(BadKeys, match="it is longer than 8000 bytes"):
        KeyRing(path)
