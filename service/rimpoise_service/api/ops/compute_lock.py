"""Threads of a worker take turns at computing.

They share one interpreter, and numpy releases it within every larger operation: threads that all compute take it
from each other thousands of times a second, and each plan then costs half as much again. So one computes while the
others wait, but not for long: a thread that computes for PATIENCE_S loses the turn to the next one, and continues
beside those that follow.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

PATIENCE_S = 0.05
"""How long a turn belongs to a thread alone [s]: some ten plans of the usual size."""


class ComputeLock:
    """A lock that is lost to the next thread after PATIENCE_S, and who holds it."""

    def __init__(self) -> None:
        self._free = threading.Condition()
        self.holder: object | None = None
        self._since = 0.0

    def acquire(self) -> object:
        """Wait for it, and take it; from a holder who has had it for long, if need be."""
        mine = object()
        with self._free:
            while self.holder is not None and (left_s := self._since + PATIENCE_S - time.perf_counter()) > 0:
                self._free.wait(left_s)
            self.holder, self._since = mine, time.perf_counter()
        return mine

    def release(self, mine: object) -> None:
        """Give it back, if nobody has taken it."""
        with self._free:
            if self.holder is mine:
                self.holder = None
                self._free.notify()


LOCK = ComputeLock()  # one, as the interpreter is one


@contextmanager
def hold_compute_lock(waited: Callable[[float], None] = lambda _: None) -> Iterator[None]:
    """Compute when it is this thread's turn; ``waited`` hears how long that took [s]."""
    began = time.perf_counter()
    mine = LOCK.acquire()
    waited(time.perf_counter() - began)
    try:
        yield
    finally:
        LOCK.release(mine)
