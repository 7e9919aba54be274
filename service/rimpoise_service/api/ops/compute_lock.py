"""Threads of a worker take turns at computing.

There is one interpreter for all of them, and numpy lets go of it within every larger operation: threads that all
compute take it from each other thousands of times a second, and each plan then costs half as much again. So one
computes while the others wait, but not for long: what is long itself must not hold up what is short.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

PATIENCE_S = 0.05
"""After so long a thread goes on beside the other [s]: some ten plans of the usual size."""

_turn = threading.Lock()  # one, as the interpreter is one


@contextmanager
def hold_compute_lock() -> Iterator[None]:
    """Compute alone, or, after PATIENCE_S, beside who is still computing."""
    alone = _turn.acquire(timeout=PATIENCE_S)
    try:
        yield
    finally:
        if alone:
            _turn.release()
