"""How far it is, at what rate, and how long it will still take."""

from __future__ import annotations

from types import TracebackType
from typing import Never, Self

from tqdm import tqdm


class Progress:
    """A bar on standard error, if that is a terminal; what an earlier run did does not count for the rate."""

    def __init__(self, total: int, *, quiet: bool = False) -> None:
        self._total, self._quiet = total, quiet
        self._bar: tqdm[Never] | None = None
        self._done = 0

    def __call__(self, done: int) -> None:
        """So many are done; the first time it is how many were done before."""
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
