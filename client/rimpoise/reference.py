"""What the service knows by itself: its generic stock, rim sizes, and what its codes say."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Guidance:
    """What a code says, what kind of remark it is, and where that comes from."""

    code: str
    kind: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Reference:
    """The service's tables."""

    guidance: tuple[Guidance, ...]
