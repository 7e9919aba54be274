"""How often a caller may ask, counted by the library ``limits``: in this process, or in a store that is shared."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from typing import NamedTuple

from flask import g
from limits import RateLimitItem, parse_many
from limits.storage import MemoryStorage, storage_from_string
from limits.strategies import SlidingWindowCounterRateLimiter

from .store import FailFast, client_options, is_shared

MAX_COUNTS = 50_000
"""Of callers and windows that are kept in a process; the tenth of them that began longest ago goes."""


class Quota(NamedTuple):
    """What a caller is allowed in a window, and what is left of it.

    ``most`` and ``left`` count requests, or ``unit``; ``full_s``: until it is there again, of requests
    in part, for what came in the last window still counts for a while [s].
    """

    name: str
    most: int
    window_s: int
    left: int
    full_s: int
    unit: str = ""


def quota_headers(quotas: Sequence[Quota]) -> dict[str, str]:
    """The fields of draft-ietf-httpapi-ratelimit-headers-10, sections 3 and 4 (``qu`` from memory).

    >>> for line in quota_headers([Quota("requests-60s", 600, 60, 599, 60)]).items():
    ...     print(*line)
    RateLimit-Policy "requests-60s";q=600;w=60
    RateLimit "requests-60s";r=599;t=60
    """
    units = [f';qu="{each.unit}"' if each.unit else "" for each in quotas]
    policies = [f'"{q.name}";q={q.most};w={q.window_s}{unit}' for q, unit in zip(quotas, units, strict=True)]
    left = [f'"{q.name}";r={q.left};t={q.full_s}' for q in quotas]
    return {"RateLimit-Policy": ", ".join(policies), "RateLimit": ", ".join(left)} if quotas else {}


def note_quotas(quotas: Sequence[Quota]) -> None:
    """Have the current request's answer say what is left."""
    g.quotas = [*g.get("quotas", ()), *quotas]


def noted_quotas() -> dict[str, str]:
    """The headers that say it."""
    return quota_headers(g.get("quotas", ()))


class LocalCounts(MemoryStorage):
    """The library's counts in this process, which it keeps for two windows, however many callers there are."""

    def incr(self, key: str, expiry: float, amount: int = 1) -> int:
        """Count; where there are too many counts, the oldest go."""
        count = super().incr(key, expiry, amount)
        if len(self.expirations) > MAX_COUNTS:
            for oldest in list(self.expirations)[: MAX_COUNTS // 10]:
                self.clear(oldest)
        return count


class RateLimit:
    """One or more rates for each caller; ``failed`` hears when the store does not answer."""

    def __init__(self, rates: str, url: str, failed: Callable[[], None]) -> None:
        self._rates = sorted(parse_many(rates), key=lambda rate: rate.get_expiry())
        local = SlidingWindowCounterRateLimiter(LocalCounts())
        shared = local
        if is_shared(url):
            shared = SlidingWindowCounterRateLimiter(storage_from_string(url, **client_options(url)))
        self._count = FailFast(shared, local, failed)

    def count(self, caller: str) -> tuple[int | None, list[Quota]]:
        """Count a request. None if the caller may ask now, else how long to wait [s], 1 or more; what is left."""
        return self._count(lambda limiter: self._hit(limiter, caller))

    def _hit(self, limiter: SlidingWindowCounterRateLimiter, caller: str) -> tuple[int | None, list[Quota]]:
        quotas = []
        for rate in self._rates:
            allowed, quota = limiter.hit(rate, caller), _quota(limiter, rate, caller)
            quotas.append(quota)
            if not allowed:
                return max(1, quota.full_s), quotas
        return None, quotas


def _quota(limiter: SlidingWindowCounterRateLimiter, rate: RateLimitItem, caller: str) -> Quota:
    stats, window_s = limiter.get_window_stats(rate, caller), rate.get_expiry()
    full_s = max(0, math.ceil(stats.reset_time - time.time()))
    return Quota(f"requests-{window_s}s", rate.amount, window_s, max(0, stats.remaining), full_s)
