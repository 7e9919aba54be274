"""Whether weights touch, end to end on one place."""

from __future__ import annotations

import math
from typing import Protocol

TOUCH_MM = 2.0
"""Weights whose ends are no further apart than this are fitted end to end [mm]; common practice, no source."""


class Covering(Protocol):
    """What covers a part of a circle: place, its middle [deg], what it covers [deg], radius [mm]."""

    @property
    def place(self) -> str: ...
    @property
    def angle_deg(self) -> float: ...
    @property
    def arc_deg(self) -> float: ...
    @property
    def radius_mm(self) -> float: ...


def follows(one: Covering, other: Covering) -> bool:
    """Whether the other begins where one ends, clockwise; not where a length is unknown."""
    if one is other or one.place != other.place or not (one.arc_deg and other.arc_deg):
        return False
    gap = math.remainder(other.angle_deg - one.angle_deg - (one.arc_deg + other.arc_deg) / 2, 360)
    return abs(math.radians(gap)) * one.radius_mm <= TOUCH_MM
