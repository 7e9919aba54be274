"""Threads of a worker take turns at computing.

They share one interpreter, and numpy releases it within every larger operation: threads that all compute take it
from each other thousands of times a second, and each plan then costs half as much again. So one computes while the
others wait, but not for long: a thread that computes for PATIENCE_S loses the turn to the next one, and continues
beside those that follow.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager

PATIENCE_S = 0.05
"""How long a turn belongs to a thread alone [s]: some ten plans of the usual size."""


class ComputeLock:
    """A lock for whoever has waited longest; its holder loses it to the next thread after PATIENCE_S."""

    def __init__(self) -> None:
        self._lock, self._queue = threading.Lock(), deque[threading.Event]()
        self.holder: threading.Event | None = None
        self._since = 0.0

    def acquire(self) -> threading.Event:
        """Wait for it, and take it; from a holder who has had it for long, if need be."""
        mine = threading.Event()
        with self._lock:
            self._queue.append(mine)
            if self.holder is None:
                self._give_to_next()
        while not mine.wait(max(0.0, self._since + PATIENCE_S - time.perf_counter())):
            with self._lock:
                if not mine.is_set() and time.perf_counter() - self._since >= PATIENCE_S:
                    self._give_to_next()
        return mine

    def release(self, mine: threading.Event) -> None:
        """Give it back, if nobody has taken it."""
        with self._lock:
            if self.holder is mine:
                self._give_to_next()

    def _give_to_next(self) -> None:
        self.holder, self._since = self._queue.popleft() if self._queue else None, time.perf_counter()
        if self.holder:
            self.holder.set()


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
