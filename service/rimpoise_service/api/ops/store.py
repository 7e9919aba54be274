"""Where requests and work are counted: in a store that instances share, or, while that is away, in this process.

A store that hangs must not hang the service: it gets a tenth of a second, and after a failure it is left alone for
a while, in which this process counts for itself.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from typing import Any, Generic, TypeVar

TIMEOUT_S = 0.1
"""For a connection to the store, and for each answer [s]."""

PAUSE_S = 5.0
"""After a failure it is not tried for so long [s]."""

T = TypeVar("T")
R = TypeVar("R")

log = logging.getLogger(__name__)


class FailFast(Generic[T]):
    """One of two counters: the shared one, or for PAUSE_S after it failed the local one.

    Then one request tries the shared one again, and others count in the local one until that has been answered.
    """

    def __init__(self, shared: T, local: T, failed: Callable[[], None]) -> None:
        self._shared, self._local, self._failed = shared, local, failed
        self._again_at = 0.0

    def __call__(self, count: Callable[[T], R]) -> R:
        """Count in the one that is there; ``failed`` hears of each failure."""
        if time.monotonic() >= self._again_at:
            if self._again_at:
                self._again_at = time.monotonic() + PAUSE_S
            try:
                counted = count(self._shared)
            except Exception as error:  # whatever the store's client raises
                self._again_at = time.monotonic() + PAUSE_S
                self._failed()
                log.warning("the store is away, counting here for %g s: %s", PAUSE_S, error)
            else:
                self._again_at = 0.0
                return counted
        return count(self._local)


def is_shared(url: str) -> bool:
    """Whether a store's URL means one that others use too."""
    return not url.startswith("memory:")


def client_options(url: str) -> dict[str, Any]:
    """For the client of a shared store: fail fast, once. Raises ImportError without the extra ``store``."""
    from redis.backoff import NoBackoff
    from redis.retry import Retry

    from .store_connections import InTime, InTimeByTls

    by = InTimeByTls if url.startswith("rediss:") else InTime
    once = Retry(NoBackoff(), 0)
    return {
        "socket_timeout": TIMEOUT_S,
        "socket_connect_timeout": TIMEOUT_S,
        "retry": once,
        "connection_class": by,
    }
