"""Progress: how much is done, at what rate, and how long the rest will take."""

from __future__ import annotations

from types import TracebackType
from typing import Never, Self

from tqdm import tqdm


class Progress:
    """A bar on standard error, if that is a terminal; the rate leaves out what an earlier run did."""

    def __init__(self, total: int, *, quiet: bool = False) -> None:
        self._total, self._quiet = total, quiet
        self._bar: tqdm[Never] | None = None
        self._done = 0

    def __call__(self, done: int) -> None:
        """Show the number done; the first call gives the number done by an earlier run."""
        if self._bar is None:
            hidden = True if self._quiet else None  # None: hidden where there is no terminal
            self._bar = tqdm(total=self._total, initial=done, unit=" wheels", disable=hidden)
        else:
            self._bar.update(done - self._done)
        self._done = done

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bar is not None:
            self._bar.close()
