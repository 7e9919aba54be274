"""One instance, asked directly, while things go wrong. Wrong answers must be 0; lost ones where it says so.

What takes longer than workers live can't be answered by any of them, however often it is tried: where one is
killed every second, no forecasts of demand are requested. Heavy requests may be refused where two cores are full,
with the time to wait; the client's retries have to get all of them.
"""

from __future__ import annotations

import os
import random
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager

from . import asking, hostile
from .asking import Question, Tally, load, mixed, plainly, with_retries
from .service import Service, running
from .table import table

SECONDS = 8.0
Fault = Callable[[Service], AbstractContextManager[None]]


@contextmanager
def nothing(_: Service) -> Iterator[None]:
    """All is well."""
    time.sleep(SECONDS)
    yield


@contextmanager
def kill_workers(service: Service) -> Iterator[None]:
    """One worker a second dies where it stands."""
    luck = random.Random(6)
    for _ in range(int(SECONDS)):
        time.sleep(1.0)
        if service.workers:
            os.kill(luck.choice(service.workers), signal.SIGKILL)
    yield


@contextmanager
def reload(service: Service) -> Iterator[None]:
    """SIGHUP, three times: all workers are replaced."""
    for _ in range(3):
        time.sleep(SECONDS / 4)
        service.signal(signal.SIGHUP)
    time.sleep(SECONDS / 4)
    yield


@contextmanager
def terminate(service: Service) -> Iterator[None]:
    """SIGTERM: what is under way is finished, and nobody is let in any more."""
    time.sleep(SECONDS / 2)
    service.stop()
    time.sleep(0.5)
    yield


def beside(trouble: Callable[[int], AbstractContextManager[None]]) -> Fault:
    """The load beside other callers."""

    @contextmanager
    def fault(service: Service) -> Iterator[None]:
        with trouble(service.port):
            time.sleep(SECONDS)
            yield

    return fault


FAULTS: dict[str, tuple[Fault, Callable[[int], asking.Ask], str]] = {
    "undisturbed": (nothing, plainly, ""),
    "a worker killed every second": (kill_workers, plainly, ""),
    "the same, client's retries": (kill_workers, with_retries, "lost"),
    "SIGHUP three times": (reload, plainly, "lost"),
    "SIGTERM (then nobody is there)": (terminate, plainly, "lost"),
    "6 callers' headers at a byte a second": (beside(lambda port: hostile.slow_heads(port, 6)), plainly, "lost"),
    "300 half-sent bodies": (beside(lambda port: hostile.half_sent(port, 300)), plainly, "lost"),
    "60 bodies of 140 kB held open": (beside(lambda port: hostile.slow_bodies(port, 60)), plainly, "lost"),
    "40 lengths of forty digits": (beside(lambda port: hostile.long_lengths(port, 40)), plainly, "lost"),
    "bodies in 49,000 chunks of a byte": (beside(lambda port: hostile.small_chunks(port, 99)), plainly, "lost"),
    "2,000 kept alive": (beside(lambda port: hostile.kept_alive(port, 2000)), plainly, "lost"),
    "500 silent connections": (beside(lambda port: hostile.silent(port, 500)), plainly, "lost"),
}


def under(name: str, questions: list[Question]) -> Tally:
    """One line of the table, reported as it comes."""
    fault, asker, _ = FAULTS[name]
    if fault is kill_workers:
        questions = [q for q in questions if q.path != "/v1/demand"]
    with running() as service, load(service.port, questions, asker=asker) as tally, fault(service):
        pass
    print(name, *tally.row(), flush=True)
    return tally


def is_as_promised(name: str, tally: Tally) -> bool:
    """Nothing wrong, and nothing lost or late where the table says so; nothing refused that was tried again."""
    _, asker, none = FAULTS[name]
    faults = ("wrong", *((none, "late") if none else ()), *(("refused",) if asker is with_retries else ()))
    return not any(tally.counts[each] for each in faults)


def refused() -> Iterator[list[object]]:
    """Every hostile body, twice, and the service must be there afterwards."""
    with running() as service:
        for name, (body, headers, wanted) in hostile.bodies().items():
            began = time.perf_counter()
            found = [hostile.send(service.port, body, headers) for _ in range(2)]
            assert found == [wanted] * 2, (name, found)
            yield [name, wanted, (time.perf_counter() - began) * 500]
        yield ["afterwards: memory of a worker, MB", "", max(rss for rss, _ in service.memory_mb)]


def report() -> None:
    """Print both tables."""
    questions = mixed()
    tallies = {name: under(name, questions) for name in FAULTS}
    table(asking.HEAD, [[name, *tally.row()] for name, tally in tallies.items()])
    print()
    table(("hostile body", "status", "ms"), list(refused()))
    assert all(is_as_promised(name, tally) for name, tally in tallies.items())
