"""Room for few heavy requests at once: who has waited longest is next, and a refusal says when to ask again."""

from __future__ import annotations

import math
import threading
import time
from collections import Counter
from collections.abc import Callable

from prometheus_client import Gauge

WAIT_S = 10.0
"""How long a heavy request waits for room [s]: less than callers do, more than the usual ones before it take."""

LOOK_S = 0.5
"""Between two looks whether the caller of one that waits is still there [s]."""

FIRST_S, LONGEST_S = 1.0, 60.0
"""How long a slot is held, before any was given back, and at the most [s]; for estimates alone."""


class Slots:
    """``most`` at once; others wait, each in its thread, ``together`` in all.

    No caller has all slots, nor all of those places: whoever reads a long answer slowly holds one for long.
    """

    def __init__(self, most: int, together: int, count: Gauge) -> None:
        self._lock, self._free, self._queue = threading.Lock(), most, list[tuple[str, threading.Event]]()
        self._most, self._together, self._count = most, together, count
        self._of_caller = Counter[str]()
        self._held_s = FIRST_S

    def take(self, caller: str, gone: Callable[[], bool] = lambda: False) -> bool:
        """Take one; wait for it for WAIT_S, where there is room to wait, unless the caller is ``gone``."""
        mine = caller, threading.Event()
        with self._lock:
            if self._may_have(caller):
                self._give(mine)
            elif not self._may_wait(caller):
                return False
            else:
                self._queue.append(mine)
        end_s = time.monotonic() + WAIT_S
        while not mine[1].wait(max(0.0, min(LOOK_S, end_s - time.monotonic()))):
            if (time.monotonic() >= end_s or gone()) and self._gave_up(mine):
                return False
        self._count.inc()
        return True

    @property
    def _share(self) -> int:
        """How many one caller may have."""
        return max(1, self._most - 1)

    def _may_have(self, caller: str) -> bool:
        return self._free > 0 and self._of_caller[caller] < self._share

    def _may_wait(self, caller: str) -> bool:
        inside = self._most - self._free + len(self._queue)
        return inside < self._together and self._all_of(caller) < max(1, self._together - 1)

    def _all_of(self, caller: str) -> int:
        """Under way, or waiting."""
        return self._of_caller[caller] + sum(who == caller for who, _ in self._queue)

    def _give(self, to: tuple[str, threading.Event]) -> None:
        self._free -= 1
        self._of_caller[to[0]] += 1
        to[1].set()

    def _gave_up(self, mine: tuple[str, threading.Event]) -> bool:
        with self._lock:
            if not mine[1].is_set():
                self._queue.remove(mine)
            return not mine[1].is_set()

    def release(self, caller: str, held_s: float) -> None:
        """Give one back that was held for so long [s], to whoever waits longest and may have one."""
        with self._lock:
            self._held_s += (min(held_s, LONGEST_S) - self._held_s) / 4
            self._free += 1
            self._of_caller[caller] -= 1
            self._of_caller += Counter()  # forgets who has none
            for n, (who, _) in enumerate(self._queue):
                if self._may_have(who):
                    self._give(self._queue.pop(n))
                    break
        self._count.dec()

    def retry_after(self, caller: str) -> int:
        """When those who wait now should have been served, by what the last ones took [s], 1 or more.

        For all of its own a caller waits, as many at once as it may have.
        """
        with self._lock:
            turns = max((len(self._queue) + 1) / self._most, self._all_of(caller) / self._share)
            return max(1, math.ceil(turns * self._held_s))
