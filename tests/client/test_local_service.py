"""A service of the command's own (`--local`): it ends with its parent, asks no proxy and meets no other."""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from click.testing import CliRunner

from rimpoise import Client
from rimpoise.cli.commands import cli
from rimpoise.cli.local_service import local_service


def gone(url: str) -> bool:
    """Whether nobody listens there any more."""
    address = urlsplit(url)
    ends = time.monotonic() + 30
    while time.monotonic() < ends:
        try:
            socket.create_connection((address.hostname or "", address.port or 0), timeout=1).close()
        except ConnectionRefusedError:
            return True
        time.sleep(0.02)
    return False


@pytest.mark.slow
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM])
def test_a_service_of_its_own_ends_with_its_parent(how: signal.Signals) -> None:
    program = (
        "import sys; from rimpoise.cli.local_service import local_service\n"
        "with local_service(1) as url: print(url, flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        url = process.stdout.readline().strip()
        process.send_signal(how)
        process.wait()
    assert gone(url)


@pytest.mark.slow
def test_a_service_of_its_own_asks_no_proxy(table: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("http_proxy", "HTTP_PROXY", "all_proxy"):
        monkeypatch.setenv(name, "http://127.0.0.1:9")
    for name in ("no_proxy", "NO_PROXY"):
        monkeypatch.delenv(name, raising=False)
    result = CliRunner().invoke(cli, ["check", str(table), str(tmp_path / "o.csv"), "--local"])
    assert result.exit_code in (0, 1), result.stderr


@pytest.mark.slow
def test_two_services_of_their_own_do_not_meet() -> None:
    with local_service(1) as one, local_service(1) as two, Client(two) as client:
        assert one != two
        assert client.health()


@pytest.mark.slow
def test_a_private_service_does_not_hold_its_only_caller_back() -> None:
    """Answers say what is left of a budget wherever there is one."""
    with local_service(1) as url, Client(url) as client:
        response = client.reference().response
    assert response
    assert "ratelimit-policy" not in {name.lower() for name in response.headers}
