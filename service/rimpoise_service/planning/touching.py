"""Weights that touch, end to end on one place."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Protocol, TypeVar

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


C = TypeVar("C", bound=Covering)


def follows(one: Covering, other: Covering) -> bool:
    """Whether the other begins where one ends, clockwise; not where a length is unknown."""
    if one is other or one.place != other.place or not (one.arc_deg and other.arc_deg):
        return False
    gap = math.remainder(other.angle_deg - one.angle_deg - (one.arc_deg + other.arc_deg) / 2, 360)
    return abs(math.radians(gap)) * one.radius_mm <= TOUCH_MM


def in_blocks(weights: Sequence[C], follow: Callable[[C, C], bool] = follows) -> list[list[int]]:
    """Weights that touch as one block each, by their indices: clockwise in a block, blocks by their least index.

    follow: whether the second begins where the first ends. A block that closes the circle begins at the mark.
    """
    blocks: list[list[int]] = []
    for place in dict.fromkeys(w.place for w in weights):
        here = [k for k, w in enumerate(weights) if w.place == place]
        here.sort(key=lambda k: weights[k].angle_deg)
        starts = [i for i in range(len(here)) if not follow(weights[here[i - 1]], weights[here[i]])] or [0]
        here, ends = here[starts[0] :] + here[: starts[0]], [i - starts[0] for i in starts] + [len(here)]
        blocks += [here[start:end] for start, end in pairwise(ends)]
    return sorted(blocks, key=min)
