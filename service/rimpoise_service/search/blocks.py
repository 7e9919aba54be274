"""Blocks: weights that touch and move round the wheel as one, as the search sees them.

A block is a vector of fixed size whose direction may be anywhere in an interval; ``block_catalogue`` makes them
of stock.
"""

from __future__ import annotations

import cmath
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..model.arcs import Arc
from ..model.stock import ClipOn, Strip
from ..physics.arrays import Complexes, Floats, Ints, Rows

ROUNDING_RAD = 1e-12
"""A weight exactly as long as its window fits it [rad]."""


@dataclass(frozen=True)
class Blocks(Rows):
    """Equal-length arrays, one entry per block.

    size [g·mm]; centre, slack: its interval of directions [rad]; behind, ahead: what it covers on either
    side of its direction [rad]; pieces; mass [g]; kind, used, on_hand: stock taken of which shelf. squares,
    squares_turned: Σ|v|² and Σv² of its pieces' vectors, its own direction as 0 [g²·mm²]; first_middle,
    last_middle: where the middles of its outermost pieces are from its direction [rad].
    """

    size: Floats
    centre: Floats
    slack: Floats
    behind: Floats
    ahead: Floats
    pieces: Ints
    mass: Floats
    kind: Ints
    used: Ints
    on_hand: Floats
    squares: Floats
    squares_turned: Complexes
    first_middle: Floats
    last_middle: Floats

    @cached_property
    def disc_centre(self) -> Complexes:
        """Centre of the smallest circle about each arc of vectors [g·mm]."""
        disc_centre: Complexes = self.size * np.cos(np.minimum(self.slack, np.pi / 2)) * np.exp(1j * self.centre)
        return disc_centre

    @cached_property
    def disc_radius(self) -> Floats:
        """Radius of that circle [g·mm]."""
        disc_radius: Floats = self.size * np.sin(np.minimum(self.slack, np.pi / 2))
        return disc_radius


@dataclass(frozen=True, slots=True)
class FittedWeight:
    """One weight of a block as it is fitted: segments of a strip (None for a clip-on), where, how long.

    angle and half_arc [rad]; size [g·mm] is what it does, its arc included; radius_mm [mm] of its mass centre.
    """

    item: ClipOn | Strip
    segments: int | None
    mass_g: float
    radius_mm: float
    size: float
    angle: float
    half_arc: float
    window: str | None

    @property
    def length_mm(self) -> float | None:
        """Its length [mm], None for a clip-on of unknown length."""
        return (
            self.item.length_mm
            if isinstance(self.item, ClipOn)
            else self.item.segment_length_mm * (self.segments or 0)
        )

    @property
    def vector(self) -> complex:
        """What it adds to its plane [g·mm]."""
        return cmath.rect(self.size, self.angle)


def in_windows(shapes: Blocks, arcs: Sequence[Arc]) -> tuple[Ints, Ints, Blocks]:
    """Each shape in each window that it fits into: the window's index, the shape's index, the blocks."""
    spans = np.radians([(arc.start_deg, arc.width_deg, arc.endless) for arc in arcs]).reshape(len(arcs), 3)
    start, width, endless = spans[:, :1], spans[:, 1:2], spans[:, 2:] > 0
    slack = (width - shapes.behind - shapes.ahead) / 2
    window, shape = (slack >= -ROUNDING_RAD).nonzero()
    centre = (start + (width + shapes.behind - shapes.ahead) / 2)[window, shape]
    free = np.where(endless, np.pi, np.maximum(slack, 0.0))[window, shape]
    _, _, _, *others = (column[shape] for column in shapes.columns)
    return window, shape, Blocks(shapes.size[shape], centre, free, *others)
