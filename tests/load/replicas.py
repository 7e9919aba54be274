"""Three replicas behind HAProxy with docker/haproxy.cfg; callers that never ask twice. Needs Debian's haproxy."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from . import asking, hostile
from .asking import load, mixed
from .faults import SECONDS
from .service import ROOT, Service, free_port, running
from .table import table

REPLICAS = 3
TEMPLATE = "    server-template replica 1-8 rimpoise:8080 resolvers cluster init-addr none\n"
OUT_OF_THE_BALANCER_S = 2.5
"""Longer than a check and its time-out."""


def configuration(port: int, replicas: list[int]) -> str:
    """The file as it is, but for its own port and the replicas' addresses."""
    text = (ROOT / "docker" / "haproxy.cfg").read_text(encoding="utf-8")
    servers = "".join(f"    server replica{n} 127.0.0.1:{at}\n" for n, at in enumerate(replicas, 1))
    assert TEMPLATE in text
    return text.replace(TEMPLATE, servers).replace("bind :8080", f"bind 127.0.0.1:{port}")


@contextmanager
def cluster(folder: Path) -> Iterator[tuple[int, list[Service]]]:
    """The balancer's port, and the replicas; each has a drain file by the number of its port."""
    with ExitStack() as stack:
        replicas = []
        for n in range(REPLICAS):
            drain = str(folder / f"drain{n}")
            one = running(workers="1", threads="8", connections="10", trusted_proxies="1", drain_file=drain)
            replicas.append(stack.enter_context(one))
        port, file = free_port(), folder / "haproxy.cfg"
        file.write_text(configuration(port, [r.port for r in replicas]), encoding="utf-8")
        with (folder / "haproxy.log").open("wb") as log:
            balancer = subprocess.Popen(["haproxy", "-db", "-f", str(file)], stdout=log, stderr=log)
        try:
            time.sleep(2.0)
            yield port, replicas
        finally:
            balancer.terminate()
            balancer.wait(10)


Trouble = Callable[[Path, list[Service], int], None]


def nothing(_: Path, __: list[Service], ___: int) -> None:
    """All is well."""
    time.sleep(SECONDS)


def roll(folder: Path, replicas: list[Service], _: int) -> None:
    """Each in turn: out of the balancer, stopped, started again."""
    for n, replica in enumerate(replicas):
        drain = folder / f"drain{n}"
        drain.touch()
        time.sleep(OUT_OF_THE_BALANCER_S)
        replica.stop()
        drain.unlink()
        replica.start_again()
        time.sleep(OUT_OF_THE_BALANCER_S)


def kill_workers(_: Path, replicas: list[Service], __: int) -> None:
    """A worker dies every second."""
    luck = random.Random(6)
    for _second in range(int(SECONDS)):
        time.sleep(1.0)
        pids = luck.choice(replicas).workers
        if pids:
            os.kill(pids[0], signal.SIGKILL)


def lose_a_replica(_: Path, replicas: list[Service], __: int) -> None:
    """A whole replica is gone at once, and comes back later."""
    time.sleep(SECONDS / 4)
    replicas[0].kill()
    time.sleep(SECONDS / 4)
    replicas[0].start_again()
    time.sleep(SECONDS / 2)


def slow_heads(_: Path, __: list[Service], port: int) -> None:
    """Beside callers whose headers trickle in."""
    with hostile.slow_heads(port, 50):
        time.sleep(SECONDS)


def half_sent(_: Path, __: list[Service], port: int) -> None:
    """Beside callers that break off."""
    with hostile.half_sent(port, 300):
        time.sleep(SECONDS)


def slow_bodies(_: Path, __: list[Service], port: int) -> None:
    """Beside callers who hold their bodies open."""
    with hostile.slow_bodies(port, 60):
        time.sleep(SECONDS)


def flood(_: Path, __: list[Service], port: int) -> None:
    """Beside more connections from one address than there may be, which say nothing."""
    with hostile.silent(port, 1100, "127.0.0.2"):
        time.sleep(SECONDS)


TROUBLES: dict[str, tuple[Trouble, bool]] = {
    "undisturbed": (nothing, True),
    "rolling restart: drain, SIGTERM, start": (roll, True),
    "a worker killed every second": (kill_workers, False),
    "a replica lost at once, and back": (lose_a_replica, False),
    "50 callers' headers at a byte a second": (slow_heads, True),
    "300 half-sent bodies": (half_sent, True),
    "60 bodies of 140 kB held open": (slow_bodies, True),
    "1,100 silent connections": (flood, True),
}


def under(name: str, questions: list[asking.Question]) -> asking.Tally:
    """One line of the table, reported as it comes."""
    trouble, _ = TROUBLES[name]
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        port, replicas = stack.enter_context(cluster(folder))
        with load(port, questions) as tally:
            trouble(folder, replicas, port)
    print(name, *tally.row(), flush=True)
    return tally


def is_as_promised(name: str, tally: asking.Tally) -> bool:
    """Nothing wrong, and nothing lost or refused where it is harmless."""
    _, harmless = TROUBLES[name]
    return not any(tally.counts[name] for name in ("wrong", *(("lost", "late", "refused") if harmless else ())))


def report() -> None:
    """Print the table."""
    questions = mixed()
    tallies = {name: under(name, questions) for name in TROUBLES}
    table(asking.HEAD, [[name, *tally.row()] for name, tally in tallies.items()])
    assert all(is_as_promised(name, tally) for name, tally in tallies.items())
