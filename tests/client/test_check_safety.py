"""A night's run of `rimpoise check`: nothing is lost or written twice, and its end says what happened."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from click.testing import CliRunner, Result
from werkzeug.serving import make_server

from rimpoise import Client, ConnectionFailed, Retry
from rimpoise.cli.commands import cli
from rimpoise.cli.local_service import local_service
from rimpoise.cli.locks import Locked, locked
from rimpoise.cli.patience import PatientClient, Stopped, Throttle
from rimpoise.cli.progress import Progress
from rimpoise.http import Call, Reply
from tests.client.tables import csv_of

Run = Callable[..., Result]


@pytest.fixture
def run(url: str) -> Run:
    """Run a command, asking the real application."""
    return lambda *args, **kwargs: CliRunner().invoke(
        cli, [str(a) for a in args], env={"RIMPOISE_URL": url}, catch_exceptions=False, **kwargs
    )


@pytest.fixture
def table(tmp_path: Path) -> Path:
    """Three good wheels."""
    path = tmp_path / "wheels.csv"
    path.write_bytes(csv_of(3).encode())
    return path


# What it may write to


def test_a_second_start_is_refused_and_names_the_first(table: Path, run: Run, tmp_path: Path) -> None:
    """One run holds the lock, in another process; the second says which and since when."""
    out = tmp_path / "out.csv"
    program = (
        "import sys; from pathlib import Path; from rimpoise.cli.output import Layout, Output;"
        "from rimpoise.tables import open_table\n"
        "layout = Layout.of(open_table(Path(sys.argv[1])), 'csv', 'wheel')\n"
        "with Output(Path(sys.argv[2]), layout).writing('m', restart=True, seen=print):\n"
        "    print('writing', flush=True); sys.stdin.read()"
    )
    command = [sys.executable, "-c", program, str(table), str(out)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "writing\n"
        started = json.loads((tmp_path / "out.csv.stamp").read_text())["started"]
        for options in ((), ("--restart",), ("--overwrite",)):
            second = run("check", table, out, *options)
            assert second.exit_code == 2
            assert f"is being written by process {first.pid}, started {started}" in second.stderr
        first.kill()
    assert run("check", table, out, "--restart").exit_code in (0, 1)
    assert len(out.read_text().splitlines()) == 4


def test_a_lock_goes_with_its_file(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    with locked(path):
        with pytest.raises(Locked, match="another process"), locked(path):
            pass
        path.unlink()
        with locked(path) as again:
            assert again.fileno()


def test_never_onto_its_own_table(table: Path, run: Run, tmp_path: Path) -> None:
    before = table.read_bytes()
    (tmp_path / "link.csv").symlink_to(table)
    os.link(table, tmp_path / "hard.csv")
    for out in (table, tmp_path / "link.csv", tmp_path / "hard.csv"):
        result = run("check", table, out, "--overwrite")
        assert (result.exit_code, "is the table itself" in result.stderr) == (2, True)
    assert table.read_bytes() == before


def test_no_folder_and_no_device(table: Path, run: Run, tmp_path: Path) -> None:
    for out, what in ((tmp_path, "a folder"), ("/dev/null", "a device"), ("/dev/stdout", "a device")):
        result = run("check", table, out, "--overwrite")
        assert (result.exit_code, what in result.stderr) == (2, True)
    assert not Path("/dev/null.part").exists()
    missing = run("check", table, tmp_path / "none" / "o.csv")
    assert (missing.exit_code, "there is no folder" in missing.stderr) == (2, True)
    pieces = run("check", table, tmp_path / "o.ndjson", "--rows", "piece")
    assert (pieces.exit_code, "the whole plan" in pieces.stderr) == (2, True)


@pytest.mark.parametrize("command", ["draw", "plan", "demand", "spread"])
def test_nothing_else_is_overwritten_unasked(command: str, table: Path, run: Run, tmp_path: Path) -> None:
    precious = tmp_path / "precious.svg"
    precious.write_text("precious")
    request = tmp_path / "request.json"
    request.write_text("{}")
    arguments: dict[str, list[Any]] = {
        "draw": [request, precious],
        "plan": [request, "--sheet", precious],
        "demand": [table, "--plot", precious],
        "spread": [table, "--plot", precious],
    }
    result = run(command, *arguments[command])
    assert (result.exit_code, "--overwrite replaces it" in result.output) == (2, True)
    assert precious.read_text() == "precious"


def test_a_dash_is_standard_input_and_output(table: Path, run: Run, tmp_path: Path) -> None:
    out = tmp_path / "out.csv"
    run("check", table, out)
    piped = run("check", "-", "-", input=table.read_bytes())
    assert piped.stdout_bytes == out.read_bytes()
    assert "3 wheels checked" in piped.stderr
    assert run("check", "-", tmp_path / "two.csv", input=table.read_bytes()).exit_code in (0, 1)
    assert (tmp_path / "two.csv").read_bytes() == out.read_bytes()
    assert run("demand", "-", input=table.read_bytes()).output == run("demand", table).output
    line = json.dumps({"reference": "seven"})
    lines = run("check", "-", "-", "--form", "ndjson", input=line)
    assert json.loads(lines.stdout)["reference"] == "seven"


def test_a_reader_that_leaves_ends_it_quietly(table: Path, url: str) -> None:
    table.write_bytes(csv_of(200).encode())
    command = [sys.executable, "-m", "rimpoise", "check", str(table), "-", "--url", url, "--chunk", "5", "-q"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait() == 141


# A service that is away, refuses or fails


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

    server = make_server("127.0.0.1", 0, scripted, threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}", came
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@pytest.fixture(scope="module")
def app() -> Callable[..., Any]:
    """The real application."""
    from rimpoise_service.api.app import create_app

    return create_app()


LIMIT = ("429 Too Many Requests", {"Retry-After": "1"})


def test_a_limit_is_waited_out_by_all_requests_together(table: Path, app: Any, run: Run, tmp_path: Path) -> None:
    table.write_bytes(csv_of(8).encode())
    with before(app, [LIMIT]) as (url, came):
        result = run("check", table, tmp_path / "o.csv", "--url", url, "--chunk", "1", "--at-once", "2")
    assert result.exit_code in (0, 1), result.stderr
    assert "waiting 1.0 s for the service (status 429)" in result.stderr
    assert len((tmp_path / "o.csv").read_text().splitlines()) == 9
    pauses = [later - earlier for earlier, later in pairwise(came)]
    assert sum(pause >= 0.9 for pause in pauses) == 1, "one pause, for all"


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
            waiting.result(timeout=5)


def test_ctrl_c_ends_a_wait_at_once(table: Path, tmp_path: Path) -> None:
    command = [sys.executable, "-m", "rimpoise", "check", str(table), str(tmp_path / "o.csv")]
    where = ["--url", "http://127.0.0.1:9", "--wait", "500"]
    with subprocess.Popen([*command, *where], stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        while "waiting" not in process.stderr.readline():
            assert process.poll() is None
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=5) == 130


# What counts as passing, and what is said


def test_a_least_chance_and_a_summary_for_programs(table: Path, run: Run, tmp_path: Path) -> None:
    table.write_text(run("template", "--example").output, "utf-8")
    out = tmp_path / "o.csv"
    good = run("check", table, out, "--summary", "json")
    assert (good.exit_code, json.loads(good.stdout)["passing"]) == (0, 1)
    strict = run("check", table, out, "--overwrite", "--min-chance", "100", "--summary", "json")
    said = json.loads(strict.stdout)
    assert strict.exit_code == 1
    assert said["reasons"] == {"fit: chance_below_minimum": 1}
    assert "less than 100 %" in said["first_failing"][0]["why"]
    assert "chance_below_minimum" in out.read_text()
    assert json.loads(run("check", table, "-", "--summary", "json", "-q").stderr)["wheels"] == 1
    assert run("check", table, "-", "--summary", "none", "-q").stderr == ""


def test_progress_without_a_terminal_is_a_line_every_ten_seconds(capsys: pytest.CaptureFixture[str]) -> None:
    now = [0.0]
    with Progress(1000, now=lambda: now[0]) as progress:
        for second, done in ((0, 200), (1, 210), (11, 310), (12, 320), (23, 430)):
            now[0] = float(second)
            progress(done)
    assert capsys.readouterr().err.splitlines() == [
        "310 of 1,000 wheels, 10 a second, about 69 s left",
        "430 of 1,000 wheels, 10 a second, about 57 s left",
    ]


def test_verbose_has_a_line_for_each_request_and_never_a_colour(
    table: Path, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FORCE_COLOR", "1")
    result = run("check", table, tmp_path / "o.csv", "-v")
    assert "rimpoise: POST /v1/plans/batch (" in result.stderr
    assert "status 200" in result.stderr
    assert "\x1b" not in result.output + run("-h").output + run("check", "-h").output


def test_the_shell_completes() -> None:
    environ = os.environ | {"_RIMPOISE_COMPLETE": "bash_complete", "COMP_WORDS": "rimpoise ch", "COMP_CWORD": "1"}
    said = subprocess.run(
        [sys.executable, "-c", "from rimpoise.cli.commands import cli; cli(prog_name='rimpoise')"],
        env=environ, capture_output=True, text=True, check=False,
    ).stdout  # fmt: skip
    assert {"plain,check", "plain,charges", "plain,check-spin"} <= set(said.split("\n"))


# Settings


def test_settings_from_a_file_and_the_environment(table: Path, run: Run, url: str, tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text("verbose = true\n[check]\nchunk = 1\nat-once = 1\n")
    result = run("--settings", file, "check", table, "-")
    assert result.stderr.count("POST /v1/plans/batch") == 3
    environ = {"RIMPOISE_CLI_CHECK_CHUNK": "3", "RIMPOISE_CLI_SETTINGS": str(file)}
    said = CliRunner().invoke(cli, ["check", str(table), "-"], env=environ | {"RIMPOISE_URL": url})
    assert said.stderr.count("POST /v1/plans/batch") == 1
    bad = {"[check]\nsize = 1\n": "[check] has no option 'size'", "colour = 1": "'colour'", "=": "can't"}
    for text, wrong in bad.items():
        file.write_text(text)
        refused = run("--settings", file, "check", table, "-")
        assert (refused.exit_code, wrong in refused.stderr) == (2, True)


# A service of its own


def gone(url: str, within_s: float = 30) -> bool:
    """Whether nobody listens there any more."""
    address = urlsplit(url)
    ends = time.monotonic() + within_s
    while time.monotonic() < ends:
        try:
            socket.create_connection((address.hostname or "", address.port or 0), timeout=1).close()
        except ConnectionRefusedError:
            return True
        time.sleep(0.02)
    return False


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


def test_a_service_of_its_own_asks_no_proxy(table: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("http_proxy", "HTTP_PROXY", "all_proxy"):
        monkeypatch.setenv(name, "http://127.0.0.1:9")
    for name in ("no_proxy", "NO_PROXY"):
        monkeypatch.delenv(name, raising=False)
    result = CliRunner().invoke(cli, ["check", str(table), str(tmp_path / "o.csv"), "--local"])
    assert result.exit_code in (0, 1), result.stderr


def test_two_services_of_their_own_do_not_meet() -> None:
    with local_service(1) as one, local_service(1) as two, Client(two) as client:
        assert one != two
        assert client.health()


def test_a_patient_client_is_a_client(url: str) -> None:
    with PatientClient(url, wait_s=1, retries=None, say=print) as client, client.interruptible():
        assert client.health()


def test_a_private_service_does_not_hold_its_only_caller_back() -> None:
    """Answers say what is left of a budget wherever there is one."""
    with local_service(1) as url, Client(url) as client:
        response = client.reference().response
    assert response
    assert "ratelimit-policy" not in {name.lower() for name in response.headers}
