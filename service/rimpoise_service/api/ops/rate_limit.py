"""How often a caller may ask, counted by the library ``limits``: in this process, or in a store that is shared."""

from __future__ import annotations

import ipaddress
import logging
import math
import time

from limits import parse_many
from limits.storage import storage_from_string
from limits.strategies import SlidingWindowCounterRateLimiter

from .settings import Settings

log = logging.getLogger(__name__)


class RateLimit:
    """One or more rates for each caller."""

    def __init__(self, settings: Settings) -> None:
        self._rates = sorted(parse_many(settings.rate_limit), key=lambda rate: rate.get_expiry())
        self._limiter = SlidingWindowCounterRateLimiter(storage_from_string(settings.rate_store))

    def wait_s(self, caller: str) -> int | None:
        """None if the caller may ask now; else how long to wait [s], 1 or more. Raises what the store raises."""
        for rate in self._rates:
            if not self._limiter.hit(rate, caller):
                reset = self._limiter.get_window_stats(rate, caller).reset_time
                return max(1, math.ceil(reset - time.time()))
        return None


def caller_of(key: str | None, address: str | None) -> str:
    """Who is counted: the name of the key; without keys the address, of IPv6 the network a household gets.

    >>> caller_of("workshop", "192.0.2.7"), caller_of(None, "2001:db8::1:2")
    ('key:workshop', '2001:db8::/64')
    """
    if key is not None:
        return f"key:{key}"
    try:
        parsed = ipaddress.ip_address(address or "")
    except ValueError:
        return "unknown"
    return str(ipaddress.ip_network((parsed, 64), strict=False)) if parsed.version == 6 else str(parsed)
