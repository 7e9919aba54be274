"""One shape at one place: the stretches of directions of its blocks, and how they combine within a room."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import reduce
from typing import Any

import numpy as np

from ..physics.arrays import Bools, Floats, Ints
from ..search.branch_and_bound import MAX_WORK, WorkBudget, portions
from .candidates import (
    CALLED_SPOT,
    CLIP_LIMIT,
    CLIP_LIMIT_BESIDE,
    FREE_LIP,
    FREE_LIP_BESIDE,
    ROUNDING_RAD,
    SAME_DECIMALS,
    STRIP_LIMIT,
    Combinations,
    PlaceCandidates,
    Shape,
    Stretches,
)

JOINED_AT_ONCE, MAX_JOINED = 50_000, 400_000
"""Pairs of halves that are weighed in one go, and in all at one place; past that nothing is proven."""

PAIRS_PER_WORK, ROWS_PER_WORK, USES_PER_WORK, BOXES_PER_WORK = 4, 2, 32, 3
"""Pairs of halves, halves put in order, shelves' uses, cropped boxes: so many take as long as a line."""

TURNS = 3
"""A free arc is looked at where it lies, and a turn to either side of that."""

_NONE, _NO_INDEX = np.empty(0), np.empty(0, np.intp)
NO_STRETCHES = Stretches(_NO_INDEX, _NONE, _NONE, _NONE, _NO_INDEX, _NONE.astype(complex), _NONE)


class ShapeCandidates:
    """One shape at one place: its stretches, and how they combine, within a budget (by default one of its own)."""

    def __init__(self, place: PlaceCandidates, shape: Shape, budget: WorkBudget | None = None) -> None:
        self.budget = budget or WorkBudget(MAX_WORK)
        self.place, self.shape, self.set = place, shape, place.block_set(shape)
        self.blocks, self.option, self.max_pieces = self.set.blocks, self.set.option, place.circle.max_pieces
        self.free = not (place.has_direction or place.keeps_direction)  # rule 4

    def stretches(self, *, beside: bool = False) -> Stretches:
        """Every block in every stretch of directions that the rules allow; ``beside`` a keep-out (rule 1)."""
        known, kind = self.place.found, (self.shape == Shape(1), beside)
        if kind not in known:
            known[kind] = self._stretches(beside=beside)
            self.budget.charge(len(known[kind]))
        return known[kind]

    def _stretches(self, *, beside: bool) -> Stretches:
        blocks = self.blocks
        low_limit, high_limit = self._limits(beside=beside)
        if not len(blocks):
            return NO_STRETCHES
        endless = blocks.slack >= math.pi
        centre = np.remainder(self._centres() - self.place.towards + math.pi, 2 * math.pi) - math.pi
        parts = []
        for turn in (-1, 0, 1):
            begins = np.where(endless, -np.inf, centre - blocks.slack + 2 * math.pi * turn)
            ends = np.where(endless, np.inf, centre + blocks.slack + 2 * math.pi * turn)
            low, high = np.maximum(begins, low_limit), np.minimum(ends, high_limit)
            inside = (high >= low - ROUNDING_RAD) & (~endless | (turn == 0))
            (at,) = inside.nonzero()
            parts.append((at, low[at], np.maximum(high, low)[at], TURNS * self.set.window[at] + turn + 1))
        block, low, high, arc = (np.concatenate(column) for column in zip(*parts, strict=True))
        return self._by_cost(block, low, high, arc)

    def _centres(self) -> Floats:
        """The middle of each block's interval, turned and mirrored as the place is [rad]."""
        centre = self.blocks.centre - self.place.frame
        return self.blocks.behind - self.blocks.ahead - centre if self.place.mirrored else centre

    def _limits(self, *, beside: bool) -> tuple[Floats, Floats]:
        """Between which directions each block may point, so that every piece's middle may be there."""
        blocks = self.blocks
        if self.free or (self.place.any_direction and not self.place.clip_ons):
            return np.full(len(blocks), -math.pi), np.full(len(blocks), math.pi)
        limit = (CLIP_LIMIT_BESIDE if beside else CLIP_LIMIT) if self.place.clip_ons else STRIP_LIMIT
        return -limit - blocks.first_middle, limit - blocks.last_middle

    def _by_cost(self, block: Ints, low: Floats, high: Floats, arc: Ints) -> Stretches:
        """Cut where the spot is no longer the called one (rule 5)."""
        per = self.place.effort
        fit = per.fitting(self.blocks.pieces[block].astype(float), 1, clip_on=self.place.clip_ons)
        found = []
        for begin, end, mark in (
            (-math.inf, -CALLED_SPOT, per.mark_min),
            (-CALLED_SPOT, CALLED_SPOT, 0.0),
            (CALLED_SPOT, math.inf, per.mark_min),
        ):
            lower, upper = np.maximum(low, begin), np.minimum(high, end)
            (at,) = ((upper > lower) | ((upper == lower) & ((mark == 0) | (low == high)))).nonzero()
            found.append((block[at], lower[at], upper[at], fit[at] + mark, arc[at]))
        columns: list[Any] = [np.concatenate(column) for column in zip(*found, strict=True)]
        block, low, high = columns[:3]
        size, half = self.blocks.size[block], np.minimum((high - low) / 2, math.pi / 2)
        columns += [size * np.cos(half) * np.exp(0.5j * (high + low)), size * np.sin(half)]
        return Stretches(*columns)[_order(size, low)]

    def within(self, room: float) -> tuple[Combinations, bool]:
        """Those that may come within ``room`` [g·mm] of the exact correction; and whether these are all.

        None, and not all, where the budget is exhausted.
        """
        count = self.shape.blocks
        if self.budget.exhausted or not self.budget.affords(len(self.blocks)):
            return self._together(NO_STRETCHES, np.empty((0, count), dtype=np.intp)), False
        if count == 1:
            found, off = self._alone()
            return self._cropped(found[off <= room], room), True
        parts, complete = [], True
        for every, beside in self._neighbours():
            stretches = every[self.blocks.pieces[every.block] <= self.max_pieces - (count - 1)]
            left, right = (self._rows(stretches, n, beside=beside) for n in (count // 2, count - count // 2))
            rows, all_there = self._join(stretches, left, right, room)
            rows = rows[self._may_be(stretches, rows, count // 2, beside=beside)]
            parts.append(self._cropped(self._together(stretches, rows, lip=_lip(beside)), room))
            complete &= all_there and not self.budget.exhausted
        first, *others = parts
        return first.and_more(*others), complete

    def _alone(self) -> tuple[Combinations, Floats]:
        """One block in every stretch, and how far each stays from the exact correction [g·mm]."""
        known = self.place.found_alone
        if self.shape not in known:
            stretches = self.stretches()
            pieces = self.blocks.pieces[stretches.block]
            least = 2 if self.shape.touching else 1
            found = self._together(stretches[(least <= pieces) & (pieces <= self.max_pieces)], None)
            known[self.shape] = found, self.place.distance(found)
        return known[self.shape]

    def _cropped(self, found: Combinations, room: float) -> Combinations:
        """The same in the directions from which the others' can bring the sum within room of what is required.

        Where a box and these directions might meet at both of their ends it stays as it is.
        """
        size, middle, half = (
            self.blocks.size[found.block],
            (found.low + found.high) / 2,
            (found.high - found.low) / 2,
        )
        self.budget.charge(size.size // BOXES_PER_WORK)
        reach = np.minimum(half, math.pi / 2)
        centre, reach = size * np.cos(reach) * np.exp(1j * middle), size * np.sin(reach)
        wanted = abs(self.place.required) - (centre.sum(axis=1, keepdims=True) - centre)
        within = room + (reach.sum(axis=1, keepdims=True) - reach)
        length = np.maximum(np.abs(wanted), size * ROUNDING_RAD)
        cosine = (size / length + (length * length - within * within) / (size * length)) / 2
        turn = np.arccos(np.minimum(np.maximum(cosine, -1.0), 1.0)) + ROUNDING_RAD
        towards = np.angle(wanted)
        towards += 2 * math.pi * np.rint((middle - towards) / (2 * math.pi))
        turn[half + turn >= math.pi] = math.inf
        low, high = np.maximum(found.low, towards - turn), np.minimum(found.high, towards + turn)
        return replace(found, low=low, high=high)[(low <= high).all(axis=1)]

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
        if not self.budget.spend(len(every) ** 2 // PAIRS_PER_WORK):
            return np.empty((0, count), dtype=np.intp)
        rows = np.stack([np.repeat(every, len(every)), np.tile(every, len(every))], axis=1)
        return rows[self._may_be(stretches, rows, 1, beside=beside)]

    def _may_be(self, stretches: Stretches, rows: Ints, join: int, *, beside: bool | None) -> Bools:
        """Whether rows are not too many, with room between the blocks beside a join; of one kind in one free arc.

        (Strips of two kinds that touch would be one spot, which these combinations don't know.)
        """
        i, j = rows[:, join - 1], rows[:, join]
        a, b, blocks = stretches.block[i], stretches.block[j], self.blocks
        widest = (stretches.high[j] - blocks.behind[b]) - (stretches.low[i] + blocks.ahead[a])
        apart = stretches.arc[i] // TURNS != stretches.arc[j] // TURNS
        fits = (apart | (self.option[a] == self.option[b])) & (widest >= -ROUNDING_RAD)
        fits &= blocks.pieces[stretches.block[rows]].sum(axis=1) <= self.max_pieces
        if beside is not None:
            narrowest = (stretches.low[j] - blocks.behind[b]) - (stretches.high[i] + blocks.ahead[a])
            same_arc = stretches.arc[i] == stretches.arc[j]
            fits &= (same_arc != beside) & (narrowest <= _lip(beside) + ROUNDING_RAD)
        return np.asarray(fits)

    def _join(self, stretches: Stretches, left: Ints, right: Ints, room: float) -> tuple[Ints, bool]:
        """Rows of two halves whose discs come within room of the exact correction, in bounded number."""
        self.budget.charge((len(left) + len(right)) // ROWS_PER_WORK)
        target, centre, reach = abs(self.place.required), stretches.centre, stretches.reach
        wanted, have = target - centre[left].sum(axis=1), centre[right].sum(axis=1)
        reach_left, reach_right = reach[left].sum(axis=1), reach[right].sum(axis=1)
        tolerance = room + reach_left + reach_right.max(initial=0.0)
        unit = float(self.blocks.size.max(initial=1.0))
        along = np.round(have.real / unit, SAME_DECIMALS)
        by_real = np.argsort(along, kind="stable")
        wanted_along, about = wanted.real / unit, tolerance / unit + 1e-8
        first = np.searchsorted(along, wanted_along - about, "left", by_real)
        counts = np.searchsorted(along, wanted_along + about, "right", by_real) - first
        rows, taken = [np.empty((0, left.shape[1] + right.shape[1]), dtype=np.intp)], 0
        for portion in portions(counts, JOINED_AT_ONCE):
            begins = np.cumsum(counts[portion]) - counts[portion]
            i = np.repeat(portion, counts[portion])
            j = by_real[np.arange(len(i)) + np.repeat(first[portion] - begins, counts[portion])]
            close = np.abs(wanted[i] - have[j]) - reach_left[i] - reach_right[j] <= room
            rows.append(np.concatenate([left[i[close]], right[j[close]]], axis=1))
            taken += len(i)
            if taken > MAX_JOINED or not self.budget.spend(len(i) // PAIRS_PER_WORK):
                return np.concatenate(rows), False
        return np.concatenate(rows), True

    def _together(self, stretches: Stretches, rows: Ints | None, lip: float = math.inf) -> Combinations:
        """Rows of stretches; each by itself where no rows are given."""
        at, uses = (np.s_[:, None] if rows is None else rows), self._uses()
        block = stretches.block[at]
        self.budget.charge(block.size * uses.shape[1] // USES_PER_WORK)
        return Combinations(
            block=block,
            low=stretches.low[at],
            high=stretches.high[at],
            handling=stretches.handling[at].sum(axis=1),
            mass=self.blocks.mass[block].sum(axis=1),
            usage=reduce(np.add, (uses[column] for column in block.T)),
            lip=np.full(len(block), lip),
            centre=stretches.centre[at].sum(axis=1),
            reach=stretches.reach[at].sum(axis=1),
        )

    def _uses(self) -> Ints:
        """What each block takes from each of the scarce shelves, (n, shelves)."""
        known, kind = self.place.uses, self.shape == Shape(1)
        if kind not in known:
            known[kind] = self.set.usage(self.place.scarce)
            self.budget.charge(known[kind].size // USES_PER_WORK)
        return known[kind]


def _order(size: Floats, low: Floats) -> Ints:
    """By size, then direction: the same however the wheel lies or is described, whatever is rounded."""
    keys = np.round(size / size.max(initial=1e-300), SAME_DECIMALS) + 1j * np.round(low, SAME_DECIMALS)
    return np.argsort(keys, kind="stable")  # complex numbers are in order of their real parts, then the imaginary


def _lip(beside: bool | None) -> float:
    """The most free lip between two clip-ons, in one free arc or beside a keep-out (rule 2); strips have none."""
    return math.inf if beside is None else FREE_LIP_BESIDE if beside else FREE_LIP
