"""Threads of a worker take turns at computing.

They share one interpreter, and numpy releases it within every larger operation: threads that all compute take it
from each other thousands of times a second, and each plan then costs half as much again. So one computes while the
others wait, but not for long: a thread that computes for longer than its patience loses the turn to the next one,
and continues beside those that follow.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager

PATIENCE_S, HEAVY_PATIENCE_S = 0.25, 0.05
"""How long a turn belongs to a thread alone [s]: what takes longer is heavy; and where that is known before."""


class ComputeLock:
    """A lock for whoever has waited longest; its holder loses it to the next thread when its patience is over."""

    def __init__(self) -> None:
        self._lock, self._queue = threading.Lock(), deque[tuple[threading.Event, float]]()
        self.holder: threading.Event | None = None
        self._until = 0.0

    def acquire(self, patience_s: float) -> threading.Event:
        """Wait for it, and take it; from a holder who has had it for long, if need be."""
        mine = threading.Event()
        with self._lock:
            self._queue.append((mine, patience_s))
            if self.holder is None:
                self._give_to_next()
        while not mine.wait(min(max(0.0, self._until - time.perf_counter()), HEAVY_PATIENCE_S)):
            with self._lock:
                if not mine.is_set() and time.perf_counter() >= self._until:
                    self._give_to_next()
        return mine

    def release(self, mine: threading.Event) -> None:
        """Give it back, if nobody has taken it."""
        with self._lock:
            if self.holder is mine:
                self._give_to_next()

    def _give_to_next(self) -> None:
        self.holder, patience_s = self._queue.popleft() if self._queue else (None, 0.0)
        self._until = time.perf_counter() + patience_s
        if self.holder:
            self.holder.set()


LOCK = ComputeLock()  # one, as the interpreter is one


@contextmanager
def hold_compute_lock(patience_s: float, waited: Callable[[float], None] = lambda _: None) -> Iterator[None]:
    """Compute when it is this thread's turn, alone for so long [s]; ``waited`` hears how long it was not [s]."""
    began = time.perf_counter()
    mine = LOCK.acquire(patience_s)
    waited(time.perf_counter() - began)
    try:
        yield
    finally:
        LOCK.release(mine)
