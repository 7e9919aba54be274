"""What `tests/load` measures is the service as it is set; and every measurement that is named can be made."""

from __future__ import annotations

import json
import re
import socket
import subprocess
import sys
from importlib import import_module

import pytest
from werkzeug.test import Client

from rimpoise_service.api.app import create_app
from tests.bench import __main__ as bench
from tests.load import __main__ as load
from tests.load import asking, echo
from tests.load.service import ROOT


def test_the_echo_counts_no_work_where_the_environment_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Else a measurement at full speed is refused after some seconds of computing."""
    answers = []
    for rate in ("0", "500"):
        monkeypatch.setenv("RIMPOISE_WORK_RATE", rate)
        answers.append(Client(echo.make()).post("/v1/echo", json=echo.TWO_CLIPS))
    assert [a.status_code for a in answers] == [200, 200]
    assert ["RateLimit" in a.headers for a in answers] == [False, True]


def test_the_bare_echo_gives_back_what_came() -> None:
    answer = Client(echo.make()).post("/bare", json=echo.TWO_CLIPS)
    assert answer.get_json() == echo.TWO_CLIPS


@pytest.mark.parametrize(
    "name", [*(f"tests.bench.{name}" for name in bench.NAMES), *(f"tests.load.{name}" for name in load.NAMES)]
)
def test_every_measurement_reports(name: str) -> None:
    assert callable(import_module(name).report)


def test_garbage_is_collected_once_the_service_is_there() -> None:
    """But not among what was imported."""
    code = "import rimpoise_service.wsgi, gc; print(gc.isenabled(), gc.get_freeze_count() > 100_000)"
    assert subprocess.check_output([sys.executable, "-c", code], text=True).split() == ["True", "True"]


@pytest.mark.slow
def test_every_example_is_requested_as_what_it_is_and_judged_by_its_answer() -> None:
    """Lines as lines; the ids of what a batch refuses are all that may differ."""
    questions = asking.mixed()
    assert {q.media_type for q in questions} == {"application/json", "application/x-ndjson"}
    (lines,) = (q for q in questions if q.media_type == "application/x-ndjson")
    assert lines.headers == {"Content-Type": "application/x-ndjson"}
    assert lines.body.count(b"\n") >= 2
    assert asking.judged(200, lines.media_type, lines.answer, lines) == "right"
    assert asking.judged(200, lines.media_type, lines.answer[:-2], lines) == "wrong"
    assert asking.judged(503, "application/problem+json", b"{}", lines) == "refused"


def test_one_who_no_longer_waits_was_not_hung_up_on() -> None:
    with socket.create_server(("127.0.0.1", 0)) as mute, socket.create_connection(mute.getsockname()) as one:
        one.settimeout(0.01)
        with pytest.raises(OSError) as late:
            one.recv(1)
        mute.accept()[0].close()
    assert [asking.unanswered(error) for error in (late.value, ConnectionResetError())] == ["late", "lost"]


def test_what_the_image_is_asked_is_what_the_contract_has() -> None:
    """The script takes minutes and root, so it is run by hand."""
    script = (ROOT / "tests" / "load" / "image.sh").read_text(encoding="utf-8")
    body, path = re.findall(r"--data '(.*?)' \\\n\s*\"http://127\.0\.0\.1:\$port(\S+)\"", script, re.DOTALL)[0]
    assert create_app().test_client().post(path, json=json.loads(body)).status_code == 200
