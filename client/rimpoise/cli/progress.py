"""Progress: how much is done, at what rate, and how long the rest will take."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from types import TracebackType
from typing import Any, Never, Self

from tqdm import tqdm

from .cells import say
from .phrases import Phrases

EVERY_S = 10.0
ENGLISH = Phrases()


class Progress:
    """On standard error: a bar if that is a terminal, else a line every ten seconds, for a log.

    The rate leaves out what an earlier run did.
    """

    def __init__(
        self,
        total: int,
        *,
        quiet: bool = False,
        words: Phrases = ENGLISH,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._total, self._quiet, self._words, self._now = total, quiet, words, now
        self._bar: tqdm[Never] | None = None
        self._done = self._before = 0
        self._began: float | None = None
        self._next_line = 0.0

    @property
    def so_far(self) -> dict[str, Any]:
        """How many are done, of how many."""
        return self.at(self._done)

    def at(self, done: int) -> dict[str, Any]:
        """So many done, of how many."""
        return {"done": self._words.count(done), "total": self._words.count(self._total)}

    def __call__(self, done: int) -> None:
        """Show the number done; the first call gives the number done by an earlier run."""
        if self._began is None:
            self._begin(done)
        elif self._bar is not None:
            self._bar.update(done - self._done)
        elif not self._quiet and self._now() >= self._next_line:
            self._next_line = self._now() + EVERY_S
            self._done = done
            say(self._line(), err=True)
        self._done = done

    def _begin(self, done: int) -> None:
        self._began, self._before = self._now(), done
        self._next_line = self._began + EVERY_S
        if not self._quiet and sys.stderr.isatty():
            self._bar = tqdm(total=self._total, initial=done, unit=f" {self._words('wheels')}")

    def _line(self) -> str:
        took = max(self._now() - (self._began or 0.0), 1e-9)
        rate = (self._done - self._before) / took
        said = self._words("progress", **self.so_far, rate=f"{rate:.0f}")
        if not rate or self._done == self._total:
            return said
        return said + self._words("time_left", time=self._words.decimal(_time((self._total - self._done) / rate)))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar is not None:
            self._bar.close()


def _time(seconds: float) -> str:
    """In the unit that suits.

    >>> [_time(s) for s in (12, 200, 9000)]
    ['12 s', '3 min', '2.5 h']
    """
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5400 else f"{seconds / 3600:.1f} h"
