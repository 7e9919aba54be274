"""The best directions of runs that were chosen: the closed forms of ``search``, rule 5, for many tuples at once.

Arrays have the shape (ends, n): the combinations of interval ends taken by the bound runs, times n tuples.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product

import numpy as np

from .runs import Complexes, Floats, Ints, Runs

ANGLE_TOLERANCE = 1e-9
"""Floating-point room when asking whether a direction is in its interval, or two runs overlap [rad]."""

MAX_FREE = 3


def best_directions(target: complex, runs: Runs, picks: Ints) -> tuple[Floats, Floats]:
    """The least residual [g·mm] of each tuple, shape (n,), and its directions [rad], shape (count, n).

    picks has the shape (n, count). A tuple that can't be placed without overlap has the residual inf.
    """
    chosen = Chosen(target, runs, picks)
    n, count = picks.shape
    best, best_angles = np.full(n, np.inf), np.zeros((count, n))
    for angles in chosen.candidates():
        residual = chosen.residual(angles)
        row = residual.argmin(axis=0)
        least = residual[row, np.arange(n)]
        better = least < best
        best = np.where(better, least, best)
        for k, angle in enumerate(angles):
            best_angles[k] = np.where(better, angle[row, np.arange(n)], best_angles[k])
    return best, best_angles


class Chosen:
    """Tuples of runs, column by column: each attribute is a list of arrays of shape (1, n)."""

    def __init__(self, target: complex, runs: Runs, picks: Ints) -> None:
        columns = [column[None, :] for column in picks.T]
        self.target = target
        self.count = len(columns)
        self.size = [runs.size[c] for c in columns]
        self.centre = [runs.centre[c] for c in columns]
        self.slack = [runs.slack[c] for c in columns]
        self.behind = [runs.behind[c] for c in columns]
        self.ahead = [runs.ahead[c] for c in columns]

    def candidates(self) -> Iterator[list[Floats]]:
        """All directions that can be best, as one array of shape (ends, n) per run."""
        everyone = range(self.count)
        for free_count in range(min(self.count, MAX_FREE) + 1):
            for free in combinations(everyone, free_count):
                yield from self._with_free(free, [k for k in everyone if k not in free])

    def _with_free(self, free: tuple[int, ...], bound: list[int]) -> Iterator[list[Floats]]:
        ends = np.array(list(product((-1.0, 1.0), repeat=len(bound)))).reshape(2 ** len(bound), len(bound), 1)
        at_end = {k: self.centre[k] + ends[:, i] * self.slack[k] for i, k in enumerate(bound)}
        wanted = np.full((1, self.size[0].shape[1]), self.target)
        for k, angle in at_end.items():
            wanted = wanted - self.size[k] * np.exp(1j * angle)
        for solved in self._free_directions(wanted, free):
            angles = at_end | dict(zip(free, solved, strict=True))
            yield [np.broadcast_to(angles[k], wanted.shape) for k in range(self.count)]

    def _free_directions(self, wanted: Complexes, free: tuple[int, ...]) -> Iterator[list[Floats]]:
        """The closed forms: nearest (one free), meeting or opposed (two), a leader and an opposed pair (three)."""
        match free:
            case ():
                yield []
            case (k,):
                off = wrapped(np.angle(wanted) - self.centre[k])
                yield [self.centre[k] + np.clip(off, -self.slack[k], self.slack[k])]
            case (j, k):
                yield from two_circles(wanted, self.size[j], self.size[k])
                towards = np.angle(wanted)
                yield [towards, towards + np.pi]
                yield [towards + np.pi, towards]
            case (leader, j, k):
                longer = self.size[j] - self.size[k]
                for of_leader, of_pair in two_circles(wanted, self.size[leader], np.abs(longer)):
                    of_j = np.where(longer >= 0, of_pair, of_pair + np.pi)
                    yield [of_leader, of_j, of_j + np.pi]

    def residual(self, angles: list[Floats]) -> Floats:
        """|T − Σ a e^{iθ}| [g·mm]; inf where a run leaves its interval or overlaps another."""
        total = sum((size * np.exp(1j * angle) for size, angle in zip(self.size, angles, strict=True)), 0j)
        misfit = np.zeros(angles[0].shape, dtype=bool)
        for k, angle in enumerate(angles):  # "not inside" rather than "outside": a nan is neither
            misfit |= ~(np.abs(wrapped(angle - self.centre[k])) <= self.slack[k] + ANGLE_TOLERANCE)
        for j, k in combinations(range(self.count), 2):
            apart = (angles[k] - angles[j]) % (2 * np.pi)
            misfit |= apart < self.ahead[j] + self.behind[k] - ANGLE_TOLERANCE
            misfit |= 2 * np.pi - apart < self.behind[j] + self.ahead[k] - ANGLE_TOLERANCE
        return np.where(misfit, np.inf, np.abs(self.target - total))


def wrapped(angle: Floats) -> Floats:
    """The same angles in [−π, π) [rad]."""
    return (angle + np.pi) % (2 * np.pi) - np.pi


def two_circles(wanted: Complexes, a: Floats, b: Floats) -> Iterator[list[Floats]]:
    """Directions [rad] in which sizes a and b add up to a vector, by the law of cosines; nan where they can't."""
    distance = np.maximum(np.abs(wanted), np.finfo(float).tiny)
    with np.errstate(over="ignore"):
        cosine = (distance**2 + a**2 - b**2) / (2 * distance * a)
    turn = np.arccos(np.where(np.abs(cosine) <= 1, cosine, np.nan))
    for side in (turn, -turn):
        of_a = np.angle(wanted) + side
        yield [of_a, np.angle(wanted - a * np.exp(1j * of_a))]
