"""Filling one arrangement with whole stock masses: as few pieces as bring it within acceptance.

1. Each place has its own exact correction; the search gives the best few candidates for each number of pieces.
2. The candidates of the places are weighed together, against all limits at once and the shelf they share: what
   one place leaves can make up for what the other does.
3. Then the joint choice is refined: where a place takes one weight (or weights that touch), every stock mass at
   every whole degree that could still be better is weighed with every one of the other place. Exact, because
   what place b leaves makes a couple about place a that nothing in a can change: with the best share of the
   limits known so far, it must stay within that share of the largest couple that any accepted residual has.
4. By the same bound a number of pieces is not tried where it can't be enough.
5. Half the static sum on each flange is what it says: a weight on both, and what keeps each from its half counts
   beside the limits.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ..model.stock import ClipOn, Strip
from ..physics.unbalance import Unbalance
from ..search.blocks import FittedWeight, Floats, Ints
from ..search.branch_and_bound import WorkBudget
from .arrangements import Arrangement
from .candidates import CandidateArrays, CandidatePool
from .places import Place
from .tolerance_check import WITHIN, ToleranceEvaluator

BEAM_WIDTH = 8
"""Candidates per place and number of pieces that are weighed against those of the other place."""

BEAM_WIDTH_IF_SHARED = 64
"""The same where both places draw on a shelf that may run out."""

BEST = 2
"""Fillings handed on, different in their weights: which passes most often is for the chance to say."""

POWER = 4
"""Of the shares of the limits in the cost of a combination."""

NEAR = 1.5
"""How much more of the limits than the least another filling may leave to be handed on."""

MAX_COMBINATIONS = 500_000
"""No table is larger: limits far apart, say 10 kg a plane and 1 mg static, would ask for gigabytes. Past it the
places' own candidates are weighed alone, without whole degrees, and the search counts as cut short."""

OUTSIDE = 1e9
"""What it costs to be outside acceptance: more than anything inside."""

SAME_SHARE = 1e-9
"""Shares of the limits that differ by less are equal; then less mass decides."""


@dataclass(frozen=True, slots=True)
class JointChoice:
    """The weights of each place, in the arrangement's order, and the share of the limits that they leave."""

    units: tuple[list[FittedWeight], ...]
    limit_ratio: float

    @property
    def merit(self) -> tuple[int, float]:
        """Sorts the least left first; where rounding alone makes the difference, the lightest."""
        mass = sum(unit.mass_g for units in self.units for unit in units)
        return round(self.limit_ratio / SAME_SHARE), round(mass, 6)


def fill(
    arrangement: Arrangement, unbalance: Unbalance, evaluator: ToleranceEvaluator, work: WorkBudget
) -> list[JointChoice]:
    """The fewest pieces that are accepted: the best few such fillings, least left first.

    Where nothing is accepted, the one that leaves least of all; none if the shelf has no weight for one of the
    halves. work: the allowance of all its searches.
    """
    shared = _shared_shelves(arrangement.places)
    slots = _slots(arrangement, unbalance, evaluator, BEAM_WIDTH_IF_SHARED if shared else BEAM_WIDTH, work)
    table = _Table(slots, unbalance, evaluator, shared, halves=arrangement.way == "halves")
    numbers = [range(table.fewest, slot.place.max_pieces + 1) for slot in slots]
    for total in range(1, sum(slot.place.max_pieces for slot in slots) + 1):
        tried = [
            filling
            for counts in product(*numbers)
            if sum(counts) == total and _hopeful(slots, counts)
            for filling in table.joint(counts)
        ]
        accepted = [filling for filling in tried if evaluator.accepts(filling.limit_ratio)]
        if accepted:
            least = min(f.limit_ratio for f in accepted)
            near = (f for f in accepted if f.limit_ratio <= NEAR * least + SAME_SHARE)
            return sorted(near, key=lambda f: f.merit)[:BEST]
    return table.least()


def _hopeful(slots: Sequence[CandidatePool], counts: Sequence[int]) -> bool:
    """Whether so many pieces can be enough everywhere; the fewest are asked first, they cost least."""
    return all(slot.hopeful(n) for n, slot in sorted(zip(counts, slots, strict=True), key=lambda pair: pair[0]))


def _slots(
    arrangement: Arrangement, unbalance: Unbalance, evaluator: ToleranceEvaluator, keep: int, work: WorkBudget
) -> list[CandidatePool]:
    places, required = arrangement.places, arrangement.required(unbalance)
    if arrangement.way != "two_planes":
        return [CandidatePool(p, r.vector, np.inf, keep, work) for p, r in zip(places, required, strict=True)]
    distance = abs(places[0].position_mm - places[1].position_mm)
    leave = [evaluator.couple_limit(other.position_mm) / distance * (1 + 1e-6) for other in reversed(places)]
    return [
        CandidatePool(p, r.vector, most, keep, work) for p, r, most in zip(places, required, leave, strict=True)
    ]


@dataclass(frozen=True, slots=True)
class _Table:
    """All combinations of the places' candidates, weighed against the limits and the shelves they share."""

    slots: list[CandidatePool]
    unbalance: Unbalance
    evaluator: ToleranceEvaluator
    shared: dict[str, int]
    halves: bool

    @property
    def fewest(self) -> int:
        """Pieces that each place has at the least."""
        return int(self.halves)

    def joint(self, counts: Sequence[int]) -> list[JointChoice]:
        """So many pieces in each place, chosen together (rules 2 and 3): the best few."""
        ways = [slot.ways(n) for slot, n in zip(self.slots, counts, strict=True)]
        shares, cost = self._weighed(ways)
        if all(math.isfinite(slot.leave_gmm) for slot in self.slots):
            # What costs less leaves no share larger than this; what leaves more than all is not wanted.
            share = min(float(cost.min(initial=np.inf)) ** (1 / POWER), 1.0)
            more = [
                w.and_whole_degrees(slot, n, share * slot.leave_gmm)
                for w, slot, n in zip(ways, self.slots, counts, strict=True)
            ]
            if math.prod(map(len, more)) <= MAX_COMBINATIONS:
                ways = more
                shares, cost = self._weighed(ways)
            else:
                self.slots[0].work.exhausted = True
        return list(_fillings(ways, shares, cost, BEST))

    def least(self) -> list[JointChoice]:
        """Of all ways with any number of pieces, the combination of least cost."""
        ways = [slot.all_ways(self.fewest) for slot in self.slots]
        return list(_fillings(ways, *self._weighed(ways), 1))

    def _weighed(self, chosen: Sequence[CandidateArrays]) -> tuple[Floats, Floats]:
        """The shares of the limits, an axis for the limits and one per place, and what a combination costs.

        The cost is the sum of the shares' POWER: nearly the largest share, but never blind to the others. What is
        accepted costs less than anything that is not; what the shelves forbid costs infinitely much.
        """
        static, moment = np.array(self.unbalance.static), np.array(self.unbalance.moment)
        for slot, ways in zip(self.slots, chosen, strict=True):
            static = np.add.outer(static, ways.vectors)
            moment = np.add.outer(moment, ways.vectors * slot.place.position_mm)
        shares = self.evaluator.shares(static, moment)
        counted = np.concatenate([shares, self._off_halves(chosen)]) if self.halves else shares
        cost = _to_the_power(counted).sum(axis=0) + OUTSIDE * (shares.max(axis=0) > WITHIN)
        return shares, np.where(self._on_hand(chosen), cost, np.inf) if self.shared else cost

    def _off_halves(self, chosen: Sequence[CandidateArrays]) -> Floats:
        """How far each place is from its half, in shares of the static limit."""
        off = [np.abs(slot.target - ways.vectors) for slot, ways in zip(self.slots, chosen, strict=True)]
        return np.stack(np.meshgrid(*off, indexing="ij")) / self.evaluator.limits.static_gmm

    def _on_hand(self, chosen: Sequence[CandidateArrays]) -> NDArray[np.bool_]:
        allowed = np.ones([len(ways) for ways in chosen], dtype=bool)
        a, b = (ways.taken(list(self.shared)) for ways in chosen)
        most = a.max(axis=0, initial=0) + b.max(axis=0, initial=0)
        for k, on_hand in enumerate(self.shared.values()):
            if most[k] > on_hand:
                allowed &= a[:, k, None] + b[None, :, k] <= on_hand
        return allowed


def _to_the_power(shares: Floats) -> Floats:
    """Shares to the fourth, POWER: squared twice, for numpy's own power takes ten times as long."""
    square = shares * shares
    return square * square


def _fillings(chosen: Sequence[CandidateArrays], shares: Floats, cost: Floats, most: int) -> Iterator[JointChoice]:
    """The combinations of least cost, then mass, different in their weights: so many at most, if near."""
    enough = np.inf
    for more in reversed(range(most)):
        least = float(cost.min(initial=np.inf))
        if not math.isfinite(least):
            return
        tied = (cost <= least * (1 + SAME_SHARE) + SAME_SHARE**POWER).nonzero()
        first = _lightest(chosen, tied) if len(tied[0]) > 1 else 0
        at = tuple(int(axis[first]) for axis in tied)
        limit_ratio = max(float(share[at]) for share in shares)
        if limit_ratio > enough:
            return
        enough = NEAR * limit_ratio + SAME_SHARE
        yield JointChoice(tuple(ways[i].units for ways, i in zip(chosen, at, strict=True)), limit_ratio)
        if not more:
            return
        same = [ways.same_weights(i) for ways, i in zip(chosen, at, strict=True)]
        cost = np.where(reduce(np.logical_and.outer, same), np.inf, cost)


def _lightest(chosen: Sequence[CandidateArrays], tied: Sequence[Ints]) -> int:
    """Which of some combinations weighs least; the first, if several do."""
    mass = sum(ways.masses[i] for ways, i in zip(chosen, tied, strict=True))
    return int(np.round(mass, 6).argmin())


def _shared_shelves(places: Sequence[Place]) -> dict[str, int]:
    """What is on hand of the weights that both places could take and that may run out, by sku."""
    if len(places) < 2:
        return {}
    counted, others = ({i.sku: i for i in place.items if i.on_hand is not None} for place in places)
    return {
        sku: item.on_hand
        for sku, item in counted.items()
        if sku in others and item.on_hand is not None and item.on_hand < sum(_most_taken(item, p) for p in places)
    }


def _most_taken(item: ClipOn | Strip, place: Place) -> int:
    """More pieces, or segments, than this a place can't take."""
    return place.max_pieces * (item.max_segments if isinstance(item, Strip) else 1)
