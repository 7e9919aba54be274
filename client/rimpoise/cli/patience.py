"""A client for a night's run: all its requests wait together for a service that is away or refuses for now."""

from __future__ import annotations

import random
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import count
from types import FrameType
from typing import Any
from urllib.parse import urlsplit

from ..client import Client
from ..errors import TransportError
from ..http import Call, Reply
from ..retry import Retry, retry_after_s, worth_repeating

MANY = 1_000_000


class Stopped(TransportError):
    """The caller gave up while it waited."""


class Terminated(KeyboardInterrupt):
    """SIGTERM, which ends a command as Ctrl-C does."""


class Throttle:
    """One gate for all requests of a client: while it is shut, none starts.

    Its lock is one that a thread may take twice: a signal's handler, which stops it, runs at any point of the main
    thread, also where that has the lock. An Event's lock is not: Ctrl-C at the wrong instant hung for ever.
    """

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._opens = 0.0
        self._stopped = False
        self._gate = threading.Condition(threading.RLock())

    def shut(self, seconds: float) -> bool:
        """Shut it for so long [s] from now; whether that is longer than it was shut already."""
        with self._gate:
            opens = self._now() + seconds
            longer, self._opens = self._opens < opens, max(self._opens, opens)
        return longer

    def wait(self) -> None:
        """Return when it is open. Raises Stopped."""
        with self._gate:
            while (left := self._opens - self._now()) > 0 and not self._stopped:
                self._gate.wait(left)
        if self._stopped:
            raise Stopped("stopped while waiting for the service")

    def stop(self) -> None:
        """Nobody waits from now on."""
        self._stopped = True
        with self._gate:
            self._gate.notify_all()


class PatientClient(Client):
    """A client whose requests share one throttle: a Retry-After, or a wait after a failure, holds up all of them.

    wait_s: how long after its first failure [s] a request may be sent again. retries: how often it is, None for as
    often as wait_s allows. say: gets a line for each wait, and with ``verbose`` one for each request.
    """

    def __init__(
        self,
        base_url: str,
        *,
        wait_s: float,
        retries: int | None,
        say: Callable[[str], None],
        verbose: bool = False,
        **options: Any,
    ) -> None:
        super().__init__(base_url, retries=0, **options)
        times = MANY if retries is None else retries
        self._patience = Retry(times, first_wait_s=0.5, longest_wait_s=15.0, total_wait_s=wait_s)
        self._throttle = Throttle()
        self._say, self._verbose = say, verbose

    def send(self, call: Call) -> Reply:
        """Send one call, again where that helps, when the throttle lets it. Raises TransportError."""
        failed_at: float | None = None
        for repeat in count():
            self._throttle.wait()
            outcome, said = self._once(call)
            failed_at = failed_at or time.monotonic()
            asked_s = None
            if isinstance(outcome, Reply):
                asked_s = retry_after_s(outcome.header("Retry-After"), datetime.now(UTC))
            waited_s = time.monotonic() - failed_at  # for what others were asked to wait, too
            wait_s = self._patience.wait_s(repeat, waited_s, asked_s, random.random())  # noqa: S311
            if wait_s is None or not worth_repeating(outcome):
                if isinstance(outcome, Reply):
                    return outcome
                raise outcome
            if self._throttle.shut(wait_s):
                self._say(f"waiting {wait_s:.1f} s for the service ({said})")
        raise AssertionError("count() does not end")

    def _once(self, call: Call) -> tuple[Reply | TransportError, str]:
        """What came of sending it once, and that in a few words."""
        began = time.monotonic()
        outcome: Reply | TransportError
        try:
            reply = super().send(call)
            outcome, said = reply, f"status {reply.status}"
        except TransportError as error:
            outcome, said = error, str(error)
        if self._verbose:
            took, size = (time.monotonic() - began) * 1e3, len(call.body or b"")
            self._say(f"{call.method} {urlsplit(call.url).path} ({size:,} bytes): {said}, {took:.0f} ms")
        return outcome, said

    @contextmanager
    def interruptible(self) -> Iterator[None]:
        """While it lasts, Ctrl-C and SIGTERM end every wait at once; the latter raises Terminated."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return

        def interrupt(number: int, _: FrameType | None) -> None:
            self._throttle.stop()
            raise Terminated if number == signal.SIGTERM else KeyboardInterrupt

        before = {number: signal.signal(number, interrupt) for number in (signal.SIGINT, signal.SIGTERM)}
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)
