"""How stock becomes blocks.

Strips: n segments in a row, cut into as few pieces as the strip allows. Clip-ons: one, or two side by side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..model.arcs import Arc
from ..model.stock import ClipOn, Strip
from ..physics.arrays import Floats, Ints
from ..physics.distributed_mass import arc_factor, arc_factors, half_arc_rad, strip_radius_mm
from .blocks import Blocks, FittedWeight, in_windows

NO_SECOND = -1
"""In place of an index: the block is one clip-on."""

ASSUMED_CLIP_MM = 25.0
"""Room for a clip-on of unknown length [mm]; common practice, no source."""

MAX_PAIRS = 300_000
"""Pairs of touching clip-ons at one place; where stock and windows make more, none is formed."""


@dataclass(frozen=True, slots=True)
class StripOptions:
    """Blocks of one strip on a land of that radius [mm]: the window and the segments of each."""

    strip: Strip
    land_radius_mm: float
    arcs: tuple[Arc, ...]
    window: Ints
    segments: Ints
    blocks: Blocks

    @classmethod
    def on_land(cls, strip: Strip, land_radius_mm: float, arcs: Sequence[Arc], max_pieces: int) -> StripOptions:
        """Every number of segments that fits each window, in up to that many touching pieces."""
        on_hand = math.inf if strip.on_hand is None else strip.on_hand
        # No more than the widest window holds: what is longer need not be formed at all.
        widest = math.radians(max((arc.width_deg for arc in arcs), default=0.0))
        holds = widest / (2 * half_arc_rad(strip.segment_length_mm, land_radius_mm)) + 1
        holds = holds if strip.thickness_mm < land_radius_mm else 0  # thicker than the barrel is deep
        segments = np.arange(1, 1 + int(min(strip.max_segments * max_pieces, on_hand, holds)))
        half: Floats = half_arc_rad(strip.segment_length_mm, land_radius_mm) * segments.astype(np.float64)
        mass: Floats = strip.segment_mass_g * segments.astype(np.float64)
        nothing = np.zeros_like(half)
        shapes = Blocks(
            size=mass * strip_radius_mm(land_radius_mm, strip.thickness_mm) * arc_factors(half),
            centre=nothing,
            slack=nothing,
            behind=half,
            ahead=half,
            pieces=-(-segments // strip.max_segments),
            mass=mass,
            kind=np.zeros_like(segments),
            used=segments,
            on_hand=nothing + on_hand,
            **_cut(segments, strip, land_radius_mm),
        )
        window, shape, blocks = in_windows(shapes, arcs)
        return cls(strip, land_radius_mm, tuple(arcs), window, segments[shape], blocks)

    def units(self, block: int, angle: float) -> list[FittedWeight]:
        """The block cut into nearly equal pieces, the longer ones first."""
        strip, pieces = self.strip, int(self.blocks.pieces[block])
        shorter, longer_ones = divmod(int(self.segments[block]), pieces)
        radius = strip_radius_mm(self.land_radius_mm, strip.thickness_mm)
        begin, cut = angle - float(self.blocks.behind[block]), []
        for n in [shorter + 1] * longer_ones + [shorter] * (pieces - longer_ones):
            half = half_arc_rad(strip.segment_length_mm * n, self.land_radius_mm)
            mass = n * strip.segment_mass_g
            size = mass * radius * arc_factor(half)
            cut.append(
                FittedWeight(strip, n, mass, radius, size, begin + half, half, self.arcs[self.window[block]].name)
            )
            begin += 2 * half
        return cut

    def usage(self, skus: Sequence[str]) -> Ints:
        """Segments of each of the shelves that each block takes, (n, shelves)."""
        return np.outer(self.segments, np.array([sku == self.strip.sku for sku in skus], dtype=np.intp))


@dataclass(frozen=True, slots=True)
class ClipOptions:
    """Blocks of clip-ons on a flange of that radius [mm]: one, or two side by side, the first before the second.

    More than two clip-ons on one flange are not offered (common practice, no source).
    """

    clips: tuple[ClipOn, ...]
    radius_mm: float
    arcs: tuple[Arc, ...]
    window: Ints
    first: Ints
    second: Ints
    blocks: Blocks

    @classmethod
    def on_flange(
        cls, clips: Sequence[ClipOn], radius_mm: float, arcs: Sequence[Arc], max_pieces: int
    ) -> ClipOptions:
        """Every clip-on, and every pair that touches, in each window of the flange.

        A clip-on of unknown length acts as a point, and is given the room of ASSUMED_CLIP_MM.
        """
        room = np.array([_room_rad(c, radius_mm) for c in clips])
        mass = np.array([c.mass_g for c in clips], dtype=np.float64)
        size = np.array([_effective_gmm(c, radius_mm) for c in clips])
        on_hand = np.array([math.inf if c.on_hand is None else c.on_hand for c in clips])
        first = np.flatnonzero(on_hand >= 1)
        second, one, nothing = np.full_like(first, NO_SECOND), np.ones_like(first), np.zeros(len(first))
        behind, mass_1, size_1 = room[first], mass[first], size[first]
        alone = (size_1**2, size_1**2 + 0j, nothing, nothing)
        shapes = Blocks(size_1, nothing, nothing, behind, behind, one, mass_1, first, one, on_hand[first], *alone)
        if max_pieces > 1 and len(clips) ** 2 * len(arcs) <= MAX_PAIRS:
            i, j = _pairs(first, on_hand)
            shapes = shapes.and_more(_side_by_side(i, j, size, room, mass, on_hand))
            first, second = np.append(first, i), np.append(second, j)
        window, shape, blocks = in_windows(shapes, arcs)
        return cls(tuple(clips), radius_mm, tuple(arcs), window, first[shape], second[shape], blocks)

    def units(self, block: int, angle: float) -> list[FittedWeight]:
        """The clip-ons one after the other, clockwise."""
        begin, clipped = angle - float(self.blocks.behind[block]), []
        for index in (int(self.first[block]), int(self.second[block])):
            if index == NO_SECOND:
                continue
            clip = self.clips[index]
            half, room = half_arc_rad(clip.length_mm or 0.0, self.radius_mm), _room_rad(clip, self.radius_mm)
            size = _effective_gmm(clip, self.radius_mm)
            name = self.arcs[self.window[block]].name
            clipped.append(FittedWeight(clip, None, clip.mass_g, self.radius_mm, size, begin + room, half, name))
            begin += 2 * room
        return clipped

    def usage(self, skus: Sequence[str]) -> Ints:
        """Clip-ons of each of the shelves that each block takes, (n, shelves)."""
        shelf = {sku: n for n, sku in enumerate(skus)}
        counted = np.zeros((len(self.clips) + 1, len(skus)), dtype=np.intp)
        for index, clip in enumerate(self.clips):
            if clip.sku in shelf:
                counted[index, shelf[clip.sku]] = 1
        return counted[self.first] + counted[self.second]


def _effective_gmm(clip: ClipOn, radius_mm: float) -> float:
    """What a clip-on does, its arc included [g·mm]."""
    return clip.mass_g * radius_mm * arc_factor(half_arc_rad(clip.length_mm or 0.0, radius_mm))


def _room_rad(clip: ClipOn, radius_mm: float) -> float:
    """Half the angle that a clip-on needs to itself [rad]."""
    return half_arc_rad(clip.length_mm or ASSUMED_CLIP_MM, radius_mm)


def _cut(segments: Ints, strip: Strip, land_radius_mm: float) -> dict[str, Any]:
    """What the pieces of so many segments in a row are, cut into nearly equal ones, the longer ones first."""
    radius, pieces = strip_radius_mm(land_radius_mm, strip.thickness_mm), -(-segments // strip.max_segments)
    shorter, longer = np.divmod(segments, pieces)
    one = half_arc_rad(strip.segment_length_mm, land_radius_mm)
    begin, squares, turned = (
        -one * segments.astype(float),
        np.zeros(len(segments)),
        np.zeros(len(segments), complex),
    )
    first, last = begin.copy(), begin.copy()
    for piece in range(int(pieces.max(initial=0))):
        length = np.where(piece < pieces, shorter + (piece < longer), 0)
        half = one * length
        middle = begin + half
        begin = middle + half
        square = (length * strip.segment_mass_g * radius * arc_factors(half)) ** 2
        squares += square
        turned += square * np.exp(2j * middle)
        first = middle if piece == 0 else first
        last = np.where(piece < pieces, middle, last)
    return {"squares": squares, "squares_turned": turned, "first_middle": first, "last_middle": last}


def _pairs(clips: Ints, on_hand: Floats) -> tuple[Ints, Ints]:
    """Indices of each two of these clip-ons that the shelf has, in both orders."""
    i, j = np.repeat(clips, len(clips)), np.tile(clips, len(clips))
    chosen = (i != j) | (on_hand[i] >= 2)
    return i[chosen], j[chosen]


def _side_by_side(i: Ints, j: Ints, size: Floats, room: Floats, mass: Floats, on_hand: Floats) -> Blocks:
    """Pairs that touch, the first before the second, clockwise."""
    vector = size[i] * np.exp(1j * room[i]) + size[j] * np.exp(1j * (2 * room[i] + room[j]))
    behind = np.angle(vector)
    first, last = room[i] - behind, 2 * room[i] + room[j] - behind
    nothing, one = np.zeros_like(behind), np.ones_like(i)
    return Blocks(
        size=np.abs(vector),
        centre=nothing,
        slack=nothing,
        behind=behind,
        ahead=2 * (room[i] + room[j]) - behind,
        pieces=2 * one,
        mass=mass[i] + mass[j],
        kind=i,
        used=one,
        on_hand=on_hand[i],
        squares=size[i] ** 2 + size[j] ** 2,
        squares_turned=size[i] ** 2 * np.exp(2j * first) + size[j] ** 2 * np.exp(2j * last),
        first_middle=first,
        last_middle=last,
    )
