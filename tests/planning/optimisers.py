"""Least effort by optimisers of another kind: brute force over masses, descent, and scipy's polish.

The bodies that may be at a place are listed by ``own_problem``. Each choice of bodies is tried from some starts: a
descent, a direction at a time, to where little is left; then P by coarse lines; then the best few are polished by
``scipy.optimize`` (SLSQP) with fine ones. Nothing is proven: what is found can be had, no more.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, minimize

from tests.planning.own_problem import (
    CALLED_SPOT,
    DEG,
    LEAST_PROBABILITY,
    TINY,
    Body,
    Complexes,
    Floats,
    OwnPlace,
    OwnProblem,
)

LIP, LIP_BESIDE = 30 * DEG, 60 * DEG
SWEEPS = 10
POLISHED = 6
MOST_ROWS = 8_000
MOST_PAIRS = 150
AT_ONCE = 2_000


@dataclass(frozen=True)
class Found:
    """The best filling found: bodies, whose they are, and their directions [rad].

    effort [min] and probability: linear; told_effort [min]: with the chance that is told.
    """

    effort: float
    probability: float
    told_effort: float
    place_of: tuple[int, ...]
    bodies: tuple[Body, ...]
    angle: tuple[float, ...]


@dataclass(frozen=True)
class _Rows:
    """Choices of bodies with boxes of directions [rad], (n, k); gaps: to the body before it [rad], (n, k)."""

    bodies: tuple[tuple[Body, ...], ...]
    parts: Complexes
    low: Floats
    high: Floats
    least_gap: Floats
    most_gap: Floats
    handling: Floats
    cost: Floats

    def row(self, i: int) -> _Rows:
        """One of them."""
        one = slice(i, i + 1)
        columns = (self.low, self.high, self.least_gap, self.most_gap, self.handling, self.cost)
        return _Rows(self.bodies[one], self.parts[one], *(c[one] for c in columns))

    def __len__(self) -> int:
        return len(self.bodies)


def least_effort(problem: OwnProblem) -> Found | None:
    """The best filling of all places; None if none passes. Strips may point anywhere only if nothing else does."""
    found = _search(problem, anywhere=False)
    if (found is None or found.probability < 0.5) and any(p.anywhere for p in problem.places):
        other = _search(problem, anywhere=True)
        if other is not None and (found is None or other.effort < found.effort):
            return other
    return found


def _search(problem: OwnProblem, *, anywhere: bool) -> Found | None:
    counts = itertools.product(*(range(1, p.max_pieces + 1) for p in problem.places))
    best: Found | None = None
    for count in sorted(counts, key=sum):
        place_of = tuple(p for p, n in enumerate(count) for _ in range(n))
        choices = [list(_fillings(problem, p, n, best, anywhere=anywhere)) for p, n in enumerate(count)]
        rows = _rows(problem, place_of, choices, best)
        if len(rows):
            found = _best_of(problem, place_of, rows, best)
            best = found if best is None or (found is not None and found.effort < best.effort) else best
    return best


def _room(problem: OwnProblem, p: int, *, passes_seldom: bool) -> float:
    """How far from its exact correction a place may stay so that limits can be kept, with something to spare."""
    place = problem.places[p]
    if len(problem.places) == 2 and len(problem.before) == 2:
        other = problem.places[1 - p].gain
        seen = np.array([other[1], -other[0]])
        limit = float(np.abs(seen) @ problem.limits[:2])
    else:
        seen, limit = np.ones(len(problem.before)), float(problem.limits[-1])
    return limit * (4.0 if passes_seldom else 1.2) / abs(float(seen @ place.gain))


def _fillings(
    problem: OwnProblem, p: int, count: int, best: Found | None, *, anywhere: bool
) -> Iterator[tuple[Body, ...]]:
    """One body, or two apart, that come near enough to the exact correction."""
    place = problem.places[p]
    room = _room(problem, p, passes_seldom=best is None or best.probability < 0.5)
    singles = place.anywhere if anywhere and place.anywhere else place.bodies
    if count == 1:
        yield from ((b,) for b in singles if _distance(place, [b]) <= room)
        return
    pairs = (
        (_distance(place, [one, other]), one, other)
        for one, other in itertools.product(_alone(place.beside if place.clips else singles), repeat=2)
        if _may_be(place, one, other)
    )
    near = sorted((x for x in pairs if x[0] <= room), key=lambda x: (x[0] > 0, x[1].mass_g + x[2].mass_g, x[0]))
    yield from (_clipped(place, one, other) for _, one, other in near[:MOST_PAIRS])


def _alone(bodies: Sequence[Body]) -> list[Body]:
    return [b for b in bodies if len(b.parts) == 1]


def _may_be(place: OwnPlace, one: Body, other: Body) -> bool:
    """Whether the second may come after the first, clockwise, with room between, and lip that is not too free."""
    if one.high + one.ahead < other.low - other.behind:
        narrowest = other.low - other.behind - one.high - one.ahead
    else:
        narrowest = 0.0
    if not place.clips and one.parts[0].sku != other.parts[0].sku:
        return False  # strips of one kind go together
    widest = other.high - other.behind - one.low - one.ahead
    return widest >= -TINY and (not place.clips or narrowest <= _lip(one, other) + TINY)


def _lip(one: Body, other: Body) -> float:
    return LIP if one.stretch == other.stretch else LIP_BESIDE


def _clipped(place: OwnPlace, one: Body, other: Body) -> tuple[Body, ...]:
    """Two clip-ons in one stretch keep within 30° each; beside a keep-out within 45°."""
    if not place.clips or one.stretch != other.stretch:
        return one, other
    inner = {(b.parts, b.stretch): b for b in place.bodies}
    return tuple(inner.get((b.parts, b.stretch), b) for b in (one, other))


def _distance(place: OwnPlace, bodies: Sequence[Body]) -> float:
    """How near to the exact correction bodies can come, at the best: by the discs about their arcs."""
    middle, reach = 0j, 0.0
    for b in bodies:
        half = min((b.high - b.low) / 2, math.pi / 2)
        middle += b.size * math.cos(half) * np.exp(0.5j * (b.low + b.high))
        reach += b.size * math.sin(half)
    return max(float(abs(middle - abs(place.required))) - reach, 0.0)


def _rows(
    problem: OwnProblem, place_of: Sequence[int], choices: Sequence[list[tuple[Body, ...]]], best: Found | None
) -> _Rows:
    """Every choice that the shelves have and that may still be the best, with each set of marks."""
    limit = math.inf if best is None else best.effort
    kept: list[tuple[tuple[Body, ...], tuple[bool, ...]]] = []
    for chosen in itertools.product(*choices):
        bodies = tuple(b for filling in chosen for b in filling)
        floor = problem.expected(sum(b.fit_min for b in bodies), 1.0, problem.cost(bodies))
        if floor >= limit or not problem.enough(bodies):
            continue
        for marks in itertools.product((False, True), repeat=len(bodies)):
            if all(m or _at_called_spot(b) for m, b in zip(marks, bodies, strict=True)):
                kept += [(bodies, marks)]
    mark_min = problem.effort.mark_min
    kept.sort(key=lambda row: sum(b.fit_min for b in row[0]) + mark_min * sum(row[1]) + problem.cost(row[0]))
    return _arrays(problem, place_of, kept[:MOST_ROWS])


def _at_called_spot(body: Body) -> bool:
    return body.low <= CALLED_SPOT and body.high >= -CALLED_SPOT


def _arrays(
    problem: OwnProblem, place_of: Sequence[int], kept: Sequence[tuple[tuple[Body, ...], tuple[bool, ...]]]
) -> _Rows:
    k, n = len(place_of), len(kept)
    parts = np.zeros((n, k, 2), dtype=complex)
    low, high = np.zeros((n, k)), np.zeros((n, k))
    least, most = np.full((n, k), -np.inf), np.full((n, k), np.inf)
    handling, cost = np.zeros(n), np.zeros(n)
    for i, (bodies, marks) in enumerate(kept):
        for j, (b, marked) in enumerate(zip(bodies, marks, strict=True)):
            for q, part in enumerate(b.parts):
                parts[i, j, q] = part.size * np.exp(1j * part.offset)
            low[i, j], high[i, j] = (
                (b.low, b.high) if marked else (max(b.low, -CALLED_SPOT), min(b.high, CALLED_SPOT))
            )
            if j and place_of[j] == place_of[j - 1]:
                least[i, j] = bodies[j - 1].ahead + b.behind
                clips = problem.places[place_of[j]].clips
                most[i, j] = least[i, j] + (_lip(bodies[j - 1], b) if clips else 2 * math.pi)
                if not clips:  # nor may they meet on the far side
                    most[i, j] = 2 * math.pi - bodies[j - 1].behind - b.ahead
        handling[i] = sum(b.fit_min for b in bodies) + problem.effort.mark_min * sum(marks)
        cost[i] = problem.cost(bodies)
    return _Rows(tuple(b for b, _ in kept), parts, low, high, least, most, handling, cost)


def _best_of(problem: OwnProblem, place_of: Sequence[int], rows: _Rows, best: Found | None) -> Found | None:
    angle = _descended(problem, place_of, rows)
    p = np.concatenate(
        [
            problem.pass_probability(place_of, rows.parts[at], angle[at], fine=False)
            for at in np.array_split(np.arange(len(rows)), len(rows) // AT_ONCE + 1)
            if len(at)
        ]
    )
    admitted = _admitted(problem, place_of, rows, angle)
    effort = np.where(
        admitted & (p > LEAST_PROBABILITY / 2), _expected(problem, rows, np.maximum(p, 1e-6)), np.inf
    )
    for i in np.argsort(effort, kind="stable")[:POLISHED]:
        if not np.isfinite(effort[i]) or (best is not None and effort[i] > best.effort + 0.3):
            break
        found = _polished(problem, place_of, rows.row(int(i)), angle[i])
        if found is not None and (best is None or found.effort < best.effort):
            best = found
    return best


def _expected(problem: OwnProblem, rows: _Rows, p: Floats) -> Floats:
    return np.asarray((rows.handling + (1 - p) * problem.effort.respin_min) / p + rows.cost)


def _admitted(problem: OwnProblem, place_of: Sequence[int], rows: _Rows, angle: Floats) -> NDArray[np.bool_]:
    """Whether nothing judged is both outside its limit and worse than before, and neighbours keep their gaps."""
    seen = np.abs(problem.seen(problem.left(place_of, _vectors(problem, place_of, rows, angle))))
    apart = np.diff(angle, axis=1, prepend=0.0)
    gaps = (apart >= rows.least_gap - 1e-7) & (apart <= rows.most_gap + 1e-7)
    return np.asarray((seen <= problem.ceilings).all(axis=1) & gaps.all(axis=1))


def _vectors(problem: OwnProblem, place_of: Sequence[int], rows: _Rows, angle: Floats) -> Complexes:
    return np.asarray(rows.parts.sum(axis=2) * np.exp(1j * (angle + problem.towards(place_of))))


def _descended(problem: OwnProblem, place_of: Sequence[int], rows: _Rows) -> Floats:
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


def _starts(rows: _Rows) -> Iterator[Floats]:
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


def _into(wanted: Floats, rows: _Rows, angle: Floats, j: int) -> Floats:
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


def _polished(problem: OwnProblem, place_of: Sequence[int], row: _Rows, start: Floats) -> Found | None:
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

    gaps = np.flatnonzero(np.isfinite(row.least_gap[0]))
    constraint = [
        LinearConstraint(np.eye(k)[j] - np.eye(k)[j - 1], row.least_gap[0, j], row.most_gap[0, j]) for j in gaps
    ]
    done = minimize(
        value,
        start,
        jac=slope,
        bounds=Bounds(row.low[0], row.high[0]),
        constraints=constraint,
        method="SLSQP",
        options={"ftol": 1e-7, "maxiter": 60},
    )
    best: Found | None = None
    for angle in (start, np.clip(done.x, row.low[0], row.high[0])):
        if not _admitted(problem, place_of, row, angle[None])[0]:
            continue
        p = math.exp(-value(angle))
        handling = problem.handling(row.bodies[0], angle.tolist())
        effort = problem.expected(handling, p, float(row.cost[0]))
        if p >= LEAST_PROBABILITY and (best is None or effort < best.effort):
            told = problem.reported_probability(place_of, row.parts[0], angle)
            told_effort = problem.expected(handling, told, float(row.cost[0]))
            best = Found(effort, p, told_effort, tuple(place_of), row.bodies[0], tuple(angle.tolist()))
    return best
