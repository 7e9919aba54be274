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
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ..search.blocks import Blocks
from .effort import Effort
from .joint_model import Bools, Complexes, Floats, Ints, PlaceErrors
from .placements import BlockSet, Circle

CLIP_LIMIT, CLIP_LIMIT_BESIDE = math.radians(30), math.radians(45)
FREE_LIP, FREE_LIP_BESIDE = math.radians(30), math.radians(60)
STRIP_LIMIT = math.radians(90)
CALLED_SPOT = math.radians(3)
"""Rules 1, 1, 2, 2, 3 and 5 [rad]."""

ROUNDING_RAD = 1e-9
JOINED_AT_ONCE, MAX_JOINED = 100_000, 3_000_000
"""Pairs of halves that are weighed in one go, and in all at one place; past that nothing is proven."""


@dataclass(frozen=True)
class Stretches:
    """Equal-length arrays, one entry for each block in one stretch of directions with one cost.

    block: its index among the place's blocks; low, high: directions of its vector from the exact correction's
    [rad]; handling [min], marks included; arc: which free stretch of the circle it lies in.
    """

    block: Ints
    low: Floats
    high: Floats
    handling: Floats
    arc: Ints

    def __len__(self) -> int:
        return len(self.block)

    def __getitem__(self, index: Ints | Bools) -> Stretches:
        return Stretches(
            self.block[index], self.low[index], self.high[index], self.handling[index], self.arc[index]
        )


@dataclass(frozen=True)
class Combinations:
    """Several blocks at one place, each in a stretch: arrays (n, blocks), and what they cost and take together.

    handling [min], mass [g]: (n,); usage: (n, shelves) of the shelves that may run out; lip: the most that may be
    free between neighbours [rad], (n,).
    """

    block: Ints
    low: Floats
    high: Floats
    handling: Floats
    mass: Floats
    usage: Ints
    lip: Floats

    def __len__(self) -> int:
        return len(self.block)

    def __getitem__(self, index: Ints | Bools) -> Combinations:
        return Combinations(
            self.block[index],
            self.low[index],
            self.high[index],
            self.handling[index],
            self.mass[index],
            self.usage[index],
            self.lip[index],
        )


class Shape(NamedTuple):
    """How many blocks at a place; ``touching``: one block of several weights, not of one."""

    blocks: int
    touching: bool = False


@dataclass(frozen=True)
class PlaceCandidates:
    """All that may go at one place of a layout.

    circle: its stock and its free arcs; required: the exact correction [g·mm], turned back by ``frame`` [rad];
    scarce: shelves that may run out; any_direction: strips need keep no direction (rule 3).
    """

    circle: Circle
    required: complex
    clip_ons: bool
    errors: PlaceErrors
    effort: Effort
    frame: float = 0.0
    scarce: tuple[str, ...] = ()
    any_direction: bool = False

    @property
    def smallest_g(self) -> float:
        """The smallest mass that may go there [g]."""
        return float(self.blocks(Shape(1)).mass.min(initial=math.inf))

    @property
    def towards(self) -> float:
        """The exact correction's direction [rad]."""
        return math.atan2(self.required.imag, self.required.real)

    @property
    def shapes(self) -> list[Shape]:
        """What may be there, from the least pieces on."""
        most = self.circle.max_pieces
        return [Shape(1), *([Shape(1, touching=True)] if most > 1 else []), *map(Shape, range(2, most + 1))]

    def block_set(self, shape: Shape) -> BlockSet:
        """The blocks that a shape is made of."""
        return self.circle.blocks[1 if shape == Shape(1) else self.circle.max_pieces]

    def blocks(self, shape: Shape) -> Blocks:
        """The same as arrays."""
        return self.block_set(shape).blocks

    def least_handling(self, shape: Shape) -> float:
        """Fitting a shape takes at least so long [min]."""
        pieces, per = max(shape.blocks, 2 if shape.touching else 1), self.effort
        return pieces * per.clip_on_min if self.clip_ons else pieces * per.strip_min + shape.blocks * per.clean_min

    def combinations(self, shape: Shape, room: float) -> tuple[Combinations, bool]:
        """Those of a shape that may come within ``room`` [g·mm] of the exact correction; whether that is all."""
        return _ShapeCandidates(self, shape).within(room)

    def distance(self, shape: Shape, found: Combinations) -> Floats:
        """How far from the exact correction combinations stay at the least [g·mm]."""
        size = self.blocks(shape).size[found.block]
        half = np.minimum((found.high - found.low) / 2, math.pi / 2)
        centre = (size * np.cos(half) * np.exp(0.5j * (found.high + found.low))).sum(axis=1)
        return np.asarray(np.maximum(np.abs(centre - abs(self.required)) - (size * np.sin(half)).sum(axis=1), 0.0))


class _ShapeCandidates:
    """One shape at one place: its stretches, and how they combine."""

    def __init__(self, place: PlaceCandidates, shape: Shape) -> None:
        self.place, self.shape, self.set = place, shape, place.block_set(shape)
        self.blocks, self.option, self.max_pieces = self.set.blocks, self.set.option, place.circle.max_pieces
        self.free = abs(place.required) <= place.smallest_g * place.circle.radius_mm / 2  # rule 4

    def stretches(self, *, beside: bool = False) -> Stretches:
        """Every block in every stretch of directions that the rules allow; ``beside`` a keep-out (rule 1)."""
        blocks = self.blocks
        low_limit, high_limit = self._limits(beside=beside)
        if not len(blocks):
            nothing = np.empty(0)
            return Stretches(np.empty(0, np.intp), nothing, nothing, nothing, np.empty(0, np.intp))
        endless = blocks.slack >= math.pi
        towards = self.place.towards + self.place.frame
        centre = np.remainder(blocks.centre - towards + math.pi, 2 * math.pi) - math.pi
        parts = []
        for turn in (-1, 0, 1):
            begins = np.where(endless, -np.inf, centre - blocks.slack + 2 * math.pi * turn)
            ends = np.where(endless, np.inf, centre + blocks.slack + 2 * math.pi * turn)
            low, high = np.maximum(begins, low_limit), np.minimum(ends, high_limit)
            inside = (high >= low - ROUNDING_RAD) & (~endless | (turn == 0))
            (at,) = inside.nonzero()
            parts.append((at, low[at], np.maximum(high, low)[at], 3 * self.set.window[at] + turn + 1))
        block, low, high, arc = (np.concatenate(column) for column in zip(*parts, strict=True))
        return self._by_cost(block, low, high, arc)

    def _limits(self, *, beside: bool) -> tuple[Floats, Floats]:
        """Between which directions each block may point, so that every piece's middle may be there."""
        blocks = self.blocks
        if self.free or (self.place.any_direction and not self.place.clip_ons):
            return np.full(len(blocks), -math.pi), np.full(len(blocks), math.pi)
        limit = (CLIP_LIMIT_BESIDE if beside else CLIP_LIMIT) if self.place.clip_ons else STRIP_LIMIT
        return -limit - blocks.first_middle, limit - blocks.last_middle

    def _by_cost(self, block: Ints, low: Floats, high: Floats, arc: Ints) -> Stretches:
        """Cut where the spot is no longer the called one (rule 5)."""
        pieces, per = self.blocks.pieces[block], self.place.effort
        fit = pieces * per.clip_on_min if self.place.clip_ons else pieces * per.strip_min + per.clean_min
        found = []
        for begin, end, mark in (
            (-math.inf, -CALLED_SPOT, per.mark_min),
            (-CALLED_SPOT, CALLED_SPOT, 0.0),
            (CALLED_SPOT, math.inf, per.mark_min),
        ):
            lower, upper = np.maximum(low, begin), np.minimum(high, end)
            (at,) = ((upper > lower) | ((upper == lower) & ((mark == 0) | (low == high)))).nonzero()
            found.append((block[at], lower[at], upper[at], fit[at] + mark, arc[at]))
        return Stretches(*(np.concatenate(column) for column in zip(*found, strict=True)))

    def within(self, room: float) -> tuple[Combinations, bool]:
        """Those that may come within ``room`` [g·mm] of the exact correction; and whether these are all."""
        count = self.shape.blocks
        if count == 1:
            stretches = self.stretches()
            if self.shape.touching:
                stretches = stretches[self.blocks.pieces[stretches.block] > 1]
            found = self._together(stretches, None)
            kept = (self.place.distance(self.shape, found) <= room) & (
                self.blocks.pieces[found.block[:, 0]] <= self.max_pieces
            )
            return found[kept], True
        parts, complete = [], True
        for stretches, beside in self._neighbours():
            left, right = (self._rows(stretches, n, beside=beside) for n in (count // 2, count - count // 2))
            rows, all_there = self._join(stretches, left, right, room)
            rows = rows[self._may_be(stretches, rows, count // 2, beside=beside)]
            parts.append(self._together(stretches, rows, lip=_lip(beside)))
            complete &= all_there
        return _joined(parts), complete

    def _neighbours(self) -> Iterator[tuple[Stretches, bool | None]]:
        """Stretches for several blocks: clip-ons in one free arc, or beside a keep-out; strips anywhere."""
        if not self.place.clip_ons:
            yield self.stretches(), None
            return
        yield self.stretches(), False
        if not (self.blocks.slack >= math.pi).all():
            yield self.stretches(beside=True), True

    def _rows(self, stretches: Stretches, count: int, *, beside: bool | None) -> Ints:
        """All rows of one or two stretches that may be together."""
        every = np.arange(len(stretches))
        if count == 1:
            return every[:, None]
        rows = np.stack([np.repeat(every, len(every)), np.tile(every, len(every))], axis=1)
        return rows[self._may_be(stretches, rows, 1, beside=beside)]

    def _may_be(self, stretches: Stretches, rows: Ints, join: int, *, beside: bool | None) -> Bools:
        """Whether rows are of one stock, not too many, with room between the blocks beside a join."""
        i, j = rows[:, join - 1], rows[:, join]
        a, b, blocks = stretches.block[i], stretches.block[j], self.blocks
        widest = (stretches.high[j] - blocks.behind[b]) - (stretches.low[i] + blocks.ahead[a])
        fits = (self.option[a] == self.option[b]) & (widest >= -ROUNDING_RAD)
        fits &= blocks.pieces[stretches.block[rows]].sum(axis=1) <= self.max_pieces
        if beside is not None:
            narrowest = (stretches.low[j] - blocks.behind[b]) - (stretches.high[i] + blocks.ahead[a])
            same_arc = stretches.arc[i] == stretches.arc[j]
            fits &= (same_arc != beside) & (narrowest <= _lip(beside) + ROUNDING_RAD)
        return np.asarray(fits)

    def _join(self, stretches: Stretches, left: Ints, right: Ints, room: float) -> tuple[Ints, bool]:
        """Rows of two halves whose discs come within room of the exact correction, in bounded number."""
        target, (centre, reach) = abs(self.place.required), self._discs(stretches)
        wanted, have = target - centre[left].sum(axis=1), centre[right].sum(axis=1)
        reach_left, reach_right = reach[left].sum(axis=1), reach[right].sum(axis=1)
        tolerance = room + reach_left + reach_right.max(initial=0.0)
        by_real = np.argsort(have.real, kind="stable")
        first = np.searchsorted(have.real, wanted.real - tolerance, "left", by_real)
        counts = np.searchsorted(have.real, wanted.real + tolerance, "right", by_real) - first
        rows, taken = [np.empty((0, left.shape[1] + right.shape[1]), dtype=np.intp)], 0
        for block in _blocks_of(counts):
            begins = np.cumsum(counts[block]) - counts[block]
            i = np.repeat(block, counts[block])
            j = by_real[np.arange(len(i)) + np.repeat(first[block] - begins, counts[block])]
            close = np.abs(wanted[i] - have[j]) - reach_left[i] - reach_right[j] <= room
            rows.append(np.concatenate([left[i[close]], right[j[close]]], axis=1))
            taken += len(i)
            if taken > MAX_JOINED:
                return np.concatenate(rows), False
        return np.concatenate(rows), True

    def _discs(self, stretches: Stretches) -> tuple[Complexes, Floats]:
        """The smallest disc about what each block can do: centre, from the exact correction's direction, and radius."""
        half = np.minimum((stretches.high - stretches.low) / 2, math.pi / 2)
        size = self.blocks.size[stretches.block]
        return size * np.cos(half) * np.exp(0.5j * (stretches.high + stretches.low)), size * np.sin(half)

    def _together(self, stretches: Stretches, rows: Ints | None, lip: float = math.inf) -> Combinations:
        rows = np.arange(len(stretches))[:, None] if rows is None else rows
        block = stretches.block[rows]
        return Combinations(
            block=block,
            low=stretches.low[rows],
            high=stretches.high[rows],
            handling=stretches.handling[rows].sum(axis=1),
            mass=self.blocks.mass[block].sum(axis=1),
            usage=self.set.usage(self.place.scarce)[block].sum(axis=1),
            lip=np.full(len(rows), lip),
        )


def _lip(beside: bool | None) -> float:
    """The most free lip between two clip-ons, in one free arc or beside a keep-out (rule 2); strips have none."""
    return math.inf if beside is None else FREE_LIP_BESIDE if beside else FREE_LIP


def _joined(parts: Sequence[Combinations]) -> Combinations:
    names = ("block", "low", "high", "handling", "mass", "usage", "lip")
    return Combinations(*(np.concatenate([getattr(p, name) for p in parts]) for name in names))


def _blocks_of(counts: Ints) -> Iterator[Ints]:
    """Consecutive indices in blocks whose counts add up to about JOINED_AT_ONCE."""
    ends = np.cumsum(counts)
    start = 0
    while start < len(counts):
        done = ends[start - 1] if start else 0
        stop = max(start + 1, int(np.searchsorted(ends, done + JOINED_AT_ONCE, "right")))
        yield np.arange(start, stop)
        start = stop
