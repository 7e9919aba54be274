"""The operator's port: its sums, and a real one beside a real gunicorn."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
import zlib
from collections.abc import Iterator
from contextlib import ExitStack
from http.client import HTTPConnection
from pathlib import Path

import pytest
from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram

from rimpoise_service.api.ops.api_keys import new_key
from rimpoise_service.operator_port import MAX_OPEN, OperatorServer, Timed
from rimpoise_service.worker_reports import LOST_S, SILENT_S, Totals, packed, packed_end
from tests.clock import Clock
from tests.load.service import Service, running, until
from tests.served import answering

ANSWER_S = 20.0
"""Far beyond what an answer takes, and before gunicorn replaces workers that are stuck, after 30 s."""


def report(pid: int, *, leaving: bool = False, count: int = 3) -> bytes:
    """What a worker would send that has counted three of each."""
    registry = CollectorRegistry()
    counter = Counter("asked", "Asked.", ["operation"], registry=registry)
    histogram = Histogram("seconds", "Took.", registry=registry, buckets=(1.0, 2.0))
    gauge = Gauge("busy", "Busy.", registry=registry)
    Gauge("stale_seconds", "Since then.", registry=registry).set(count)
    for n in range(count):
        counter.labels("plan").inc()
        histogram.observe(n)
        gauge.inc()
    return packed(pid, registry.collect(), leaving=leaving)


def samples(totals: Totals) -> dict[str, float]:
    lines = [line for line in totals.text().decode().splitlines() if not line.startswith("#")]
    return {name: float(value) for name, _, value in (line.rpartition(" ") for line in lines)}


def test_workers_are_added_up_and_a_later_report_replaces_the_one_before() -> None:
    totals = Totals()
    for one in (report(1, count=1), report(1), report(2)):
        totals.take(one)
    found = samples(totals)
    assert found["stale_seconds"] == 3, "all look at the same file"
    assert (found['asked_total{operation="plan"}'], found["busy"], found["rimpoise_workers"]) == (6, 6, 2)
    assert (found['seconds_bucket{le="1.0"}'], found["seconds_sum"], found["seconds_count"]) == (4, 6, 6)
    assert not any("created" in name for name in found)
    assert any(name.startswith("rimpoise_build_info{version=") for name in found)


def test_what_the_dead_counted_stays_and_what_they_did_does_not() -> None:
    totals = Totals()
    for one in (report(1), report(2), packed_end(1), report(3), packed_end(3)):
        totals.take(one)
    found = samples(totals)
    assert (found['asked_total{operation="plan"}'], found["busy"], found["rimpoise_workers"]) == (9, 3, 1)
    assert found["rimpoise_worker_deaths_total"] == 2


def test_who_leaves_has_not_died() -> None:
    totals = Totals()
    for one in (report(1, leaving=True), packed_end(1)):
        totals.take(one)
    assert samples(totals)["rimpoise_worker_deaths_total"] == 0


def test_a_worker_that_is_silent_for_long_is_not_counted(clock: Clock) -> None:
    totals = Totals()
    totals.take(report(1))
    clock.now += SILENT_S - 1
    assert totals.alive() == 1
    clock.now += 2
    assert totals.alive() == 0


def test_a_worker_whose_end_was_not_heard_of_is_busy_no_more(clock: Clock) -> None:
    totals = Totals()
    totals.take(report(1))
    clock.now += LOST_S + 1
    totals.take(report(2))
    found = samples(totals)
    assert (found['asked_total{operation="plan"}'], found["busy"]) == (6, 3)


@pytest.mark.parametrize("nonsense", [b"", b"x", zlib.compress(b"{}"), zlib.compress(b"[]")])
def test_nonsense_is_refused(nonsense: bytes) -> None:
    with pytest.raises((ValueError, KeyError, TypeError, zlib.error)):
        Totals().take(nonsense)


@pytest.fixture(scope="module")
def keys(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("keys") / "keys"
    file.write_text(new_key("workshop")[1], encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory, keys: Path) -> Iterator[Service]:
    drain = tmp_path_factory.mktemp("run") / "drain"
    drain.touch()  # as the instance before it was stopped
    with running(workers="2", threads="1", drain_file=str(drain), keys_file=str(keys)) as one:
        yield one


def ask(service: Service, path: str, method: str = "GET") -> tuple[int, bytes]:
    connection = HTTPConnection("127.0.0.1", service.operator, timeout=ANSWER_S)
    connection.request(method, path)
    answer = connection.getresponse()
    reported = answer.status, answer.read()
    connection.close()
    return reported


def public(service: Service, path: str) -> int:
    connection = HTTPConnection("127.0.0.1", service.port, timeout=ANSWER_S)
    connection.request("GET", path)
    status = connection.getresponse().status
    connection.close()
    return status


HIDDEN = (
    *("/metrics", "/%6detrics", "/metrics/", "//metrics", "/./metrics", "/x/../metrics", "/%2e/metrics"),
    *("/%2Fmetrics", "/metrics?x", "/METRICS", "http://localhost/metrics", "/drain", "/%64rain"),
)
"""Ways to write the operator's paths, as they go over the wire."""


def test_both_ports(service: Service) -> None:
    assert until(lambda: service.metric("rimpoise_workers") == 2)
    before = service.metric("rimpoise_requests_total")
    assert [public(service, path) for path in HIDDEN] == [404] * len(HIDDEN)
    assert public(service, "/healthz") == 200
    assert until(lambda: service.metric("rimpoise_requests_total") >= before + 3)
    assert ask(service, "/healthz") == (200, b'{"status": "ok"}')
    assert [ask(service, path)[0] for path in ("/v1/reference", "/", "/docs")] == [404, 404, 404]
    assert service.metric("rimpoise_threads") == 2


def test_who_holds_connections_open_there_holds_up_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each has a thread, so there are few, and the oldest must go, long before its time is over."""
    monkeypatch.setattr("rimpoise_service.operator_port.REQUEST_S", 10 * ANSWER_S)
    with ExitStack() as stack:
        listener = socket.create_server(("127.0.0.1", 0))
        address: tuple[str, int] = listener.getsockname()
        stack.enter_context(answering(OperatorServer(listener, None)))
        connections = (socket.create_connection(address, ANSWER_S) for _ in range(MAX_OPEN + 9))
        slow = [stack.enter_context(one) for one in connections]
        connection = HTTPConnection(*address, timeout=ANSWER_S)
        connection.request("GET", "/metrics?x")
        assert connection.getresponse().status == 200
        connection.close()
        assert slow[0].recv(1) == b""


def test_a_request_there_must_come_in_time_however_it_trickles(
    monkeypatch: pytest.MonkeyPatch, clock: Clock
) -> None:
    monkeypatch.setattr("rimpoise_service.operator_port.REQUEST_S", 20.0)
    ours, theirs = socket.socketpair()
    with ours, theirs:
        timed = Timed(ours)
        began = time.perf_counter()
        for said, passes_s in ((b"G", 19.99), (b"E", 1.0)):  # and what was in time begins no new time
            theirs.send(said)
            assert timed.read(10) == said
            clock.now += passes_s
            with pytest.raises(TimeoutError):
                timed.read(10)
        assert time.perf_counter() - began < 10


def test_what_it_refuses_says_so_in_json(service: Service) -> None:
    for path, method, status in (("/x", "GET", 404), ("/metrics", "TRACE", 501), ("/" + "x" * 70_000, "GET", 414)):
        found, body = ask(service, path, method)
        assert (found, list(json.loads(body))) == (status, ["status"])


def test_draining(service: Service) -> None:
    assert until(lambda: ask(service, "/readyz")[0] == 200)
    assert ask(service, "/drain", "POST") == (200, b'{"status": "draining"}')
    assert (ask(service, "/readyz")[0], public(service, "/readyz")) == (503, 503)
    assert ask(service, "/healthz")[0] == 200
    assert ask(service, "/drain", "DELETE")[0] == 200
    assert (ask(service, "/readyz")[0], public(service, "/readyz")) == (200, 200)


def test_a_worker_that_is_killed_is_counted_and_what_it_counted_is_kept(service: Service) -> None:
    for _ in range(20):
        public(service, "/healthz")
    assert until(lambda: service.metric("rimpoise_requests_total") >= 20)
    before, deaths = service.metric("rimpoise_requests_total"), service.metric("rimpoise_worker_deaths_total")
    for pid in service.workers:
        os.kill(pid, signal.SIGKILL)
    assert until(lambda: service.metric("rimpoise_worker_deaths_total") == deaths + 2)
    assert until(lambda: service.metric("rimpoise_workers") == 2)
    assert service.metric("rimpoise_requests_total") >= before


def test_after_sighup_the_new_workers_report_and_the_old_ones_have_not_died(service: Service, keys: Path) -> None:
    """gunicorn reads its configuration again; what was good at the start, and is not now, does not end it."""
    deaths, before = service.metric("rimpoise_worker_deaths_total"), set(service.workers)
    keys.unlink()
    service.signal(signal.SIGHUP)
    assert until(lambda: len(service.workers) == 2 and not before & set(service.workers))
    counted = service.metric("rimpoise_requests_total")
    assert public(service, "/healthz") == 200
    assert until(lambda: service.metric("rimpoise_requests_total") > counted)
    assert service.metric("rimpoise_worker_deaths_total") == deaths


def test_it_answers_while_all_workers_are_stuck(service: Service) -> None:
    assert until(lambda: ask(service, "/healthz")[0] == 200)
    stuck = service.workers
    for pid in stuck:
        os.kill(pid, signal.SIGSTOP)
    try:
        assert ask(service, "/metrics")[0] == 200
    finally:
        for pid in stuck:
            os.kill(pid, signal.SIGCONT)


def test_it_ends_with_the_service() -> None:
    with running(workers="1") as service:
        assert until(lambda: ask(service, "/healthz")[0] == 200)
        service.kill()

    def ended() -> bool:
        with socket.socket() as one:
            return one.connect_ex(("127.0.0.1", service.operator)) != 0

    assert until(ended)


def test_a_port_that_is_taken_stops_the_start(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        bind = f"127.0.0.1:{taken.getsockname()[1]}"
        environ = os.environ | {"RIMPOISE_OPERATOR_BIND": bind, "RIMPOISE_BIND": "127.0.0.1:0"}
        command = [sys.executable, "-m", "rimpoise_service", "serve"]
        ended = subprocess.run(command, env=environ, cwd=tmp_path, capture_output=True, text=True, timeout=120)
    assert ended.returncode == 1
    assert f"RIMPOISE_OPERATOR_BIND is {bind}" in ended.stderr


def test_an_application_that_is_served_some_other_way_needs_none(tmp_path: Path) -> None:
    code = (
        "import json\n"
        "from rimpoise_service.wsgi import app\n"
        "print(json.dumps(app.test_client().get('/healthz').get_json()))\n"
    )
    reported = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert json.loads(reported.stdout)["status"] == "ok"
