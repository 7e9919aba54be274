"""Who is let in: by how much of the workers' time each caller has used, and by how heavy what it asks for is.

Computing is charged to its caller afterwards (``computing_budget``). A worker answers few heavy requests at once,
so that light ones always find a thread. Heavy requests are those for many plans, those like a recent, expensive
request of the same caller, and those that are like none while the caller has others under way that are like none.
"""

from __future__ import annotations

import math
import threading
import time
from collections import Counter, OrderedDict
from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, cast

from flask import Response, current_app, g, request
from werkzeug.exceptions import ClientDisconnected, ServiceUnavailable, TooManyRequests
from werkzeug.wsgi import ClosingIterator

from ..schemas.said import Said
from .callers import caller_gone, caller_of
from .computing_budget import ComputingBudget
from .metrics import Metrics
from .rate_limit import note_quotas
from .settings import Settings
from .slots import Slots

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

HEAVY_MS = 250.0
"""A request that takes more processor time than this is heavy [ms]: some thirty usual plans."""

MAX_KINDS = 10_000
"""Kinds of requests whose last cost is remembered; the one that was not asked for longest is forgotten."""

TRIAL_S = HEAVY_MS / 1e3
"""How long a request that is like none waits for another one of its caller's [s]: what lasts longer is heavy."""

CHARGE_MS = 100.0
"""A long answer is charged when it has cost so much [ms]: each charge may be a message to the store."""

NAP_S = 0.5
"""A long answer whose caller's budget is used up goes on after so long at the latest to see [s]."""

METER, LEAVE = "rimpoise.meter", "rimpoise.leave"
"""Where a request's meter stands in its environment, and what is called when it is done."""

Kind = tuple[str, str, int]
"""Caller, operation, and how large the body is, to a power of two: what is alike costs about the same."""


class Meter:
    """What one request costs its caller; ``slot`` is the slot of a heavy one."""

    def __init__(self, budget: ComputingBudget | None, caller: str, slot: Slots | None) -> None:
        self.cost_ms = self._charged_ms = 0.0
        self._budget, self._caller, self._slot = budget, caller, slot
        self._mark_s, self._began_s = time.thread_time(), time.monotonic()

    def charge(self, least_ms: float = 0.0) -> float:
        """Charge what was computed since the last time, if it is so much.

        How long the caller should wait [s], 0 or less if not.
        """
        now_s = time.thread_time()
        self.cost_ms, self._mark_s = self.cost_ms + (now_s - self._mark_s) * 1e3, now_s
        owed_ms = self.cost_ms - self._charged_ms
        if self._budget is None or owed_ms < least_ms:
            return 0.0
        self._charged_ms = self.cost_ms
        return self._budget.spend(self._caller, owed_ms)

    def end(self) -> None:
        """It is done: charge the rest, and make room for the next one."""
        try:
            self.charge()
        finally:
            if self._slot:
                self._slot.release(self._caller, time.monotonic() - self._began_s)


class Costs:
    """What each kind of request cost the last time."""

    def __init__(self) -> None:
        self._ms: OrderedDict[Kind, float] = OrderedDict()
        self._lock = threading.Lock()

    def remember(self, kind: Kind, ms: float) -> None:
        """For the next of that kind."""
        with self._lock:
            self._ms[kind] = ms
            self._ms.move_to_end(kind)
            if len(self._ms) > MAX_KINDS:
                self._ms.popitem(last=False)

    def of(self, kind: Kind) -> float | None:
        """Of the last one [ms]; None if there was none."""
        with self._lock:
            return self._ms.get(kind)


class Trials:
    """Requests of which nobody knows what they will cost: no caller has more than ``most`` at once."""

    def __init__(self, most: int) -> None:
        self._most, self._of_caller, self._ended = most, Counter[str](), threading.Condition()

    def begin(self, caller: str) -> bool:
        """Whether the caller may have one more, which it has then; one that ends soon is waited for."""
        with self._ended:
            good = self._ended.wait_for(lambda: self._of_caller[caller] < self._most, TRIAL_S)
            self._of_caller[caller] += good
            return good

    def end(self, caller: str) -> None:
        """It is done."""
        with self._ended:
            self._of_caller[caller] -= 1
            self._of_caller += Counter()  # forgets who has none
            self._ended.notify_all()


class Door:
    """Lets requests in, and notes when they are done."""

    def __init__(self, settings: Settings, counted: Metrics) -> None:
        rate, most, failed = settings.work_rate, settings.work_burst, counted.store_failures.inc
        self._budget = ComputingBudget(rate, most, settings.rate_store, failed) if rate else None
        half = max(1, settings.threads // 2)
        most, together = min(settings.heavy, half), max(half, settings.threads * 3 // 4)
        self._slots, self._costs = Slots(most, together, counted.heavy), Costs()
        self._trials = Trials(max(1, settings.threads // 4))

    def enter(self) -> None:
        """Let the current request in. Raises TooManyRequests, ServiceUnavailable."""
        caller = caller_of(g.get("key"), request.remote_addr)
        wait_s = self._budget_left(caller)
        if wait_s > 0:
            raise TooManyRequests(Said("share_used_up", wait_s=wait_s), retry_after=wait_s)
        operation = request.endpoint or ""
        kind = caller, operation, (request.content_length or 0).bit_length()
        many = getattr(current_app.view_functions.get(operation), "heavy", False)
        trial = not many and self._costs.of(kind) is None and self._trials.begin(caller)
        cost_ms = 0.0 if trial else self._costs.of(kind)  # one like it may have ended meanwhile
        slot = self._slots if many or cost_ms is None or cost_ms > HEAVY_MS else None
        environ = request.environ
        taken = slot is None or slot.take(caller, lambda: caller_gone(environ))
        if slot and caller_gone(environ):
            if taken:
                slot.release(caller, 0.0)
            raise ClientDisconnected("the caller has left")
        if slot and not taken:
            raise ServiceUnavailable(Said("no_room_for_heavy"), retry_after=slot.retry_after(caller))
        g.heavy = slot is not None
        meter = Meter(self._budget, caller, slot)

        def done() -> None:
            try:
                meter.end()
                self._costs.remember(kind, meter.cost_ms)
            finally:
                if trial:
                    self._trials.end(caller)

        environ.update({METER: meter, LEAVE: done})

    def _budget_left(self, caller: str) -> int:
        """How long the caller must wait [s], 0 or less if not; what is left is noted for the answer."""
        if self._budget is None:
            return 0
        wait_s = self._budget.spend(caller, 0.0)
        note_quotas([self._budget.quota(wait_s)])
        return math.ceil(wait_s)

    def around(self, app: WSGIApplication) -> WSGIApplication:
        """An application whose requests have left when their answer is out, or has failed."""

        def answer(environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
            try:
                return ClosingIterator(app(environ, start), lambda: leave(environ))
            except BaseException:
                leave(environ)
                raise

        return answer


def leave_early(response: Response) -> Response:
    """What is computed as a whole leaves before it is sent, what comes in parts after the last one."""
    if response.is_streamed:
        response.response = _and_leave(cast(Iterable[bytes], response.response), request.environ)
    else:
        leave(request.environ)
    return response


def _and_leave(parts: Iterable[bytes], environ: WSGIEnvironment) -> Iterator[bytes]:
    yield from parts
    leave(environ)


def leave(environ: WSGIEnvironment) -> None:
    """The request of an environment is done; once."""
    environ.pop(LEAVE, lambda: None)()


def pacer() -> Callable[[], bool]:
    """For an answer of many parts, called before each: waits while its caller's share is used up; whether anybody
    still waits for the answer."""
    environ = request.environ
    meter: Meter | None = environ.get(METER)

    def go_on() -> bool:
        wait_s = meter.charge(CHARGE_MS) if meter else 0.0
        while meter and wait_s > 0 and not caller_gone(environ):
            time.sleep(min(wait_s, NAP_S))
            wait_s = meter.charge()
        return not caller_gone(environ)

    return go_on
