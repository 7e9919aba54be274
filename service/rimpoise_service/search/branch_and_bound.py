"""The search for the best pieces in one plane: exact over stock, windows and angles.

Notation
    T            the vector wanted [g·mm]
    block        weights that touch, in one window: they turn as one, a vector of fixed size a [g·mm] whose
                 direction may be anywhere in [centre − slack, centre + slack] [rad]
    combination  a choice of blocks; its pieces are the sum of theirs
    residual     |T − Σ a_k e^{iθ_k}|, least over the directions, no two blocks overlapping [g·mm]

Why a few candidates are enough
    1. The feasible directions of a combination are a compact set, so a best point exists. At it some blocks lie at
       an end of their interval, some touch another block, the rest are free.
    2. Blocks that touch are together another block, which is in the list. So let none touch.
    3. If the residual isn't zero, its gradient vanishes in every free direction: each free block points along
       what is left of T, or against it. Two that point the same way would overlap. So at most two are free,
       and if two, they are opposed.
    4. If the residual is zero, the zero set contains a point where the direction of the first free block (the
       leader) is extreme. There, no further end or touch being met, all the other free blocks are parallel;
       again no two point the same way. So at most three are free: a leader, and two opposed; two circles meet.
    5. Hence: every block at either end or free, at most three free, the free ones from the closed forms above.

Rules of the search
    a. A combination's vectors fill at most a disc (`disc_centre`, `disc_radius`: the smallest circles about the
       arcs, added up), so |T − disc_centre| − disc_radius bounds its residual from below.
    b. What is minimised is the cost: residual + per_gram · mass, the mass of a combination being fixed.
       Combinations are solved in the order of the bound of their cost, then mass. Where it passes the worst cost
       that is to be kept, the rest can't do better; where that cost is zero, nothing can.
    c. Combinations of two halves are formed by joining the halves, sorted by the real part of their discs'
       centres: only partners whose discs can reach T are ever paired.
    d. Three blocks and more are bounded a second time, closely: in no direction u can Σ a_k e^{iθ_k} reach further
       than the sum of the arcs' own reaches in u (the support of a sum is the sum of the supports).
    e. What is counted is work, never seconds: combinations bounded, and closed forms tried. Where it is used up
       the rest is left out and the result is not called proven.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..physics.arrays import Bools, Floats, Ints
from .blocks import Blocks
from .closed_form import best_directions, closed_forms, wrapped

ZERO_GMM = 1e-7
"""Residuals this small are equal, and zero [g·mm]: a thousandth of a microgram at a metre's radius."""

MAX_WORK = 4_000_000
"""Work in one search before it stops and does not call itself proven: about a second on a small machine."""

FIRST_BATCH, LARGEST_BATCH = 48, 4096
"""Combinations bounded closely at a time, doubling: few searches need more than one batch."""

SOLVED_AT_ONCE = 256
"""Combinations solved at a time, so that memory stays bounded and a zero ends the search early."""

JOINED_AT_ONCE = 1 << 18
"""Combinations formed at a time, for the same reason."""

SUPPORTS = 32
"""Directions of the close bound; the target's own is one of them."""


@dataclass(slots=True)
class WorkBudget:
    """The work left, and whether it ever was not enough. Searches may share a budget."""

    left: int
    exhausted: bool = False

    def affords(self, cost: int) -> bool:
        """Whether so much work is there; else mark the budget as exhausted."""
        self.exhausted |= cost > self.left
        return cost <= self.left

    def spend(self, cost: int) -> bool:
        """Spend work if it is there; else mark the budget as exhausted."""
        if not self.affords(cost):
            return False
        self.left -= cost
        return True

    def charge(self, cost: int) -> None:
        """Count work that is done already, though it may be more than was left: then that much is owed."""
        self.left -= cost
        self.exhausted |= self.left < 0


@dataclass(frozen=True, slots=True)
class BlockCombination:
    """Blocks by index with their directions [rad], their sum and the residual [g·mm], and their mass [g]."""

    blocks: tuple[int, ...]
    angles: tuple[float, ...]
    vector: complex
    residual: float
    mass: float


@dataclass(frozen=True, slots=True)
class SearchResult:
    """The cheapest combinations of a search, cheapest first; proven if none was left out."""

    candidates: tuple[BlockCombination, ...]
    proven: bool


def search(
    target: complex,
    blocks: Blocks,
    pieces: int,
    upper_bound: float = np.inf,
    keep: int = 1,
    work: WorkBudget | None = None,
    per_gram: float = 0.0,
    upper_cost: float = np.inf,
) -> SearchResult:
    """The cheapest ways to make a vector [g·mm] with exactly that many pieces.

    upper_bound: combinations that can't stay at or below this residual [g·mm] are of no interest. keep: how many
    to return at the most. work: the allowance, one of its own if none is given. per_gram: how much residual a gram
    of the pieces is worth [g·mm/g]; by default the residual alone counts. upper_cost: what costs more than that is
    of no interest either [g·mm].
    """
    work = work or WorkBudget(MAX_WORK)
    in_progress = _BranchAndBound(target, blocks, (upper_bound, upper_cost), per_gram, keep, work)
    for count in range(1, pieces + 1):
        in_progress.over(count, pieces)
    return SearchResult(tuple(in_progress.best), in_progress.proven)


class _BranchAndBound:
    """A search in progress: the best so far, the upper bounds they set, and whether nothing was left out.

    upper_bound: of the residual, as it was asked for; upper_cost: of the cost, in time that of the worst to keep.
    """

    def __init__(
        self,
        target: complex,
        blocks: Blocks,
        upper: tuple[float, float],
        per_gram: float,
        keep: int,
        work: WorkBudget,
    ) -> None:
        self.target, self.blocks, self.per_gram, self.keep, self.work = target, blocks, per_gram, keep, work
        self.upper_bound, self.upper_cost = upper
        self.disc_centre, self.disc_radius = blocks.disc_centre, blocks.disc_radius
        self.best: list[BlockCombination] = []
        self.proven = True

    def over(self, count: int, pieces: int) -> None:
        """Solve those of that many blocks and pieces in the order of their bounds until no better can come."""
        if self._can_not_improve():
            return
        if count == 1:  # so few that bounding them costs more than solving them
            picks = np.flatnonzero(self.blocks.pieces == pieces)[:, None]
            self._solve(picks, self.blocks.mass[picks[:, 0]])
            return
        for picks in self._in_order(self._joined(count, pieces)):
            self._solve_closely(picks)

    def _spend(self, cost: int) -> bool:
        self.proven &= self.work.spend(cost)
        return self.proven

    def _in_order(self, picks: Ints) -> Iterator[Ints]:
        """Batches by the bound of their cost, then mass, as long as it is under the upper bound."""
        bound, mass = self._bound(picks), self.blocks.mass[picks].sum(axis=1)
        cost = np.maximum(bound, 0.0) + self.per_gram * mass
        order = np.lexsort((mass, cost))
        order = order[bound[order] <= self.upper_bound]
        start, size = 0, FIRST_BATCH
        while self.proven and start < len(order) and cost[order[start]] <= self.upper_cost:
            yield picks[order[start : start + size]]
            start, size = start + size, min(2 * size, LARGEST_BATCH)

    def _solve_closely(self, picks: Ints) -> None:
        """Solve what the close bound leaves."""
        if picks.shape[1] > 2:
            picks = picks[self._close_bound(picks) <= self._most_residual(self.blocks.mass[picks].sum(axis=1))]
        for start in range(0, len(picks), SOLVED_AT_ONCE):
            batch = picks[start : start + SOLVED_AT_ONCE]
            if self._can_not_improve() or not self._spend(len(batch) * closed_forms(batch.shape[1])):
                return
            self._solve(batch, self.blocks.mass[batch].sum(axis=1))

    def _can_not_improve(self) -> bool:
        return self.upper_bound < 0 or (self.upper_cost <= ZERO_GMM and len(self.best) == self.keep)

    def _most_residual(self, mass: Floats) -> Floats:
        """What combinations of that mass may leave, so that they are worth keeping [g·mm]."""
        return np.asarray(np.minimum(self.upper_bound, self.upper_cost - self.per_gram * mass))

    def _solve(self, picks: Ints, mass: Floats) -> None:
        residual, angles = best_directions(self.target, self.blocks, picks)
        (kept,) = (np.isfinite(residual) & (residual <= self._most_residual(mass))).nonzero()
        cost = residual[kept] + self.per_gram * mass[kept]
        first = kept[np.lexsort((mass[kept], np.round(cost / ZERO_GMM)))[: self.keep]]
        picks, angles = picks[first], angles[first]
        vector = (self.blocks.size[picks] * np.exp(1j * angles)).sum(axis=1)
        columns = (x.tolist() for x in (picks, angles, vector, residual[first], mass[first]))
        self.best += [
            BlockCombination(tuple(chosen), tuple(at), *rest) for chosen, at, *rest in zip(*columns, strict=True)
        ]
        # Rounded, so that round numbers don't lie between two steps; stable: ties keep the stock's order.
        self.best.sort(key=lambda c: (round(self._cost(c) / ZERO_GMM), c.mass))
        del self.best[self.keep :]
        if len(self.best) == self.keep:
            self.upper_cost = self._cost(self.best[-1])

    def _cost(self, combination: BlockCombination) -> float:
        """What is minimised [g·mm]."""
        return combination.residual + self.per_gram * combination.mass

    def _joined(self, count: int, pieces: int) -> Ints:
        """Ordered combinations of two to four blocks that may reach the target, halves joined (rule c)."""
        usable = np.flatnonzero(self.blocks.pieces <= pieces - count + 1)
        parts = [np.empty((0, count), dtype=np.intp)]
        if not self._spend(len(usable) ** 2 // 2):
            return parts[0]
        i, j = np.triu_indices(len(usable))
        halves = {1: usable[:, None], 2: np.stack([usable[i], usable[j]], axis=1)}
        left, right = halves[count // 2], halves[count - count // 2]
        for at_left, at_right in self._partners(left, right):
            picks = np.concatenate((left[at_left], right[at_right]), axis=1)
            picks = picks[picks[:, count // 2 - 1] <= picks[:, count // 2]]
            parts.append(picks[self._admissible(picks, pieces)])
        return np.concatenate(parts)

    def _partners(self, left: Ints, right: Ints) -> Iterator[tuple[Ints, Ints]]:
        """Index pairs of halves whose discs touch when the target is between them, in bounded blocks."""
        wanted, have = self.target - self.disc_centre[left].sum(axis=1), self.disc_centre[right].sum(axis=1)
        radius_left, radius_right = self.disc_radius[left].sum(axis=1), self.disc_radius[right].sum(axis=1)
        room = min(self.upper_bound, self.upper_cost)
        tolerance = room + radius_left + radius_right.max(initial=0.0)
        by_real = np.argsort(have.real, kind="stable")
        first = np.searchsorted(have.real, wanted.real - tolerance, "left", by_real)
        counts = np.searchsorted(have.real, wanted.real + tolerance, "right", by_real) - first
        for portion in portions(counts, JOINED_AT_ONCE):
            if not self._spend(int(counts[portion].sum())):
                return
            i = np.repeat(portion, counts[portion])
            begins = np.cumsum(counts[portion]) - counts[portion]
            j = by_real[np.arange(len(i)) + np.repeat(first[portion] - begins, counts[portion])]
            close = np.abs(wanted[i] - have[j]) - radius_left[i] - radius_right[j] <= room
            yield i[close], j[close]

    def _admissible(self, picks: Ints, pieces: int) -> Bools:
        """Whether the pieces add up and the shelf has them.

        With three blocks or more all are of one kind (only strips go so far), so the shelf's sum is theirs.
        """
        blocks = self.blocks
        adds_up: Bools = blocks.pieces[picks].sum(axis=1) == pieces
        one_kind: Bools = (blocks.kind[picks] == blocks.kind[picks[:, :1]]).all(axis=1)
        enough: Bools = blocks.used[picks].sum(axis=1) <= blocks.on_hand[picks[:, 0]]
        return adds_up & (enough | ~one_kind)

    def _bound(self, picks: Ints) -> Floats:
        """No combination's residual is below this [g·mm] (rule a)."""
        bound: Floats = np.abs(self.target - self.disc_centre[picks].sum(axis=1)) - self.disc_radius[picks].sum(
            axis=1
        )
        return bound

    def _close_bound(self, picks: Ints) -> Floats:
        """The same by supports (rule d)."""
        towards = np.angle(self.target) + 2 * np.pi * np.arange(SUPPORTS) / SUPPORTS
        blocks = self.blocks
        off = np.abs(wrapped(towards - blocks.centre[:, None]))
        support = blocks.size[:, None] * np.cos(np.maximum(off - blocks.slack[:, None], 0.0))
        wanted = (self.target * np.exp(-1j * towards)).real
        bound: Floats = (wanted - support[picks].sum(axis=1)).max(axis=1)
        return bound


def portions(counts: Ints, most: int) -> Iterator[Ints]:
    """Consecutive indices whose counts add up to ``most`` at the most, or one index alone."""
    ends = np.cumsum(counts)
    start = 0
    while start < len(counts):
        done = ends[start - 1] if start else 0
        stop = max(start + 1, int(np.searchsorted(ends, done + most, "right")))
        yield np.arange(start, stop)
        start = stop
