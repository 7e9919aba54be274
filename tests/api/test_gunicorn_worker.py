"""The worker under callers that mean harm: a real gunicorn with one worker of two threads, on loopback.

gunicorn's own worker fails each of these: a slow caller holds a thread, one that does not close holds them all.
"""

from __future__ import annotations

import errno
import json
import os
import re
import resource
import signal
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack
from http.client import HTTPConnection
from pathlib import Path
from select import select
from types import SimpleNamespace

import pytest

from rimpoise_service.api.ops.arrival import MAX_BODY, READ_AHEAD
from rimpoise_service.gunicorn_connection import MAX_UNSENT, Socket
from rimpoise_service.gunicorn_worker import MAX_HELD, MOST_YIELDS, YIELD_S, PatientWorker
from tests.api.raw_callers import GET, HEAD, LINES, MANY, SOON_S, answer, callers, status_of
from tests.load.service import PATIENCE_S, Service, running, until
from tests.load.soak import descriptors

pytestmark = pytest.mark.slow  # it waits for time-outs more than it works


AT_ONCE = 8
LARGE = GET.replace(b"/healthz", b"/openapi.yaml") * AT_ONCE
"""The largest answer that is no batch, as often as it takes until the system keeps no more of it for a caller."""


@pytest.fixture(scope="module")
def service() -> Iterator[Service]:
    with running(workers="1", threads="2", request_s="60") as one:
        yield one


@pytest.mark.parametrize(
    "said",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(HEAD, id="half a head"),
        pytest.param(HEAD + b"Content-Length: 900000\r\n\r\n" + b" " * 140_000, id="a part of a body"),
        pytest.param(HEAD + b"Content-Length: %040d\r\n\r\n{" % 100, id="a length of forty digits"),
        pytest.param(
            HEAD + b"Transfer-Encoding: chunked\r\n\r\n20000\r\n" + b" " * 70_000, id="a part of a chunk"
        ),
    ],
)
def test_who_sends_a_part_holds_up_nobody(service: Service, said: bytes) -> None:
    with callers(service, said):
        assert status_of(service) == 200


def test_who_does_not_close_after_the_last_answer_holds_up_nobody(service: Service) -> None:
    """A thread that waits for each to close, for two seconds, is done with them after ten."""
    began = time.monotonic()
    with callers(service, GET.replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n")) as sockets:
        assert [answer(one)[0] for one in sockets] == [200] * MANY
        assert status_of(service) == 200
    assert time.monotonic() - began < SOON_S


def test_each_is_heard_when_it_says_the_rest(service: Service) -> None:
    body = json.dumps({}).encode()
    with callers(service, HEAD + b"Content-Length: %d\r\n\r\n" % len(body)) as sockets:
        for one in sockets:
            one.sendall(body)
            assert answer(one)[0] == 400
            one.sendall(GET + GET)  # on the same connection; the second comes with the first
            assert [answer(one)[0]] == [200]


@pytest.mark.parametrize("first", [GET, HEAD + b"Content-Length: 20000\r\n\r\n" + b" " * 20_000])
def test_many_requests_in_one_piece_get_as_many_answers(service: Service, first: bytes) -> None:
    with callers(service, first * 20 + GET, count=1) as (one,):
        file = one.makefile("rb")
        found = b""
        while b"HTTP/1.1 200" not in found or found.count(b"HTTP/1.1 ") < 21:
            found += file.readline()
        file.close()


def test_a_body_in_many_small_chunks_costs_what_its_bytes_cost(service: Service) -> None:
    """gunicorn's parser copies all that it holds with every chunk: these took 20 s."""
    before_s = service.cpu_s
    with callers(service, HEAD + b"Transfer-Encoding: chunked\r\n\r\n" + b"1\r\n \r\n" * 49_000, count=1) as (
        one,
    ):
        one.sendall(b"0\r\n\r\n")
        assert answer(one)[0] == 400
    assert service.cpu_s - before_s < 2.0


def test_who_is_idle_or_slow_makes_room_for_who_waits_at_the_door() -> None:
    """All that may be open are: kept alive, or in the middle of a body, an answer or a head."""
    with running(workers="1", threads="2", connections="12", request_s="60") as service:
        assert status_of(service, "/openapi.yaml", timeout=30) == 200
        with callers(service, GET) as idle:
            for said in (HEAD + b"Content-Length: 9\r\n\r\n{", LARGE, HEAD):
                with callers(service, said, window=1):
                    assert status_of(service) == 200
            assert [(answer(one)[0], one.recv(1)) for one in idle] == [(200, b"")] * MANY


def test_what_waits_for_a_thread_is_bounded() -> None:
    """While no thread is free more whole bodies come than may be held: the largest are refused, none is lost.

    The thread is let go only then: before, it would take bodies that are held no more while others still come.
    """
    many = MAX_HELD // MAX_BODY + MANY
    with ExitStack() as stack:
        service = stack.enter_context(running(workers="1", threads="1", request_s="60"))
        lines = LINES + b"Content-Length: 9999999\r\n\r\n" + b"\n" * READ_AHEAD
        (busy,) = stack.enter_context(callers(service, lines, count=1))
        body = HEAD + b"Content-Length: %d\r\n\r\n" % MAX_BODY + b" " * MAX_BODY
        sockets = stack.enter_context(callers(service, body, count=many))
        light = stack.enter_context(callers(service, GET, count=1))
        assert until(lambda: len(select(sockets, [], [], 0)[0]) >= MANY)
        busy.close()
        found = [answer(one)[0] for one in sockets]
        assert set(found) == {413, 503}
        assert found.count(413) <= MAX_HELD // MAX_BODY
        assert answer(light[0])[0] == 200


def test_a_body_in_chunks_is_read(service: Service) -> None:
    connection = HTTPConnection("127.0.0.1", service.port, timeout=30)
    connection.request("POST", "/v1/plans", iter([b"{", b"}"]), {"Content-Type": "application/json"})
    problem = json.loads(connection.getresponse().read())
    connection.close()
    assert problem["type"] == "/problems/invalid-request"


def test_an_answer_that_nobody_reads_holds_up_nobody(service: Service) -> None:
    """To callers with the smallest window that the system lets them have."""
    assert status_of(service, "/openapi.yaml", timeout=30) == 200  # the first one makes the document
    with callers(service, LARGE, window=1):
        assert [status_of(service) for _ in range(AT_ONCE)] == [200] * AT_ONCE


def test_an_answer_is_kept_for_who_does_not_take_it_up_to_a_bound() -> None:
    """As much as a caller likes to leave there, without a thread that waits for it."""
    accepted, caller = socket.socketpair()
    with Socket(accepted) as ours, caller:
        ours.settimeout(0.05)
        ours.sendall(b"x" * MAX_UNSENT)
        kept = len(ours.unsent)
        assert kept > MAX_UNSENT // 2
        with pytest.raises(TimeoutError):
            ours.sendall(b"y" * MAX_UNSENT)
        assert not ours.unsent  # a part of it is out, and would go out once more
    accepted, caller = socket.socketpair()
    with Socket(accepted) as ours, caller:
        ours.settimeout(0.05)
        ours.sendall(b"x" * MAX_UNSENT)
        taken = 0
        while ours.unsent:
            taken += len(caller.recv(65536))
            ours.flush()
        ours.close()
        while data := caller.recv(65536):
            taken += len(data)
    assert taken == MAX_UNSENT


def test_a_large_answer_goes_on_when_it_is_read_again(service: Service) -> None:
    with callers(service, LARGE + GET, count=2, window=1) as sockets:
        assert status_of(service) == 200
        for one in sockets:
            file = one.makefile("rb")
            for _ in range(AT_ONCE):
                status, length = file.readline(), 0
                while (line := file.readline()) != b"\r\n":
                    length = int(line.split()[1]) if line.lower().startswith(b"content-length") else length
                assert status == b"HTTP/1.1 200 OK\r\n"
                assert file.read(length).startswith(b"#")
            assert file.readline() == b"HTTP/1.1 200 OK\r\n"  # and the next one
            file.close()


def test_what_is_under_way_is_finished_when_it_is_told_to_stop() -> None:
    with running(workers="1", threads="2") as service:
        with callers(service, HEAD + b"Content-Length: 2\r\n\r\n{", count=1) as (one,):
            assert status_of(service) == 200
            service.signal(signal.SIGTERM)
            one.sendall(b"}")
            assert answer(one)[0] == 400
        assert service.process.wait(PATIENCE_S) == 0


def stopped(pid: int) -> bool:
    return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "T"


def pending(pid: int, number: signal.Signals) -> bool:
    (mask,) = re.findall(r"^ShdPnd:\s*(\w+)", Path(f"/proc/{pid}/status").read_text(), re.MULTILINE)
    return bool(int(mask, 16) >> (number - 1) & 1)


def refuses(port: int) -> bool:
    with socket.socket() as one:
        return one.connect_ex(("127.0.0.1", port)) == errno.ECONNREFUSED


def test_who_waits_at_the_door_when_it_is_told_to_stop_is_answered_and_who_comes_later_is_refused() -> None:
    """gunicorn's own worker resets whoever has connected and was not accepted yet."""
    with running(workers="1", threads="2") as service:
        (worker,) = service.workers
        os.kill(worker, signal.SIGSTOP)
        assert until(lambda: stopped(worker))
        with callers(service, GET) as sockets:
            service.signal(signal.SIGTERM)
            assert until(lambda: pending(worker, signal.SIGTERM))
            os.kill(worker, signal.SIGCONT)
            assert [answer(one)[0] for one in sockets] == [200] * MANY
            assert until(lambda: refuses(service.port))
        assert service.process.wait(PATIENCE_S) == 0


@pytest.mark.parametrize(("busy", "workers", "naps"), [(0, 2, 0), (2, 2, 2), (99, 2, MOST_YIELDS), (2, 1, 0)])
def test_who_is_busy_lets_other_workers_go_first_at_the_door(
    busy: int, workers: int, naps: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of 24 times eight callers, six or more were one worker's nine times without it, twice with it."""
    worker = object.__new__(PatientWorker)
    worker.alive, worker.cfg = True, SimpleNamespace(workers=workers)
    monkeypatch.setattr(worker, "queued", dict.fromkeys(range(busy)), raising=False)
    slept = list[float]()
    monkeypatch.setattr("time.sleep", slept.append)
    with socket.create_server(("127.0.0.1", 0)) as listener:
        listener.setblocking(False)
        assert not worker.accept(listener)
    assert sum(slept) == YIELD_S * naps


def test_when_no_more_can_be_open_others_wait_and_nobody_falls() -> None:
    with running(workers="1", threads="2") as service:
        (worker,) = service.workers
        most = descriptors(service) + 3
        resource.prlimit(worker, resource.RLIMIT_NOFILE, (most, most))
        with callers(service, b"GET"):
            assert until(lambda: descriptors(service) == most)
            connection = HTTPConnection("127.0.0.1", service.port, timeout=30)
            connection.request("GET", "/healthz")
        assert connection.getresponse().status == 200
        connection.close()
        assert service.workers == [worker]
