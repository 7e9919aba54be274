"""Parts of the worker by themselves: when it gives up on whom, and how much it reads and opens."""

from __future__ import annotations

import resource
import socket
import subprocess
import sys
import time
from concurrent.futures import Future
from contextlib import nullcontext
from pathlib import Path
from selectors import DefaultSelector
from types import SimpleNamespace
from typing import cast

import pytest
from gunicorn.http.errors import InvalidHeader  # type: ignore[import-untyped]
from gunicorn.workers.gthread import ThreadWorker  # type: ignore[import-untyped]

from rimpoise_service import gunicorn_connection
from rimpoise_service.api.ops.metrics import Metrics
from rimpoise_service.api.ops.settings import Settings
from rimpoise_service.gunicorn_app import Hooks, end_draining
from rimpoise_service.gunicorn_connection import (
    DESCRIPTORS,
    LEAST_RATE,
    LINGER_S,
    Connection,
    Lingering,
    PacedUnreader,
    Socket,
    room_for,
)
from rimpoise_service.gunicorn_refusal import refuse_head
from rimpoise_service.gunicorn_worker import HEAD_S, WAITED_S, PatientWorker
from rimpoise_service.operator_port import OperatorPort
from rimpoise_service.worker_reports import Totals


@pytest.mark.parametrize("left", [True, False])
def test_who_left_while_a_request_waited_is_not_answered(left: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else who asks and hangs up, again and again, makes all others wait."""
    worker, answered = object.__new__(PatientWorker), list[object]()
    worker.metrics = None
    monkeypatch.setattr(ThreadWorker, "handle", lambda _, conn: answered.append(conn))
    ours, theirs = socket.socketpair()
    conn = cast(Connection, SimpleNamespace(sock=ours, whole_at=time.monotonic() - 2 * WAITED_S))
    with ours, theirs:
        if left:
            theirs.close()
        worker.handle(conn)
    assert answered == ([] if left else [conn])


INFINITE = resource.RLIM_INFINITY


@pytest.mark.parametrize(
    ("soft", "hard", "room", "raised"),
    [
        (INFINITE, INFINITE, 1000, None),
        (1_000_000, 1_000_000, 1000, None),
        (1024, INFINITE, 1000, 2000 + DESCRIPTORS),
        (1024, 524_288, 1000, 2000 + DESCRIPTORS),
        (1024, 1024, (1024 - DESCRIPTORS) // 2, 1024),
        (64, 64, 9, 64),
    ],
)
def test_there_is_a_descriptor_for_every_connection_that_may_be_open(
    soft: int, hard: int, room: int, raised: int | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And for each that lingers: with 64 descriptors 60 idle callers kept others out for
    as long as they liked, and plans were a 500, for a file that could not be read."""
    limits = list[tuple[int, int]]()
    monkeypatch.setattr(resource, "getrlimit", lambda _: (soft, hard))
    monkeypatch.setattr(resource, "setrlimit", lambda _, pair: limits.append(pair))
    assert room_for(1000, 9) == room
    assert limits == ([] if raised is None else [(raised, hard)])


def test_who_sent_much_may_not_be_silent_for_long() -> None:
    """Each byte earns time, but never more than a request has at first: a minute at a megabyte a second would pay
    for an hour of a thread."""
    ours, theirs = socket.socketpair()
    with ours, theirs:
        unreader = PacedUnreader(ours, patience_s=0.05)
        unreader.begin(b"")
        for _ in range(20):
            theirs.send(b"x" * LEAST_RATE)  # a second's worth
            assert len(unreader.chunk(LEAST_RATE)) == LEAST_RATE
        began = time.monotonic()
        with pytest.raises(TimeoutError):
            unreader.chunk(LEAST_RATE)
    assert time.monotonic() - began < 10


def test_after_the_last_answer_so_much_is_read_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """However fast it comes within the time that there is."""
    monkeypatch.setattr(gunicorn_connection, "MAX_LINGER", 10)
    accepted, theirs = socket.socketpair()
    with DefaultSelector() as poller, theirs:
        Lingering(5).add(poller, cast(Connection, Answered(Socket(accepted))))
        for said, open_still in ((b"x" * 10, True), (b"x", False)):
            theirs.send(said)
            for key, _ in poller.select(LINGER_S):
                key.data(key.fileobj)
            assert bool(poller.get_map()) == open_still


class Answered:
    """A connection, as far as it is read to its end."""

    def __init__(self, sock: Socket) -> None:
        self.sock, self.began = sock, 0.0


@pytest.mark.parametrize(
    ("head_here", "request_s", "most_s"), [(False, 60.0, HEAD_S), (True, 60.0, 60.0), (False, 1.0, 1.0)]
)
def test_a_head_has_less_time_than_a_body_and_no_more_than_all(
    head_here: bool, request_s: float, most_s: float
) -> None:
    worker = object.__new__(PatientWorker)
    worker.alive, worker.request_s = True, request_s
    conn = cast(Connection, SimpleNamespace(began=100.0, arrival=SimpleNamespace(head_here=head_here)))
    assert [worker._too_late(conn, 100 + most_s + late, pressed=False) for late in (-0.5, 1)] == [False, True]


def test_a_worker_that_is_ended_because_it_is_stuck_has_died() -> None:
    """gunicorn tells it to leave, and then why."""
    hooks, totals = Hooks(Settings(operator_bind="off")), Totals()
    hooks._port = cast(OperatorPort, SimpleNamespace(send=totals.take))
    worker = cast(PatientWorker, SimpleNamespace(pid=1, alive=False, metrics=Metrics(), queued={}, sending={}))
    hooks.worker_abort(worker)
    hooks.worker_exit(None, worker)
    hooks.child_exit(None, worker)
    assert b"rimpoise_worker_deaths_total 1.0" in totals.text()


def test_a_worker_that_leaves_says_what_it_leaves_unanswered() -> None:
    """Each request has its line in the log when it is done, and these never are."""
    worker, said = object.__new__(PatientWorker), list[str]()
    worker.log = SimpleNamespace(warning=lambda text, count: said.append(text % count))
    done, under_way = Future[bool](), Future[bool]()
    done.set_result(True)
    one, another, third = (cast(Connection, object()) for _ in range(3))
    worker.metrics, worker.queued, worker.sending = None, {one: done, another: under_way}, {third: done}
    Hooks(Settings(operator_bind="off")).worker_exit(None, worker)
    worker.queued, worker.sending = {one: done}, {}
    Hooks(Settings(operator_bind="off")).worker_exit(None, worker)
    assert said == ["requests that were not answered within RIMPOISE_GRACEFUL_S: 2"]


@pytest.mark.parametrize(
    ("hosts", "good"),
    [
        (("shop.example",), True),
        (("[2001:db8::1]:8080",), True),
        (("127.0.0.1:8080",), True),
        (("",), True),
        ((), False),
        (("a", "a"), False),
        (("a b",), False),
        (("till@shop.example",), False),
        (("a/b",), False),
        (("<a>",), False),
        (("a:b",), False),
    ],
)
def test_a_host_is_named_once_and_is_one(hosts: tuple[str, ...], good: bool) -> None:
    """RFC 9112, section 3.2."""
    asked = SimpleNamespace(version=(1, 1), headers=[("HOST", host) for host in hosts])
    with nullcontext() if good else pytest.raises(InvalidHeader):
        refuse_head(asked)


def test_a_start_ends_draining(tmp_path: Path) -> None:
    """Else an instance that was drained and started again never gets a request, and its probe ends it for ever."""
    drain = tmp_path / "drain"
    drain.touch()
    for _ in range(2):
        end_draining(drain)
    end_draining(None)
    assert not drain.exists()
    with pytest.raises(SystemExit, match=f"RIMPOISE_DRAIN_FILE is {tmp_path}, which can't be removed"):
        end_draining(tmp_path)


def test_what_is_made_once_is_made_before_there_are_workers() -> None:
    """The first eight callers of a fresh worker waited for it together, and one of them was refused."""
    code = """
from types import SimpleNamespace
from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.plans import plans
from rimpoise_service.api.ops.settings import Settings
from rimpoise_service.api.schemas import base
from rimpoise_service.gunicorn_app import Hooks, end_draining

client = create_app(Settings()).test_client()
Hooks(Settings(operator_bind="off")).on_starting(SimpleNamespace(cfg=SimpleNamespace(worker_connections=1000)))
base.make_serializer = None  # from here on nothing more can be made
[worked, *_] = plans.examples.values()
assert client.post("/v1/plans", json=worked.body).status_code == 200
"""
    subprocess.run([sys.executable, "-c", code], check=True)
