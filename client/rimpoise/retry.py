"""Retries. Every operation is pure (same request, same answer, nothing stored), so any may be repeated.

Whether to repeat, how long to wait, and the waiting itself are kept apart.
"""

from __future__ import annotations

import logging
import random
import re
import time
from collections.abc import Callable, Generator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from itertools import count
from typing import cast

from .errors import ConnectionFailed, RimpoiseError, TimedOut
from .http import Call, Reply

LOG = logging.getLogger("rimpoise")
"""Every try at level debug, every repeat at info, what is deprecated at warning; no bodies and no keys."""
LOG.addHandler(logging.NullHandler())  # silent unless the application wants to hear it

REPEATABLE_STATUS = frozenset({429, 502, 503, 504})

Outcome = Reply | RimpoiseError


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
    except (ValueError, OverflowError):  # the latter for a year or a zone of many digits
        return None
    date = date if date.tzinfo else date.replace(tzinfo=UTC)
    return max(0.0, (date - now).total_seconds())


@dataclass(frozen=True, slots=True)
class Hooks:
    """What is called around every try, in its thread; whatever it raises goes to the caller. Enough for a tracer.

    before: gets the call, and may return another one to send, such as with one more header
    after: gets the call that was sent, the reply or why there is none, and how long it took [s]
    retry: gets the same call, what is wrong, and the wait before the next try [s]
    """

    before: Callable[[Call], Call | None] | None = None
    after: Callable[[Call, Outcome, float], object] | None = None
    retry: Callable[[Call, Outcome, float], object] | None = None


@dataclass(frozen=True, slots=True)
class Answered:
    """The last outcome, and what it took: tries, and all of them with their waits [s]."""

    outcome: Outcome
    tries: int
    elapsed_s: float


Step = Call | float
"""What to do next: send a call, or wait so long [s]."""

Course = Generator[Step, Outcome | None, Answered]


def course(
    call: Call,
    retry: Retry,
    hooks: Hooks = Hooks(),
    deadline_s: float | None = None,
    *,
    luck: Callable[[], float] = random.random,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
    clock: Callable[[], float] = time.monotonic,
) -> Course:
    """The steps of a call to the first outcome that is not worth repeating, or the last there was patience for.

    Nothing is sent and nothing waits here: who drives it sends each call, sends back what came of it, and waits.
    deadline_s [s] is for all of it.
    """
    began_s, waited_s = clock(), 0.0
    call = call if deadline_s is None else replace(call, ends_s=began_s + deadline_s)
    for repeat in count():
        sent = (hooks.before and hooks.before(call)) or call
        tried_s = clock()
        outcome = yield sent
        assert outcome is not None  # noqa: S101 (the driver's part)
        _report(sent, outcome, clock() - tried_s, hooks)
        wait_s = _wait_s(outcome, retry, repeat, waited_s, now(), luck())
        if wait_s is None or (call.ends_s is not None and clock() + wait_s >= call.ends_s):
            return Answered(outcome, repeat + 1, clock() - began_s)
        LOG.info("%s %s: %s; again in %.3g s", sent.method, sent.url, _told(outcome), wait_s)
        if hooks.retry:
            hooks.retry(sent, outcome, wait_s)
        yield wait_s
        waited_s += wait_s
    raise AssertionError("count() does not end")


def follow(
    steps: Course, attempt: Callable[[Call], Outcome], sleep: Callable[[float], object] = time.sleep
) -> Answered:
    """Take the steps: send each call with ``attempt`` and wait with ``sleep``."""
    outcome: Outcome | None = None
    try:
        while True:
            step = steps.send(outcome)
            outcome = attempt(step) if isinstance(step, Call) else cast(None, sleep(step))
    except StopIteration as stop:
        return cast(Answered, stop.value)


def _wait_s(
    outcome: Outcome, retry: Retry, repeat: int, waited_s: float, now: datetime, luck: float
) -> float | None:
    if not worth_repeating(outcome):
        return None
    asked = retry_after_s(outcome.header("Retry-After"), now) if isinstance(outcome, Reply) else None
    return retry.wait_s(repeat, waited_s, asked, luck)


def _report(call: Call, outcome: Outcome, took_s: float, hooks: Hooks) -> None:
    LOG.debug(
        "%s %s: %s in %.3f s (request %s)", call.method, call.url, _told(outcome), took_s, call.request_id or "-"
    )
    if isinstance(outcome, Reply) and (outcome.header("Deprecation") or outcome.header("Sunset")):
        LOG.warning("%s is deprecated there; it ends: %s", call.url, outcome.header("Sunset") or "not said when")
    if hooks.after:
        hooks.after(call, outcome, took_s)


def _told(outcome: Outcome) -> str:
    return str(outcome.status) if isinstance(outcome, Reply) else type(outcome).__name__
