"""How often a caller may ask, counted by the library ``limits``: in this process, or in a store that is shared."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

from limits import parse_many
from limits.storage import storage_from_string
from limits.strategies import SlidingWindowCounterRateLimiter

from .store import FailFast, client_options, is_shared


class RateLimit:
    """One or more rates for each caller; ``failed`` hears when the store does not answer."""

    def __init__(self, rates: str, url: str, failed: Callable[[], None]) -> None:
        self._rates = sorted(parse_many(rates), key=lambda rate: rate.get_expiry())
        local = SlidingWindowCounterRateLimiter(storage_from_string("memory://"))
        shared = local
        if is_shared(url):
            shared = SlidingWindowCounterRateLimiter(storage_from_string(url, **client_options()))
        self._count = FailFast(shared, local, failed)

    def wait_s(self, caller: str) -> int | None:
        """None if the caller may ask now; else how long to wait [s], 1 or more."""
        return self._count(lambda limiter: self._wait_s(limiter, caller))

    def _wait_s(self, limiter: SlidingWindowCounterRateLimiter, caller: str) -> int | None:
        for rate in self._rates:
            if not limiter.hit(rate, caller):
                reset = limiter.get_window_stats(rate, caller).reset_time
                return max(1, math.ceil(reset - time.time()))
        return None
