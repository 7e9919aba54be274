"""Room for few heavy requests at once: who has waited longest is next, and a refusal says when to ask again."""

from __future__ import annotations

import math
import threading
import time
from collections import deque
from collections.abc import Callable

from prometheus_client import Gauge

WAIT_S = 10.0
"""How long a heavy request waits for room [s]: less than callers do, more than the usual ones before it take."""

LOOK_S = 0.5
"""Between two looks whether the caller of one that waits is still there [s]."""

FIRST_S, LONGEST_S = 1.0, 60.0
"""How long a slot is held, before any was given back, and at the most [s]; for estimates alone."""


class Slots:
    """So many at once; others wait, so many of them, each in its thread."""

    def __init__(self, most: int, waiting: int, count: Gauge) -> None:
        self._lock, self._free, self._queue = threading.Lock(), most, deque[threading.Event]()
        self._most, self._waiting, self._count = most, waiting, count
        self._held_s = FIRST_S

    def take(self, gone: Callable[[], bool] = lambda: False) -> bool:
        """Take one; wait for it for WAIT_S, where there is room to wait, unless the caller is ``gone``."""
        with self._lock:
            if self._free:
                self._free -= 1
                self._count.inc()
                return True
            if len(self._queue) >= self._waiting:
                return False
            turn = threading.Event()
            self._queue.append(turn)
        end_s = time.monotonic() + WAIT_S
        while not turn.wait(max(0.0, min(LOOK_S, end_s - time.monotonic()))):
            if (time.monotonic() >= end_s or gone()) and self._gave_up(turn):
                return False
        self._count.inc()
        return True

    def _gave_up(self, turn: threading.Event) -> bool:
        with self._lock:
            if not turn.is_set():
                self._queue.remove(turn)
            return not turn.is_set()

    def release(self, held_s: float) -> None:
        """Give one back that was held for so long [s], to whoever waits longest."""
        with self._lock:
            self._held_s += (min(held_s, LONGEST_S) - self._held_s) / 4
            if self._queue:
                self._queue.popleft().set()
            else:
                self._free += 1
        self._count.dec()

    def retry_after(self) -> int:
        """When those who wait now will have been served, as far as the last ones say [s], 1 or more."""
        with self._lock:
            return max(1, math.ceil((len(self._queue) + 1) * self._held_s / self._most))
