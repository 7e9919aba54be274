"""Retries. Every operation is pure (same request, same answer, nothing stored), so any may be repeated.

Whether to repeat, how long to wait, and the waiting itself are kept apart.
"""

from __future__ import annotations

import random
import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from itertools import count

from .errors import ConnectionFailed, TimedOut, TransportError
from .http import Reply

REPEATABLE_STATUS = frozenset({429, 502, 503, 504})

Outcome = Reply | TransportError


@dataclass(frozen=True, slots=True)
class Retry:
    """How often to retry, and how long to wait.

    times: repeats after the first try. The waits [s] double from first_wait_s up to longest_wait_s, less a
    random part of up to half, so that clients that failed together don't come back together; a Retry-After is
    obeyed where it asks for more. A wait that would bring their sum over total_wait_s [s] ends it.
    """

    times: int = 3
    first_wait_s: float = 0.25
    longest_wait_s: float = 8.0
    total_wait_s: float = 30.0

    def wait_s(self, repeat: int, waited_s: float, asked_s: float | None, luck: float) -> float | None:
        """How long to wait [s] before repeat number ``repeat`` (from 0), None to give up; luck from 0 to 1.

        >>> [Retry().wait_s(n, 0, None, luck=1) for n in range(4)]
        [0.25, 0.5, 1.0, None]
        >>> Retry().wait_s(0, 0, asked_s=5, luck=1), Retry().wait_s(0, 0, asked_s=3600, luck=1)
        (5, None)
        """
        if repeat >= self.times:
            return None
        backoff = min(self.first_wait_s * 2**repeat, self.longest_wait_s) * (1 + luck) / 2
        wait = max(backoff, asked_s or 0.0)
        return wait if waited_s + wait <= self.total_wait_s else None


def worth_repeating(outcome: Outcome) -> bool:
    """Whether the same question may well be answered the next time."""
    if isinstance(outcome, Reply):
        return outcome.status in REPEATABLE_STATUS
    return isinstance(outcome, ConnectionFailed | TimedOut)


def retry_after_s(value: str | None, now: datetime) -> float | None:
    """A Retry-After header, seconds or an HTTP date, as a wait [s] from now; None where it says nothing usable.

    >>> retry_after_s("120", datetime.now(UTC))
    120.0
    >>> retry_after_s("Mon, 01 Jun 2026 12:00:30 GMT", datetime(2026, 6, 1, 12, 0, tzinfo=UTC))
    30.0
    """
    if value is None:
        return None
    if re.fullmatch(r"[ \t]*[0-9]{1,9}[ \t]*", value):
        return float(value)
    try:
        date = parsedate_to_datetime(value)
    except ValueError:
        return None
    date = date if date.tzinfo else date.replace(tzinfo=UTC)
    return max(0.0, (date - now).total_seconds())


def ask_again(
    attempt: Callable[[], Outcome],
    retry: Retry,
    *,
    sleep: Callable[[float], None] = time.sleep,
    luck: Callable[[], float] = random.random,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> Outcome:
    """The first outcome that is not worth repeating, or the last one there was patience for."""
    waited_s = 0.0
    for repeat in count():
        outcome = attempt()
        if not worth_repeating(outcome):
            return outcome
        wait_s = retry.wait_s(repeat, waited_s, _asked_s(outcome, now()), luck())
        if wait_s is None:
            return outcome
        sleep(wait_s)
        waited_s += wait_s
    raise AssertionError("count() does not end")


def _asked_s(outcome: Outcome, now: datetime) -> float | None:
    return retry_after_s(outcome.header("Retry-After"), now) if isinstance(outcome, Reply) else None
