"""Filling one arrangement with whole stock masses: as few pieces as bring it within acceptance.

Each place has its own exact correction; the search gives the best few candidates for each number of pieces.
The candidates of the places are then weighed together, against all limits at once and the shelf they share.

A number of pieces is not tried where it can't be enough: what place b leaves makes a couple about place a
that no weight in a can change, so it must not be larger than any accepted residual's.
"""

from __future__ import annotations

import cmath
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ..mechanics.vectors import Unbalance
from .judging import Judge
from .places import Place
from .runs import Options, Unit
from .search import ZERO_GMM, Candidate, search
from .styles import Arrangement

KEEP = 8
"""Candidates per place and number of pieces that are weighed against those of the other place."""

KEEP_IF_SHARED = 64
"""The same where both places draw on a shelf that may run out."""


@dataclass(frozen=True, slots=True)
class Filling:
    """The weights of each place, in the arrangement's order, and the share of the limits that they leave."""

    units: tuple[list[Unit], ...]
    excess: float


@dataclass(frozen=True, slots=True)
class Filled:
    """A way to fill a place: a candidate of the search among the place's options; or nothing."""

    options: Options | None
    candidate: Candidate

    @property
    def vector(self) -> complex:
        """What it adds to the plane [g·mm]."""
        if self.options is None:
            return 0j
        turned = zip(self.candidate.runs, self.candidate.angles, strict=True)
        return sum((cmath.rect(self.options.runs.size[run], angle) for run, angle in turned), 0j)

    @property
    def units(self) -> list[Unit]:
        """Its weights."""
        if self.options is None:
            return []
        turned = zip(self.candidate.runs, self.candidate.angles, strict=True)
        return [unit for run, angle in turned for unit in self.options.units(run, angle)]

    def taken(self, sku: str) -> int:
        """Pieces, or segments, taken from a shelf."""
        return sum(u.segments or 1 for u in self.units if u.item.sku == sku)


@dataclass(slots=True)
class Slot:
    """A place with its target [g·mm]; candidates are searched for when first asked for.

    leave_gmm: more than this may not be left here, whatever goes elsewhere. keep: how many candidates.
    """

    place: Place
    target: complex
    leave_gmm: float
    keep: int
    _found: list[list[Filled]] = field(default_factory=list)

    def candidates(self, pieces: int) -> list[Filled]:
        """The best ways to use exactly that many pieces, best first; none worse than fewer pieces leave."""
        while len(self._found) <= pieces:
            self._found.append(self._search(len(self._found)))
        return self._found[pieces]

    def hopeful(self, pieces: int) -> bool:
        """Whether that many pieces leave little enough here."""
        found = self.candidates(pieces)
        return bool(found) and found[0].candidate.residual <= self.leave_gmm

    def all_candidates(self) -> list[Filled]:
        """Those of every number of pieces, fewest first."""
        return [f for n in range(self.place.max_pieces + 1) for f in self.candidates(n)]

    def _search(self, pieces: int) -> list[Filled]:
        if pieces == 0:
            return [Filled(None, Candidate((), (), abs(self.target), 0.0))]
        fewer = [f.candidate.residual for found in self._found[1:] for f in found[:1]]
        ceiling, best = min(fewer, default=np.inf), list[Filled]()
        for options in self.place.options:
            found = search(self.target, options.runs, pieces, ceiling, self.keep).candidates
            best += [Filled(options, candidate) for candidate in found]
            best = sorted(best, key=lambda f: f.candidate.residual)[: self.keep]
            if len(best) == self.keep:  # the next strip must beat the last of these
                ceiling = best[-1].candidate.residual - ZERO_GMM
        return best


def fill(arrangement: Arrangement, unbalance: Unbalance, judge: Judge) -> Filling:
    """The fewest pieces that are accepted, among those what leaves least; else what leaves least of all."""
    shared = _shared_shelves(arrangement.places)
    slots = _slots(arrangement, unbalance, judge, KEEP_IF_SHARED if shared else KEEP)
    numbers = [range(slot.place.max_pieces + 1) for slot in slots]
    for total in range(1, sum(len(n) - 1 for n in numbers) + 1):
        tried = [
            _weigh(
                slots,
                [slot.candidates(n) for slot, n in zip(slots, counts, strict=True)],
                unbalance,
                judge,
                shared,
            )
            for counts in product(*numbers)
            if sum(counts) == total and _hopeful(slots, counts)
        ]
        best = min(tried, key=lambda f: f.excess, default=None)
        if best is not None and judge.accepts(best.excess):
            return best
    return _weigh(slots, [slot.all_candidates() for slot in slots], unbalance, judge, shared)


def _hopeful(slots: Sequence[Slot], counts: Sequence[int]) -> bool:
    """Whether so many pieces can be enough everywhere; the fewest are asked first, they cost least."""
    return all(slot.hopeful(n) for n, slot in sorted(zip(counts, slots, strict=True), key=lambda pair: pair[0]))


def _slots(arrangement: Arrangement, unbalance: Unbalance, judge: Judge, keep: int) -> list[Slot]:
    places, required = arrangement.places, arrangement.required(unbalance)
    if arrangement.way != "two_planes":
        return [Slot(p, r.vector, np.inf, keep) for p, r in zip(places, required, strict=True)]
    distance = abs(places[0].position_mm - places[1].position_mm)
    leave = [judge.couple_limit(other.position_mm) / distance * (1 + 1e-6) for other in reversed(places)]
    return [Slot(p, r.vector, most, keep) for p, r, most in zip(places, required, leave, strict=True)]


def _weigh(
    slots: Sequence[Slot],
    chosen: Sequence[Sequence[Filled]],
    unbalance: Unbalance,
    judge: Judge,
    shared: dict[str, int],
) -> Filling:
    """The best of all combinations of the places' candidates; of those the shelf forbids, none (inf)."""
    static = np.full((1,) * len(slots), unbalance.static)
    moment = np.full((1,) * len(slots), unbalance.moment)
    for axis, (slot, filled) in enumerate(zip(slots, chosen, strict=True)):
        shape = [-1 if axis == k else 1 for k in range(len(slots))]
        vectors = np.array([f.vector for f in filled]).reshape(shape)
        static, moment = static + vectors, moment + vectors * slot.place.position_mm
    excess = np.where(_on_hand(chosen, shared), judge.excess(static, moment), np.inf)
    at = np.unravel_index(int(excess.argmin()), excess.shape)
    units = tuple(filled[int(i)].units for filled, i in zip(chosen, at, strict=True))
    return Filling(units, float(excess[at]))


def _shared_shelves(places: Sequence[Place]) -> dict[str, int]:
    """What is on hand of the weights that both places could take and that may run out, by sku."""
    if len(places) < 2:
        return {}
    a, b = ({i.sku: i.on_hand for i in place.items if i.on_hand is not None} for place in places)
    return {sku: a[sku] for sku in a if sku in b}


def _on_hand(chosen: Sequence[Sequence[Filled]], shared: dict[str, int]) -> NDArray[np.bool_]:
    """Which combinations, as an array with an axis per place, the shared shelves allow."""
    allowed = np.ones([len(filled) for filled in chosen], dtype=bool)
    for sku, on_hand in shared.items():
        a, b = (np.array([f.taken(sku) for f in filled]) for filled in chosen)
        allowed &= a[:, None] + b[None, :] <= on_hand
    return allowed
