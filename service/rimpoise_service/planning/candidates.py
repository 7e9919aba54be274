"""What may go at one place of a layout: blocks of touching weights in stretches of directions.

The rules of the trade (common practice, no source), numbered as the code refers to them:
1. A clip-on's middle is at most 30° from the exact correction at its place; 45° where a keep-out lies between two.
2. Two clip-ons on a flange leave at most 30° of free lip between them; 60° where a keep-out lies in that gap.
3. A strip is at most 90° from the exact correction at its place.
4. Where the exact correction is no more than half of the smallest mass there, there is no direction to keep.
5. A spot more than 3° from the exact correction must be found and marked: that costs its minutes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ..model.stock import ClipOn
from ..physics.arrays import Complexes, Floats, Ints, Rows
from ..search.blocks import Blocks
from .effort import Effort
from .joint_model import PlaceErrors
from .placements import BlockSet, Circle

CLIP_LIMIT, CLIP_LIMIT_BESIDE = math.radians(30), math.radians(45)
FREE_LIP, FREE_LIP_BESIDE = math.radians(30), math.radians(60)
STRIP_LIMIT = math.radians(90)
CALLED_SPOT = math.radians(3)
"""Rules 1, 1, 2, 2, 3 and 5 [rad]."""

ROUNDING_RAD = 1e-9

SAME_DECIMALS = 9
"""What differs by less than this many decimals is the same: which comes first must not hang on rounding."""


def in_order(keys: Floats) -> Ints:
    """Indices from the least key on; what is the same but for rounding keeps its order."""
    return np.argsort(np.round(keys, SAME_DECIMALS), kind="stable")


@dataclass(frozen=True)
class Stretches(Rows):
    """Equal-length arrays, one entry for each block in one stretch of directions with one cost.

    block: its index among the place's blocks; low, high: directions of its vector from the exact correction's
    [rad]; handling [min], marks included; arc: which free stretch of the circle it lies in; centre, reach: the
    smallest disc about what it does there, from the direction of the exact correction on [g·mm].
    """

    block: Ints
    low: Floats
    high: Floats
    handling: Floats
    arc: Ints
    centre: Complexes
    reach: Floats


@dataclass(frozen=True)
class Combinations(Rows):
    """Several blocks at one place, each in a stretch: arrays (n, blocks), and what they cost and take together.

    handling [min], mass [g]: (n,); usage: (n, shelves) of the shelves that may run out; lip: the most that may be
    free between neighbours [rad], (n,); centre, reach: of the discs of their stretches added up [g·mm], (n,).
    """

    block: Ints
    low: Floats
    high: Floats
    handling: Floats
    mass: Floats
    usage: Ints
    lip: Floats
    centre: Complexes
    reach: Floats


class Shape(NamedTuple):
    """How many blocks at a place; ``touching``: one block of several weights, not of one."""

    blocks: int
    touching: bool = False


@dataclass(frozen=True)
class PlaceCandidates:
    """All that may go at one place of a layout.

    circle: its stock and its free arcs; required: the exact correction [g·mm], turned back by ``frame`` [rad] and
    then, if ``mirrored``, reflected at 0; scarce: shelves that may run out; any_direction: strips need keep no
    direction (rule 3); keeps_direction: rule 4 does not hold, for half of a static correction must not fight the
    other half. What ``shape_candidates`` found is kept, for blocks of one weight each and for all: stretches, also
    beside a keep-out; one block of a shape alone, and how far from the exact correction [g·mm]; uses of scarce
    shelves.
    """

    circle: Circle
    required: complex
    clip_ons: bool
    errors: PlaceErrors
    effort: Effort
    frame: float = 0.0
    mirrored: bool = False
    scarce: tuple[str, ...] = ()
    any_direction: bool = False
    keeps_direction: bool = False
    found: dict[tuple[bool, bool], Stretches] = field(default_factory=dict, init=False, compare=False)
    found_alone: dict[Shape, tuple[Combinations, Floats]] = field(default_factory=dict, init=False, compare=False)
    uses: dict[bool, Ints] = field(default_factory=dict, init=False, compare=False)

    @cached_property
    def smallest_g(self) -> float:
        """The smallest mass that may go there [g]."""
        return min(i.mass_g if isinstance(i, ClipOn) else i.segment_mass_g for i in self.circle.items)

    @cached_property
    def largest(self) -> float:
        """No filling does more than this there [g·mm]."""
        items = self.circle.items
        most_g = max(i.mass_g if isinstance(i, ClipOn) else i.segment_mass_g * i.max_segments for i in items)
        return most_g * self.circle.radius_mm * self.circle.max_pieces

    @property
    def has_direction(self) -> bool:
        """Whether the exact correction is large enough to have one that pieces keep (rule 4)."""
        return abs(self.required) > self.smallest_g * self.circle.radius_mm / 2

    @cached_property
    def towards(self) -> float:
        """The exact correction's direction [rad]."""
        return math.atan2(self.required.imag, self.required.real)

    @cached_property
    def shapes(self) -> list[Shape]:
        """What may be there, from the least pieces on."""
        most = self.circle.max_pieces
        return [Shape(1), *([Shape(1, touching=True)] if most > 1 else []), *map(Shape, range(2, most + 1))]

    def block_set(self, shape: Shape) -> BlockSet:
        """The blocks that a shape is made of."""
        return self.circle.single_blocks if shape == Shape(1) else self.circle.all_blocks

    def blocks(self, shape: Shape) -> Blocks:
        """The same as arrays."""
        return self.block_set(shape).blocks

    def least_handling(self, shape: Shape) -> float:
        """Fitting a shape takes at least so long [min]."""
        pieces = max(shape.blocks, 2 if shape.touching else 1)
        return self.effort.fitting(pieces, shape.blocks, clip_on=self.clip_ons)

    def distance(self, found: Combinations) -> Floats:
        """How far from the exact correction combinations stay at the least [g·mm]."""
        return np.asarray(np.maximum(np.abs(found.centre - abs(self.required)) - found.reach, 0.0))

    def spread(self, shape: Shape, found: Combinations) -> Floats:
        """What combinations add to what is left by errors of angle and mass: standard deviations [g·mm]."""
        squares = self.blocks(shape).squares[found.block].sum(axis=1)
        return np.asarray(np.sqrt((self.errors.angle_var + self.errors.mass_var) * squares))
