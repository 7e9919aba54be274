"""Tables as Markdown, and what machine this is."""

from __future__ import annotations

import os
from collections.abc import Sequence


def cores() -> int:
    """Those that this process may use."""
    return len(os.sched_getaffinity(0))


def load_average() -> str:
    """Over the last minute: others may be using the machine."""
    return f"{os.getloadavg()[0]:.1f}"


def table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    """Print it."""
    print("| " + " | ".join(head) + " |")
    print("|" + "---|" * len(head))
    for row in rows:
        print(
            "| " + " | ".join(f"{cell:.3g}" if isinstance(cell, float) else str(cell) for cell in row) + " |",
            flush=True,
        )
