"""Ways to fill one place: candidates of the search, and weights turned to whole degrees."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .places import Place
from .runs import Complexes, Floats, Ints, Options, Runs, Unit
from .search import ZERO_GMM, Candidate, search

MOST_RUNS = 1 << 20
"""More than any place has."""

DEGREES = np.radians(np.arange(360.0))
UNIT_DEGREES = np.exp(1j * DEGREES)
NOTHING = np.empty(0, dtype=complex), np.empty(0, dtype=np.intp), np.empty(0)


@dataclass(frozen=True, slots=True)
class Filled:
    """A way to fill a place: a candidate of the search among the place's options; or nothing."""

    options: Options | None
    candidate: Candidate

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
            return [Filled(None, Candidate((), (), 0j, abs(self.target), 0.0))]
        fewer = [f.candidate.residual for found in self._found[1:] for f in found[:1]]
        ceiling, best = min(fewer, default=np.inf), list[Filled]()
        for options in self.place.options:
            found = search(self.target, options.runs, pieces, ceiling, self.keep).candidates
            best += [Filled(options, candidate) for candidate in found]
            best = sorted(best, key=lambda f: f.candidate.residual)[: self.keep]
            if len(best) == self.keep:  # the next strip must beat the last of these
                ceiling = best[-1].candidate.residual - ZERO_GMM
        return best


@dataclass(frozen=True, slots=True)
class Ways:
    """Ways to fill a place as arrays: those of the search first, then runs turned to whole degrees.

    vectors [g·mm] of all, and keys that are equal where the weights are; which options, run and angle [rad] of
    the latter.
    """

    vectors: Complexes
    keys: Ints
    filled: list[Filled]
    options: list[Options]
    which: Ints
    run: Ints
    angle: Floats

    @classmethod
    def of(cls, slot: Slot, filled: list[Filled], pieces: int | None = None, leave_gmm: float = 0.0) -> Ways:
        """Those of the search; with a number of pieces, every run of so many at every whole degree besides that
        leaves no more than leave_gmm [g·mm]."""
        options = slot.place.options
        turned = [_at_whole_degrees(slot.target, o.runs, pieces, leave_gmm) for o in options if pieces is not None]
        vectors, run, angle = (np.concatenate(columns) for columns in zip(NOTHING, *turned, strict=True))
        which = np.repeat(np.arange(len(turned)), [len(t[0]) for t in turned])
        found = np.array([f.candidate.vector for f in filled], dtype=complex)
        keys = np.array([_key(options, f, ~i) for i, f in enumerate(filled)], dtype=np.intp)
        return cls(
            vectors=np.concatenate([found, vectors]),
            keys=np.concatenate([keys, which * MOST_RUNS + run]),
            filled=filled,
            options=options,
            which=which,
            run=run,
            angle=angle,
        )

    def __getitem__(self, index: int) -> Filled:
        if index < len(self.filled):
            return self.filled[index]
        at = index - len(self.filled)
        options, run = self.options[self.which[at]], int(self.run[at])
        vector, mass = complex(self.vectors[index]), float(options.runs.mass[run])
        return Filled(options, Candidate((run,), (float(self.angle[at]),), vector, np.nan, mass))


def _key(options: list[Options], filled: Filled, otherwise: int) -> int:
    """The key of a single run, whatever its direction; of anything else a number of its own."""
    if len(filled.candidate.runs) != 1:
        return otherwise
    which = next(i for i, o in enumerate(options) if o is filled.options)
    return which * MOST_RUNS + filled.candidate.runs[0]


def _at_whole_degrees(
    target: complex, runs: Runs, pieces: int, leave_gmm: float
) -> tuple[Complexes, Ints, Floats]:
    """Every run of that many pieces at every whole degree of its window that leaves no more than that [g·mm]."""
    some = np.flatnonzero((runs.pieces == pieces) & (np.abs(runs.size - abs(target)) <= leave_gmm))
    vectors = runs.size[some, None] * UNIT_DEGREES
    off_centre = np.abs((DEGREES - runs.centre[some, None] + np.pi) % (2 * np.pi) - np.pi)
    row, degree = np.nonzero((np.abs(target - vectors) <= leave_gmm) & (off_centre <= runs.slack[some, None]))
    return vectors[row, degree], some[row], DEGREES[degree]
