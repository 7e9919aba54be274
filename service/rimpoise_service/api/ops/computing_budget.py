"""How much computing each caller may use: a bucket of work for each, which fills by itself.

A unit of work is a millisecond of a worker's processor. What a request costs is known only when it is done, so a
bucket may be overdrawn; then its caller waits until it is full again to that level.
"""

from __future__ import annotations

import math
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from typing import Protocol

from .rate_limit import Quota
from .store import FailFast, client_options, is_shared

MAX_CALLERS = 100_000
"""Buckets that are kept in a process; the one that was not used longest goes, which fills it."""

SCRIPT = """
local time = redis.call('TIME')
local now = time[1] + time[2] / 1e6
local held = redis.call('HMGET', KEYS[1], 'left', 'at')
local rate, most, units = tonumber(ARGV[1]), tonumber(ARGV[2]), tonumber(ARGV[3])
local passed = math.max(0, now - (tonumber(held[2]) or now))
local left = math.min(most, (tonumber(held[1]) or most) + passed * rate) - units
redis.call('HSET', KEYS[1], 'left', string.format('%.3f', left), 'at', string.format('%.6f', now))
redis.call('PEXPIRE', KEYS[1], math.ceil((most - left) / rate * 1000) + 1000)
return string.format('%.3f', left)
"""
"""The bucket as the store keeps it; one step there, so that instances don't overwrite each other.

A clock that was set back, or another one's after a failover, takes nothing away.
"""


class Buckets(Protocol):
    """A bucket of work units for each caller."""

    def spend(self, caller: str, units: float) -> float:
        """Take units, 0 too; what is left, below 0 if it is overdrawn."""


class LocalBuckets:
    """Buckets in this process. ``rate`` [units/s] fills them, up to ``most`` [units]."""

    def __init__(self, rate: float, most: float) -> None:
        self._rate, self._most = rate, most
        self._buckets: OrderedDict[str, tuple[float, float]] = OrderedDict()
        self._lock = threading.Lock()

    def spend(self, caller: str, units: float) -> float:
        """As ``Buckets`` says."""
        now = time.monotonic()
        with self._lock:
            held, at = self._buckets.pop(caller, (self._most, now))
            left = min(self._most, held + (now - at) * self._rate) - units
            self._buckets[caller] = left, now
            if len(self._buckets) > MAX_CALLERS:
                self._buckets.popitem(last=False)
        return left


class SharedBuckets:
    """Buckets in a store; its client's errors come through."""

    def __init__(self, url: str, rate: float, most: float) -> None:
        from redis import Redis

        self._script = Redis.from_url(url, **client_options(url)).register_script(SCRIPT)
        self._rate, self._most = rate, most

    def spend(self, caller: str, units: float) -> float:
        """As ``Buckets`` says. Raises redis.RedisError, ValueError for what is no number of units."""
        left = float(self._script(keys=[f"rimpoise:work:{caller}"], args=[self._rate, self._most, units]))
        if not math.isfinite(left):
            raise ValueError(f"the store says that {left} units are left")
        return left


class ComputingBudget:
    """The buckets of all callers, wherever they are."""

    def __init__(self, rate: float, most: float, url: str, failed: Callable[[], None]) -> None:
        self._rate, self._most = rate, most
        local = LocalBuckets(rate, most)
        self._count = FailFast[Buckets](SharedBuckets(url, rate, most) if is_shared(url) else local, local, failed)

    def spend(self, caller: str, units: float) -> float:
        """Take units; how long the caller should wait [s], 0 or less if it need not."""
        return -self._count(lambda buckets: buckets.spend(caller, units)) / self._rate

    def quota(self, wait_s: float) -> Quota:
        """What ``spend`` found, as callers see it; milliseconds of computing."""
        left = -wait_s * self._rate
        window_s, full_s = math.ceil(self._most / self._rate), math.ceil((self._most - left) / self._rate)
        return Quota("computing", int(self._most), window_s, max(0, int(left)), max(0, full_s), "ms")
