"""CPU time of a call, and a table of ratios."""

from __future__ import annotations

import time
from collections.abc import Callable


def cpu_ms(call: Callable[[], object], *, at_least_s: float = 0.3, rounds: int = 5) -> float:
    """The least mean CPU time of a call [ms] over some rounds, after one to warm up."""
    call()
    best = float("inf")
    for _ in range(rounds):
        count, start = 0, time.process_time()
        while (spent := time.process_time() - start) < at_least_s / rounds or count == 0:
            call()
            count += 1
        best = min(best, spent / count)
    return best * 1e3


def table(title: str, baseline: str, rows: dict[str, float]) -> None:
    """Print every row's time [ms CPU] and its ratio to the baseline's."""
    print(title)
    for name, ms in rows.items():
        print(f"  {name:<58} {ms:10.3f} ms {ms / rows[baseline]:9.3f} × {baseline}")
