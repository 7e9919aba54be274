"""Least effort by optimisers of another kind: brute force over masses, descent, and scipy's polish.

The bodies that may be at a place are listed by ``own_problem``. Each choice of bodies is tried from some starts: a
descent, a direction at a time, to where little is left; then P by coarse lines; then the best few are polished by
``scipy.optimize`` (SLSQP) with fine ones. Nothing is proven: what is found can be had, no more.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np

from rimpoise_service.physics.arrays import Floats
from tests.planning.descent import Found, Rows, admitted_rows, descended, polished
from tests.planning.own_problem import CALLED_SPOT, DEG, LEAST_PROBABILITY, TINY, Body, OwnPlace, OwnProblem

LIP, LIP_BESIDE = 30 * DEG, 60 * DEG
POLISHED = 6
MOST_ROWS = 8_000
MOST_PAIRS = 150
AT_ONCE = 2_000


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
) -> Rows:
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
) -> Rows:
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
    return Rows(tuple(b for b, _ in kept), parts, low, high, least, most, handling, cost)


def _best_of(problem: OwnProblem, place_of: Sequence[int], rows: Rows, best: Found | None) -> Found | None:
    angle = descended(problem, place_of, rows)
    p = np.concatenate(
        [
            problem.pass_probability(place_of, rows.parts[at], angle[at], fine=False)
            for at in np.array_split(np.arange(len(rows)), len(rows) // AT_ONCE + 1)
            if len(at)
        ]
    )
    admitted = admitted_rows(problem, place_of, rows, angle)
    effort = np.where(
        admitted & (p > LEAST_PROBABILITY / 2), _expected(problem, rows, np.maximum(p, 1e-6)), np.inf
    )
    for i in np.argsort(effort, kind="stable")[:POLISHED]:
        if not np.isfinite(effort[i]) or (best is not None and effort[i] > best.effort + 0.3):
            break
        found = polished(problem, place_of, rows.row(int(i)), angle[i])
        if found is not None and (best is None or found.effort < best.effort):
            best = found
    return best


def _expected(problem: OwnProblem, rows: Rows, p: Floats) -> Floats:
    return np.asarray((rows.handling + (1 - p) * problem.effort.respin_min) / p + rows.cost)
