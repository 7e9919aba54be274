"""Ways to fill one place: candidates of the search, and weights turned to whole degrees."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from ..search.blocks import Complexes, FittedWeight, Floats, Ints, Options, TouchingBlocks
from ..search.branch_and_bound import ZERO_GMM, BlockCombination, WorkBudget, search
from ..search.closed_form import nearest, wrapped
from .places import Place

NO_RUN, NO_ANGLE = np.empty(0, dtype=np.intp), np.empty(0)
TURNED_AT_ONCE = 512
"""Runs turned through all whole degrees at a time, so that memory stays bounded."""

MAX_TURNED = 100_000
"""Ways with whole degrees in one place, for the same reason: limits so wide want no such care."""

DEGREES = np.radians(np.arange(360.0))
UNIT_DEGREES = np.exp(1j * DEGREES)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A way to fill a place: a candidate of the search among the place's options; or nothing."""

    options: Options | None
    candidate: BlockCombination

    @property
    def units(self) -> list[FittedWeight]:
        """Its weights."""
        if self.options is None:
            return []
        turned = zip(self.candidate.runs, self.candidate.angles, strict=True)
        return [unit for run, angle in turned for unit in self.options.units(run, angle)]

    def taken(self, shelves: Mapping[str, int]) -> Ints:
        """Pieces, or segments, taken from each of the shelves, in the order of their numbers."""
        count = np.zeros(len(shelves), dtype=np.intp)
        if self.options is not None:
            for sku, taken in chain.from_iterable(map(self.options.taken, self.candidate.runs)):
                if sku in shelves:
                    count[shelves[sku]] += taken
        return count


@dataclass(slots=True)
class CandidatePool:
    """A place with its target [g·mm]; ways to fill it are searched for when first asked for.

    leave_gmm: more than this may not be left here, whatever goes elsewhere. keep: how many ways. work: the
    searches' allowance.
    """

    place: Place
    target: complex
    leave_gmm: float
    keep: int
    work: WorkBudget
    _found: list[CandidateArrays] = field(default_factory=list)

    def ways(self, pieces: int) -> CandidateArrays:
        """The best ways to use exactly that many pieces, best first; none worse than fewer pieces leave."""
        while len(self._found) <= pieces:
            self._found.append(self._search(len(self._found)))
        return self._found[pieces]

    def hopeful(self, pieces: int) -> bool:
        """Whether that many pieces leave little enough here."""
        return self.ways(pieces).least <= self.leave_gmm

    def all_ways(self, fewest: int) -> CandidateArrays:
        """Those of every number of pieces from so many on, fewest first."""
        every = [self.ways(n) for n in range(fewest, self.place.max_pieces + 1)]
        return CandidateArrays.of([ways[k] for ways in every for k in range(len(ways))])

    def _search(self, pieces: int) -> CandidateArrays:
        if pieces == 0:
            return CandidateArrays.of([Candidate(None, BlockCombination((), (), 0j, abs(self.target), 0.0))])
        if pieces == 1:
            return self._single()
        upper_bound, best = min(ways.least for ways in self._found[1:]), list[Candidate]()
        for options in self.place.circle.options[pieces]:
            found = search(self.target, options.runs, pieces, upper_bound, self.keep, self.work).candidates
            best += [Candidate(options, candidate) for candidate in found]
            best = sorted(best, key=lambda f: (round(f.candidate.residual / ZERO_GMM), f.candidate.mass))[
                : self.keep
            ]
            if len(best) == self.keep:  # the next strip must beat the last of these
                upper_bound = best[-1].candidate.residual - ZERO_GMM
        return CandidateArrays.of(best)

    def _single(self) -> CandidateArrays:
        """One piece: every one of every option turned as near to the target as it may be."""
        one = self.place.circle.touching[1]
        angle = nearest(self.target, one.centre, one.slack)
        vector = one.size * np.exp(1j * angle)
        residual = abs(self.target - vector)
        best = np.lexsort((one.mass, (residual / ZERO_GMM).round()))[: self.keep]
        least = float(residual[best[0]]) if len(best) else np.inf
        return CandidateArrays(
            vectors=vector[best],
            masses=one.mass[best],
            filled=[],
            options=self.place.circle.options[1],
            which=one.options[best],
            run=one.run[best],
            angle=angle[best],
            least=least,
        )


@dataclass(frozen=True, slots=True)
class CandidateArrays:
    """Ways to fill a place as arrays: first those that are ``filled`` already, then single runs, turned somewhere.

    vectors [g·mm] and masses [g] of all; which options, run and angle [rad] of the latter. least: what the best
    leaves [g·mm], as far as it was searched for.
    """

    vectors: Complexes
    masses: Floats
    filled: list[Candidate]
    options: list[Options]
    which: Ints
    run: Ints
    angle: Floats
    least: float = np.inf

    @classmethod
    def of(cls, filled: list[Candidate]) -> CandidateArrays:
        """These alone, best first."""
        candidates = [f.candidate for f in filled]
        return cls(
            vectors=np.array([c.vector for c in candidates], dtype=complex),
            masses=np.array([c.mass for c in candidates]),
            filled=filled,
            options=[],
            which=NO_RUN,
            run=NO_RUN,
            angle=NO_ANGLE,
            least=min((c.residual for c in candidates), default=np.inf),
        )

    def and_whole_degrees(self, slot: CandidatePool, pieces: int, leave_gmm: float) -> CandidateArrays:
        """With every run of so many pieces at every whole degree that leaves no more of the target [g·mm].

        With none at all if they are more than MAX_TURNED; the search then counts as cut short.
        """
        all_runs = slot.place.circle.touching[pieces]
        (some,) = (abs(all_runs.size - abs(slot.target)) <= leave_gmm).nonzero()
        turned, count = [], 0
        for at in range(0, len(some), TURNED_AT_ONCE):
            turned.append(_turned(slot.target, all_runs, some[at : at + TURNED_AT_ONCE], leave_gmm))
            count += len(turned[-1][0])
            if count > MAX_TURNED:
                slot.work.exhausted = True
                return self
        if not count:
            return self
        vectors, of, angle = (np.concatenate(columns) for columns in zip(*turned, strict=True))
        return CandidateArrays(
            vectors=np.concatenate([self.vectors, vectors]),
            masses=np.concatenate([self.masses, all_runs.mass[of]]),
            filled=self.filled,
            options=slot.place.circle.options[pieces],
            which=np.concatenate([self.which, all_runs.options[of]]),
            run=np.concatenate([self.run, all_runs.run[of]]),
            angle=np.concatenate([self.angle, angle]),
            least=self.least,
        )

    def same_weights(self, index: int) -> NDArray[np.bool_]:
        """Which of all the ways take the same weights as one of them, whatever their directions."""
        this = self[index]
        if len(this.candidate.runs) != 1:
            only: NDArray[np.bool_] = np.arange(len(self)) == index
            return only
        (run,) = this.candidate.runs
        found = [f.options is this.options and f.candidate.runs == (run,) for f in self.filled]
        of_this = np.array([o is this.options for o in self.options], dtype=bool)
        return np.concatenate([np.array(found, dtype=bool), of_this[self.which] & (self.run == run)])

    def taken(self, skus: Sequence[str]) -> Ints:
        """What each way takes from each shelf: a row for a way, a column for a shelf."""
        shelves = {sku: k for k, sku in enumerate(skus)}
        found = [f.taken(shelves) for f in self.filled]
        # Turned to another degree it is the same weights: they are counted once.
        same = np.stack([self.which, self.run], axis=1)
        _, first, inverse = np.unique(same, axis=0, return_index=True, return_inverse=True)
        each = [self[len(found) + int(at)].taken(shelves) for at in first]
        nothing = np.empty((0, len(skus)), dtype=np.intp)
        turned = np.stack(each)[inverse.ravel()] if each else nothing
        return np.concatenate([np.stack(found) if found else nothing, turned])

    def __len__(self) -> int:
        return len(self.vectors)

    def __getitem__(self, index: int) -> Candidate:
        if index < len(self.filled):
            return self.filled[index]
        at = index - len(self.filled)
        options, run = self.options[self.which[at]], int(self.run[at])
        vector, mass = complex(self.vectors[index]), float(self.masses[index])
        return Candidate(options, BlockCombination((run,), (float(self.angle[at]),), vector, np.nan, mass))


def _turned(target: complex, runs: TouchingBlocks, some: Ints, leave_gmm: float) -> tuple[Complexes, Ints, Floats]:
    """Some of the runs at every whole degree of their windows that leaves no more than that [g·mm]."""
    size, centre, slack = (x[some, None] for x in (runs.size, runs.centre, runs.slack))
    vectors = size * UNIT_DEGREES
    inside = abs(wrapped(DEGREES - centre)) <= slack
    row, degree = ((abs(target - vectors) <= leave_gmm) & inside).nonzero()
    return vectors[row, degree], some[row], DEGREES[degree]
