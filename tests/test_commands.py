"""The command line, and the service under gunicorn on a real port."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
import requests

from rimpoise_service.api.endpoints.document import document
from rimpoise_service.commands import main
from tests.load.service import free_port


def test_openapi_writes_and_checks(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "openapi.yaml"
    assert main(["openapi", str(file), "--check"]) == 1
    assert not file.exists()
    assert main(["openapi", str(file)]) == 0
    assert file.read_text(encoding="utf-8") == document()
    capsys.readouterr()
    assert main(["openapi", str(file), "--check"]) == 0
    assert capsys.readouterr().out == ""
    file.write_text(document().replace("planFitting", "planSomething"), encoding="utf-8")
    assert main(["openapi", str(file), "--check"]) == 1
    assert "+      operationId: planFitting" in capsys.readouterr().out


def test_who_reads_no_further_ends_it_without_a_traceback() -> None:
    """As ``| head`` does: the status that a shell gives for SIGPIPE, and nothing on standard error."""
    reads, writes = os.pipe()
    os.close(reads)
    try:
        command = [sys.executable, "-m", "rimpoise_service", "settings"]
        ended = subprocess.run(command, stdout=writes, stderr=subprocess.PIPE, check=False, timeout=300)
    finally:
        os.close(writes)
    assert (ended.returncode, ended.stderr) == (141, b"")


def test_the_demo_tells_a_job_from_readings_to_invoice(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo"]) == 0
    reported = capsys.readouterr().out
    assert re.findall(r"^Decision: (.*)\.$", reported, re.MULTILINE) == [
        "fit",
        "fit",
        "already within",
        "repair first",
    ]
    assert "don't spin it" in reported
    assert "Verdict: adjust." in reported
    assert "fit a new one, 45 g, at 111°: 12° (46 mm along the rim) anticlockwise" in " ".join(reported.split()), (
        "just what the demo did to it"
    )
    net, tax, gross = (
        Decimal(x)
        for x in re.search(r"At 20 % tax: (\S+) \+ (\S+)\nTo be paid: (\S+) EUR", reported).groups()  # type: ignore[union-attr]
    )
    amounts = re.findall(r"^.*(?:pieces?|segments?|wheels?|kg|vehicles?) +\S+ +(\S+)$", reported, re.MULTILINE)
    assert sum(map(Decimal, amounts)) == net
    assert net + tax == gross
    assert "Decision: fit." in reported
    for number in ("1", "2"):
        assert re.search(rf"^  {number}\. \d+ g \S+, \d+°$", reported, re.MULTILINE)
        assert re.search(rf"Weight {number}: (clip-on|strip) .* at \d+°", " ".join(reported.split()))
    assert re.search(r"Left after it: \d(\.\d)? g inner, \d(\.\d)? g outer, \d(\.\d)? g static", reported)
    assert re.search(r"passes the check spin \d+ times in \d+", reported)
    assert "eye protection" in reported


@pytest.mark.parametrize("argv", [[], ["fly"], ["serve", "--port", "http"], ["demo", "twice"]])
def test_a_wrong_command_line_is_explained(argv: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(argv)
    assert ended.value.code == 2
    assert "usage: python -m rimpoise_service" in capsys.readouterr().err


def test_what_the_command_line_says_is_a_setting_like_any_other(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("RIMPOISE_OPERATOR_BIND", "off")
    assert main(["serve", "--port", "99999", "--workers", "0"]) == 2
    assert [line.partition(" must be ")[0] for line in capsys.readouterr().err.splitlines()] == [
        "RIMPOISE_BIND",
        "RIMPOISE_WORKERS",
    ]


@pytest.fixture(scope="module")
def served() -> Iterator[str]:
    """The service as ``serve`` starts it, in its own process; it must end well when it is told to."""
    port = str(free_port())
    command = [sys.executable, "-m", "rimpoise_service", "serve", "--port", port, "--workers", "1"]
    environ = os.environ | {"RIMPOISE_OPERATOR_BIND": "off"}  # whose usual port another service may have
    with subprocess.Popen(command, stderr=subprocess.DEVNULL, env=environ) as process:
        try:
            yield _answering(f"http://127.0.0.1:{port}")
        finally:
            process.terminate()
            assert process.wait(timeout=120) == 0


def _answering(url: str) -> str:
    for _ in range(1200):
        try:
            requests.get(f"{url}/healthz", timeout=30)
        except requests.ConnectionError:
            time.sleep(0.1)
        else:
            return url
    raise TimeoutError(url)


def test_serve_answers(served: str) -> None:
    assert requests.get(f"{served}/healthz", timeout=30).json()["status"] == "ok"
    assert requests.get(f"{served}/openapi.yaml", timeout=30).text == document()


@pytest.mark.parametrize(("blocks", "status"), [(1, 400), (16, 413), (48, 413)])
def test_a_chunked_body_is_not_cut(blocks: int, status: int, served: str) -> None:
    chunks = (b"{}" + b" " * (2**16 - 2) if i == 0 else b" " * 2**16 for i in range(blocks))
    headers = {"Content-Type": "application/json"}
    response = requests.post(f"{served}/v1/plans", data=chunks, headers=headers, timeout=30)
    assert (response.status_code, response.headers["Content-Type"]) == (status, "application/problem+json")
