"""One rate for two services: counted in a real store on loopback, which goes away and comes back. Needs Debian's
redis-server, and ``pip install '.[store]'``."""

from __future__ import annotations

import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager

from redis import Redis
from redis.exceptions import RedisError

from rimpoise_service.api.ops.store import PAUSE_S

from .asking import Question, mixed, plainly
from .service import PATIENCE_S, Service, free_port, running
from .table import table

RATE, EACH = 50, 40
"""Requests a minute that are allowed, and those that each of two services gets."""


@contextmanager
def store(port: int) -> Iterator[subprocess.Popen[bytes]]:
    """A server that keeps nothing on disk."""
    options = ["--bind", "127.0.0.1", "--port", str(port), "--save", "", "--appendonly", "no", "--daemonize", "no"]
    server = subprocess.Popen(["redis-server", *options], stdout=subprocess.DEVNULL)
    try:
        _await(port)
        yield server
    finally:
        server.kill()
        server.wait(10)


def _await(port: int) -> None:
    for _ in range(int(PATIENCE_S / 0.05)):
        try:
            Redis(port=port).ping()
            return
        except RedisError:
            time.sleep(0.05)
    raise RuntimeError("the store did not start")


def requested(services: list[Service], question: Question) -> list[object]:
    """How many of EACH requests to each service were answered right, and refused; the longest took [ms]."""
    outcomes, longest_s = list[str](), 0.0
    for s in services:
        ask = plainly(s.port)
        for _ in range(EACH):
            began = time.perf_counter()
            outcomes.append(ask(question))
            longest_s = max(longest_s, time.perf_counter() - began)
    return [outcomes.count("right"), outcomes.count("refused"), longest_s * 1e3]


def failures(services: list[Service]) -> int:
    """Times the store was left alone for a while."""
    for s in services:
        s.await_report()
    time.sleep(1.5)  # longer than between two reports
    return int(sum(s.metric("rimpoise_rate_store_failures_total") for s in services))


def report() -> None:
    """Print the table."""
    port, question = free_port(), mixed()[-1]
    settings = {"workers": "1", "rate_limit": f"{RATE} per minute"}
    shared = settings | {"rate_store": f"redis://127.0.0.1:{port}"}
    rows: list[list[object]] = []

    def row(name: str, services: list[Service], answered: int) -> None:
        rows.append([name, *requested(services, question), failures(services)])
        assert rows[-1][1:3] == [answered, 2 * EACH - answered], rows[-1]

    with running(**settings) as a, running(**settings) as b:  # type: ignore[arg-type]
        row("each counts for itself", [a, b], 2 * EACH)
    with running(**shared) as a, running(**shared) as b:  # type: ignore[arg-type]
        with store(port):
            row("one store", [a, b], RATE)
        row("the store is gone: each counts for itself", [a, b], 2 * EACH)
        time.sleep(PAUSE_S)
        with store(port):
            row("it is back, empty", [a, b], RATE)
    with running(**shared) as a, running(**shared) as b, store(port) as server:  # type: ignore[arg-type]
        server.send_signal(signal.SIGSTOP)
        row("it hangs: each counts for itself", [a, b], 2 * EACH)
    head = (f"{RATE} a minute, {2 * EACH} asked of two", "answered", "refused", "longest ms", "failures so far")
    table(head, rows)
