"""A long time at a bounded rate: every example of every operation, and memory and errors by the minute.

``SOAK_MINUTES``: how long (default 30); ``SOAK_RATE``: requests a second at the most (default 8).
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

from .asking import Tally, load, mixed
from .service import Service, running
from .table import load_average, table

MINUTES = int(os.environ.get("SOAK_MINUTES", "30"))
RATE = float(os.environ.get("SOAK_RATE", "8"))
CALLERS = 4
GROWTH = 1.02
"""By so much memory may grow in the second half, when all that is kept has been seen once."""

HEAD = ("minute", "sent", "right", "refused", "wrong", "lost", "p50 ms", "p99 ms", "MB", "descriptors", "load")


def descriptors(service: Service) -> int:
    """How many files and sockets the workers have open."""
    return sum(len(list(Path(f"/proc/{pid}/fd").iterdir())) for pid in service.workers)


def minutes(service: Service) -> Iterator[list[object]]:
    """A row a minute, printed as it comes."""
    with load(service.port, mixed(), callers=CALLERS, pause_s=CALLERS / RATE) as tally:
        for minute in range(1, MINUTES + 1):
            before, since = tally.counts.copy(), len(tally.ms)
            time.sleep(60.0)
            counts, ms = tally.counts - before, Tally(ms=tally.ms[since:])
            memory = sum(proportional for _, proportional in service.memory_mb)
            reported = [counts[name] for name in HEAD[1:6]]
            row: list[object] = [
                minute,
                *reported,
                ms.at(50),
                ms.at(99),
                memory,
                descriptors(service),
                load_average(),
            ]
            print(*row, flush=True)
            yield row


def report() -> None:
    """Print the table; nothing may be wrong, refused or lost, no worker may die, and memory must not grow."""
    with running() as service:
        by_minute = minutes(service)
        rows = [next(by_minute)]
        workers = service.workers  # all are there by now
        rows += by_minute
        assert service.workers == workers, "a worker died"
    table(HEAD, rows)
    assert all(row[1] == row[2] for row in rows), "not every answer was right"
    memory = [float(str(row[8])) for row in rows]
    assert max(memory[MINUTES // 2 :]) <= GROWTH * max(memory[: MINUTES // 2 + 1]), memory
