"""A clock that only a test moves."""

from __future__ import annotations


class Clock:
    """In the place of ``time.monotonic``."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now
