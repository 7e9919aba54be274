"""Choices of bodies moved to where they leave little, by descent, and to where they pass most often, by scipy."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, minimize

from rimpoise_service.physics.arrays import Complexes, Floats
from tests.planning.own_problem import DEG, LEAST_PROBABILITY, Body, OwnProblem

SWEEPS = 10


@dataclass(frozen=True)
class Found:
    """The best filling found: bodies, whose they are, and their directions [rad].

    effort [min] and probability: linear; reported_effort [min]: with the chance that is reported.
    """

    effort: float
    probability: float
    reported_effort: float
    place_of: tuple[int, ...]
    bodies: tuple[Body, ...]
    angle: tuple[float, ...]


@dataclass(frozen=True)
class Rows:
    """Choices of bodies with boxes of directions [rad], (n, k); gaps: to the body before it [rad], (n, k)."""

    bodies: tuple[tuple[Body, ...], ...]
    parts: Complexes
    low: Floats
    high: Floats
    least_gap: Floats
    most_gap: Floats
    handling: Floats
    cost: Floats

    def row(self, i: int) -> Rows:
        """One of them."""
        one = slice(i, i + 1)
        columns = (self.low, self.high, self.least_gap, self.most_gap, self.handling, self.cost)
        return Rows(self.bodies[one], self.parts[one], *(c[one] for c in columns))

    def __len__(self) -> int:
        return len(self.bodies)


def admitted_rows(problem: OwnProblem, place_of: Sequence[int], rows: Rows, angle: Floats) -> NDArray[np.bool_]:
    """Whether nothing judged is both outside its limit and worse than before, and neighbours keep their gaps."""
    seen = np.abs(problem.seen(problem.left(place_of, vectors_of(problem, place_of, rows, angle))))
    apart = np.diff(angle, axis=1, prepend=0.0)
    gaps = (apart >= rows.least_gap - 1e-7) & (apart <= rows.most_gap + 1e-7)
    return np.asarray((seen <= problem.ceilings).all(axis=1) & gaps.all(axis=1))


def vectors_of(problem: OwnProblem, place_of: Sequence[int], rows: Rows, angle: Floats) -> Complexes:
    return np.asarray(rows.parts.sum(axis=2) * np.exp(1j * (angle + problem.towards(place_of))))


def descended(problem: OwnProblem, place_of: Sequence[int], rows: Rows) -> Floats:
    """Directions that leave little, in limits squared and added up; the best of some starts."""
    gain = np.array([problem.places[p].gain for p in place_of])
    shown = np.concatenate([gain, gain.sum(axis=1, keepdims=True)], axis=1) if gain.shape[1] > 1 else gain
    weight = 1 / problem.limits**2
    towards, size = problem.towards(place_of), np.abs(rows.parts.sum(axis=2))
    best, least = np.zeros_like(rows.low), np.full(len(rows), np.inf)
    for start in _starts(rows):
        angle = start.copy()
        for _ in range(SWEEPS):
            for j in range(len(place_of)):
                vector = size * np.exp(1j * (angle + towards))
                others = problem.seen(problem.before)[None] + (vector @ shown) - vector[:, j, None] * shown[j]
                pull = -(others * (weight * shown[j])).sum(axis=1)
                wanted = np.angle(pull * np.exp(-1j * towards[j]))
                angle[:, j] = _into(wanted, rows, angle, j)
        seen = problem.seen(problem.before)[None] + (size * np.exp(1j * (angle + towards))) @ shown
        square = (np.abs(seen) ** 2 * weight).sum(axis=1)
        better = square < least
        best[better], least[better] = angle[better], square[better]
    return best


def _starts(rows: Rows) -> Iterator[Floats]:
    """At the called spot, or apart by so much and no less than neighbours need."""
    paired = np.isfinite(rows.least_gap)
    for apart in (0.0, 20 * DEG, 50 * DEG, 100 * DEG):
        angle = np.clip(0.0, rows.low, rows.high)
        for j in np.flatnonzero(paired.any(axis=0)):
            gap = np.clip(apart, rows.least_gap[:, j], rows.most_gap[:, j])
            angle[:, j - 1] = np.clip(-gap / 2, rows.low[:, j - 1], rows.high[:, j - 1])
            angle[:, j] = np.clip(angle[:, j - 1] + gap, rows.low[:, j], rows.high[:, j])
            angle[:, j - 1] = np.clip(angle[:, j] - gap, rows.low[:, j - 1], rows.high[:, j - 1])
        yield angle
        if not paired.any():
            return


def _into(wanted: Floats, rows: Rows, angle: Floats, j: int) -> Floats:
    """The direction nearest to the wanted one in its box and between its neighbours."""
    low, high = rows.low[:, j].copy(), rows.high[:, j].copy()
    if np.isfinite(rows.least_gap[:, j]).any():
        low = np.maximum(low, angle[:, j - 1] + rows.least_gap[:, j])
        high = np.minimum(high, angle[:, j - 1] + rows.most_gap[:, j])
    if j + 1 < angle.shape[1] and np.isfinite(rows.least_gap[:, j + 1]).any():
        high = np.minimum(high, angle[:, j + 1] - rows.least_gap[:, j + 1])
        low = np.maximum(low, angle[:, j + 1] - rows.most_gap[:, j + 1])
    middle = (low + high) / 2
    near = middle + np.remainder(wanted - middle + np.pi, 2 * np.pi) - np.pi
    return np.asarray(np.where(high >= low, np.clip(near, low, np.maximum(low, high)), angle[:, j]))


def _gaps(row: Rows) -> list[LinearConstraint]:
    """How far apart neighbours must stay and may be."""
    one = np.eye(row.low.shape[1])
    paired = np.flatnonzero(np.isfinite(row.least_gap[0]))
    return [LinearConstraint(one[j] - one[j - 1], row.least_gap[0, j], row.most_gap[0, j]) for j in paired]


def polished(problem: OwnProblem, place_of: Sequence[int], row: Rows, start: Floats) -> Found | None:
    """The same bodies where they pass most often."""
    k = len(start)

    def minus_log(angles: Floats) -> Floats:
        parts = np.repeat(row.parts, len(angles), axis=0)
        return np.asarray(
            -np.log(np.maximum(problem.pass_probability(place_of, parts, angles, fine=True), 1e-300))
        )

    def value(angle: Floats, /) -> float:
        return float(minus_log(angle[None])[0])

    def slope(angle: Floats, /) -> Floats:
        step = 1e-4 * np.eye(k)
        both = minus_log(np.concatenate([angle + step, angle - step]))
        return np.asarray((both[:k] - both[k:]) / 2e-4)

    done = minimize(
        value,
        start,
        jac=slope,
        bounds=Bounds(row.low[0], row.high[0]),
        constraints=_gaps(row),
        method="SLSQP",
        options={"ftol": 1e-7, "maxiter": 60},
    )
    best: Found | None = None
    for angle in (start, np.clip(done.x, row.low[0], row.high[0])):
        if not admitted_rows(problem, place_of, row, angle[None])[0]:
            continue
        p = math.exp(-value(angle))
        handling = problem.handling(row.bodies[0], angle.tolist())
        effort = problem.expected(handling, p, float(row.cost[0]))
        if p >= LEAST_PROBABILITY and (best is None or effort < best.effort):
            reported = problem.reported_probability(place_of, row.parts[0], angle)
            reported_effort = problem.expected(handling, reported, float(row.cost[0]))
            best = Found(effort, p, reported_effort, tuple(place_of), row.bodies[0], tuple(angle.tolist()))
    return best
