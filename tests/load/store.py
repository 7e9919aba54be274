"""One rate for two services: counted in a real store on loopback, which goes away and comes back. Needs Debian's
redis-server, and ``pip install '.[store]'``."""

from __future__ import annotations

import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.request import urlopen

from redis import Redis
from redis.exceptions import RedisError

from .asking import Question, mixed, plainly
from .service import PATIENCE_S, Service, free_port, running
from .table import table

RATE, EACH = 50, 40
"""Requests a minute that are allowed, and those that each of two services is asked."""


@contextmanager
def store(port: int) -> Iterator[None]:
    """A server that keeps nothing on disk."""
    options = ["--bind", "127.0.0.1", "--port", str(port), "--save", "", "--appendonly", "no", "--daemonize", "no"]
    server = subprocess.Popen(["redis-server", *options], stdout=subprocess.DEVNULL)
    try:
        _await(port)
        yield
    finally:
        server.terminate()
        server.wait(10)


def _await(port: int) -> None:
    for _ in range(int(PATIENCE_S / 0.05)):
        try:
            Redis(port=port).ping()
            return
        except RedisError:
            time.sleep(0.05)
    raise RuntimeError("the store did not start")


def asked(services: list[Service], question: Question) -> list[int]:
    """How many were answered right, and refused, when each service is asked EACH times."""
    outcomes = [plainly(s.port)(question) for s in services for _ in range(EACH)]
    return [outcomes.count("right"), outcomes.count("refused")]


def failures(services: list[Service]) -> int:
    """Requests that were let in uncounted."""
    found = 0.0
    for s in services:
        with urlopen(f"http://127.0.0.1:{s.port}/metrics") as answer:
            lines = answer.read().decode().splitlines()
        found += sum(float(x.split()[-1]) for x in lines if x.startswith("rimpoise_rate_store_failures_total"))
    return int(found)


def report() -> None:
    """Print the table."""
    port, question = free_port(), mixed()[-1]
    settings = {"workers": "1", "rate_limit": f"{RATE} per minute"}
    shared = settings | {"rate_store": f"redis://127.0.0.1:{port}"}
    rows: list[list[object]] = []
    with running(**settings) as a, running(**settings) as b:  # type: ignore[arg-type]
        rows.append(["each counts for itself", *asked([a, b], question), 0])
        assert rows[-1][1:] == [2 * EACH, 0, 0]
    with running(**shared) as a, running(**shared) as b:  # type: ignore[arg-type]
        with store(port):
            rows.append(["one store", *asked([a, b], question), failures([a, b])])
            assert rows[-1][1:] == [RATE, 2 * EACH - RATE, 0]
        rows.append(["the store is away", *asked([a, b], question), failures([a, b])])
        assert rows[-1][1:] == [2 * EACH, 0, 2 * EACH]
        with store(port):
            rows.append(["it is back, empty", *asked([a, b], question), failures([a, b])])
            assert rows[-1][1:] == [RATE, 2 * EACH - RATE, 2 * EACH]
    table((f"{RATE} a minute, {2 * EACH} asked of two", "answered", "refused", "let in uncounted so far"), rows)
