"""A service that is away, refuses or fails under `rimpoise check`: how long it is waited for, and how it ends."""

from __future__ import annotations

import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from rimpoise import Client, ConnectionFailed, Retry
from rimpoise.cli.patience import PatientClient, Stopped, Throttle
from rimpoise.http import Call, Reply
from tests.client.shell import Run
from tests.client.tables import csv_of
from tests.served import serving

Script = list[tuple[str, dict[str, str]]]


@contextmanager
def before(app: Callable[..., Any], script: Script) -> Iterator[tuple[str, list[float]]]:
    """The application behind one that gives the answers of a script first; its URL, and when requests came."""
    came: list[float] = []
    lock = threading.Lock()

    def scripted(environ: dict[str, Any], start: Callable[..., Any]) -> Iterable[bytes]:
        if environ["REQUEST_METHOD"] == "POST":
            with lock:
                came.append(time.monotonic())
                status, headers = script.pop(0) if script else ("", {})
            if status:
                environ["wsgi.input"].read(int(environ["CONTENT_LENGTH"]))
                start(status, [("Content-Length", "0"), *headers.items()])
                return [b""]
        return app(environ, start)  # type: ignore[no-any-return]

    with serving(scripted) as url:
        yield url, came


@pytest.fixture(scope="module")
def app() -> Callable[..., Any]:
    """The real application."""
    from rimpoise_service.api.app import create_app

    return create_app()


LIMIT = ("429 Too Many Requests", {"Retry-After": "1"})


def test_a_limit_is_waited_out_by_all_requests_together(
    table: Path, app: Any, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is under way beside the refused one is answered when all are held; the rest comes a second later."""
    table.write_bytes(csv_of(8).encode())
    shut, shut_at, held = Throttle.shut, list[float](), threading.Event()

    def watched(throttle: Throttle, seconds: float) -> bool:
        shut_at.append(time.monotonic())
        longer = shut(throttle, seconds)
        held.set()
        return longer

    def then(environ: dict[str, Any], start: Callable[..., Any]) -> Any:
        assert environ["REQUEST_METHOD"] != "POST" or held.wait(30)
        return app(environ, start)

    monkeypatch.setattr(Throttle, "shut", watched)
    with before(then, [LIMIT]) as (url, came):
        result = run("check", table, tmp_path / "o.csv", "--url", url, "--chunk", "1", "--at-once", "2")
    assert result.exit_code in (0, 1), result.stderr
    assert result.stderr.count("waiting 1.0 s for the service (status 429)") == len(shut_at) == 1
    assert len((tmp_path / "o.csv").read_text().splitlines()) == len(came) == 9
    assert sum(at < shut_at[0] + 1.0 for at in came) <= 2, "one pause, for all"


def test_an_outage_is_waited_out(table: Path, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    send, failures = Client.send, iter([ConnectionFailed("refused")] * 3)

    def flaky(client: Client, call: Call) -> Reply:
        if call.method == "POST" and (failure := next(failures, None)):
            raise failure
        return send(client, call)

    monkeypatch.setattr(Client, "send", flaky)
    monkeypatch.setattr(Retry, "wait_s", lambda *_: 0.01)
    assert run("check", table, tmp_path / "o.csv", "--quiet").exit_code in (0, 1)


def test_it_gives_up_when_told_to(table: Path, app: Any, run: Run, tmp_path: Path) -> None:
    for option in (("--retries", "0"), ("--wait", "0.5")):
        with before(app, [LIMIT] * 9) as (url, came):
            assert run("check", table, tmp_path / "o.csv", "--url", url, "--restart", *option).exit_code == 3
        assert len(came) == 1


@pytest.mark.parametrize(
    ("status", "exit_code"),
    [
        ("401 Unauthorized", 3),
        ("403 Forbidden", 3),
        ("429 Too Many Requests", 3),
        ("500 Internal Server Error", 5),
        ("503 Service Unavailable", 4),
        ("404 Not Found", 2),
        ("200 OK", 5),
    ],
)
def test_the_exit_status_says_whose_fault_it_is(
    status: str, exit_code: int, table: Path, app: Any, run: Run, tmp_path: Path
) -> None:
    with before(app, [(status, {})] * 9) as (url, _):
        result = run("check", table, tmp_path / "o.csv", "--url", url, "--retries", "0")
    assert result.exit_code == exit_code
    assert result.stderr.startswith("rimpoise: ")


def test_a_throttle_holds_all_and_can_be_stopped() -> None:
    now = [100.0]
    throttle = Throttle(lambda: now[0])
    throttle.wait()
    assert [throttle.shut(5), throttle.shut(2), throttle.shut(6)] == [True, False, True]
    with ThreadPoolExecutor(1) as pool:
        waiting = pool.submit(throttle.wait)
        throttle.stop()
        with pytest.raises(Stopped):
            waiting.result(timeout=30)


def test_what_others_wait_for_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four requests that are sent at once must not make a wait of five minutes one of twenty."""
    sent = []

    def refused(_: Client, call: Call) -> Reply:
        sent.append(call)
        raise ConnectionFailed("refused")

    def another_is_asked_to_wait(_: str) -> None:
        client._throttle.shut(0.9)

    monkeypatch.setattr(Client, "send", refused)
    monkeypatch.setattr("random.random", lambda: 0.0)
    client = PatientClient("http://127.0.0.1:9", wait_s=1.0, retries=None, say=another_is_asked_to_wait)
    with pytest.raises(ConnectionFailed):
        client.send(Call("GET", "http://127.0.0.1:9/healthz", {}, None, 1.0))
    assert len(sent) == 2


CHECKED = "broken off after 0 of 3 wheels; "


@pytest.mark.parametrize(("how", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
@pytest.mark.parametrize(
    ("command", "out", "said"),
    [
        ("check", "o.csv", CHECKED + "the same command goes on from here"),
        ("check", "-", CHECKED + "only a run that writes to a file can go on"),
        ("demand", None, "broken off"),
    ],
)
def test_a_signal_ends_a_wait_at_once_and_one_line_says_so(
    table: Path, tmp_path: Path, command: str, out: str | None, said: str, how: signal.Signals, status: int
) -> None:
    files = [str(table), *([out if out == "-" else str(tmp_path / out)] if out else [])]
    where = ["--url", "http://127.0.0.1:9", "--wait", "500"]
    line = [sys.executable, "-m", "rimpoise", command, *files, *where]
    with subprocess.Popen(line, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        while "waiting" not in process.stderr.readline():
            assert process.poll() is None
        process.send_signal(how)
        try:
            assert process.wait(timeout=60) == status
        finally:
            process.kill()
        rest = process.stderr.read().splitlines()
    assert [x for x in rest if "waiting" not in x] == [f"rimpoise: {said}"]


def test_a_signal_ends_a_wait_at_the_instant_when_its_thread_has_the_lock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the signal comes just before the lock is let go to wait; that hung for ever."""
    throttle, ended = Throttle(), threading.Semaphore(0)
    throttle.shut(500)

    def go() -> None:
        with monkeypatch.context() as patched:
            patched.setattr(threading.Condition, "wait", lambda *_: throttle.stop())  # as the handler does
            with pytest.raises(Stopped):
                throttle.wait()
        ended.release()

    thread = threading.Thread(target=go, daemon=True)
    thread.start()
    thread.join(timeout=30)
    assert not thread.is_alive()
    assert ended.acquire(blocking=False)


def test_a_patient_client_is_a_client(url: str) -> None:
    with PatientClient(url, wait_s=1, retries=None, say=print) as client, client.interruptible():
        assert client.health()
