"""The best directions of many combinations of blocks at once: the closed forms of ``branch_and_bound``, step 5.

Arrays of directions have the shape (rows, count, n): a row is one way to be at the ends of intervals or free,
count the number of blocks in a combination, n the number of combinations.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import combinations, product
from typing import NamedTuple

import numpy as np

from ..physics.arrays import TINY, Complexes, Floats, Ints
from .blocks import Blocks

ANGLE_TOLERANCE = 1e-9
"""Floating-point room when asking whether a direction is in its interval, or two blocks overlap [rad]."""

SOLUTIONS = (1, 1, 4, 2)
"""How many closed forms there are for none to three free blocks; more can't be free."""


class Chosen(NamedTuple):
    """What the closed forms need of the blocks that were chosen, each of shape (count, n)."""

    size: Floats
    centre: Floats
    slack: Floats
    behind: Floats
    ahead: Floats


def best_directions(target: complex, blocks: Blocks, picks: Ints) -> tuple[Floats, Floats]:
    """The least residual [g·mm] of each combination, shape (n,), and its directions [rad], shape (n, count).

    picks has the shape (n, count). A combination that can't be placed without overlap has the residual inf.
    """
    if picks.shape[1] == 1:  # alone, a block overlaps nothing
        block = picks[:, 0]
        angle = nearest(target, blocks.centre[block], blocks.slack[block])
        return np.abs(target - blocks.size[block] * np.exp(1j * angle)), angle[:, None]
    at = picks.T
    chosen = Chosen(blocks.size[at], blocks.centre[at], blocks.slack[at], blocks.behind[at], blocks.ahead[at])
    angles = candidate_directions(target, chosen)
    residual = residuals(target, chosen, angles)
    n = np.arange(len(picks))
    row = residual.argmin(axis=0)
    return residual[row, n], angles[row, :, n]


def candidate_directions(target: complex, chosen: Chosen) -> Floats:
    """All directions that can be best, shape (rows, count, n); nan where a closed form has no solution."""
    count, n = chosen.size.shape
    angles = np.empty((closed_forms(count), count, n))
    row = 0
    for free, bound, ends in _ways(count):
        at_ends = chosen.centre[bound] + ends[:, :, None] * chosen.slack[bound]
        wanted = target - (chosen.size[bound] * np.exp(1j * at_ends)).sum(axis=1)
        for solved in _free_directions(wanted, chosen, free):
            rows = angles[row : row + len(ends)]
            rows[:, bound] = at_ends
            for k, direction in zip(free, solved, strict=True):
                rows[:, k] = direction
            row += len(ends)
    return angles


@cache
def closed_forms(count: int) -> int:
    """How many closed forms are tried for a combination of that many blocks."""
    return sum(len(ends) * SOLUTIONS[len(free)] for free, _, ends in _ways(count))


@cache
def _ways(count: int) -> list[tuple[list[int], list[int], Floats]]:
    """Who is free, who is at an end, and all combinations of ends (−1, 1), shape (ends, bound)."""
    ways = []
    for free_count in range(min(count + 1, len(SOLUTIONS))):
        for free in combinations(range(count), free_count):
            bound = [k for k in range(count) if k not in free]
            ends = np.array(list(product((-1.0, 1.0), repeat=len(bound))))
            ways.append((list(free), bound, ends.reshape(2 ** len(bound), len(bound))))
    return ways


def _free_directions(wanted: Complexes, chosen: Chosen, free: list[int]) -> Iterator[list[Floats]]:
    """The closed forms, a list of directions per free block, each of the shape of wanted, (ends, n).

    One free: the nearest. Two: where the circles meet, or opposed. Three: a leader and an opposed pair.
    """
    match free:
        case []:
            yield []
        case [k]:
            yield [nearest(wanted, chosen.centre[k], chosen.slack[k])]
        case [j, k]:
            yield from two_circles(wanted, chosen.size[j], chosen.size[k])
            towards = np.angle(wanted)
            yield [towards, towards + np.pi]
            yield [towards + np.pi, towards]
        case [leader, j, k]:
            longer = chosen.size[j] - chosen.size[k]
            for of_leader, of_pair in two_circles(wanted, chosen.size[leader], np.abs(longer)):
                of_j = np.where(longer >= 0, of_pair, of_pair + np.pi)
                yield [of_leader, of_j, of_j + np.pi]


def residuals(target: complex, chosen: Chosen, angles: Floats) -> Floats:
    """|T − Σ a e^{iθ}| [g·mm], shape (rows, n); inf where a block leaves its interval or overlaps another."""
    total = (chosen.size * np.exp(1j * angles)).sum(axis=1)
    # Written so that nan counts as outside.
    inside = np.abs(wrapped(angles - chosen.centre)) <= chosen.slack + ANGLE_TOLERANCE
    placed = inside.all(axis=1)
    for j, k in combinations(range(len(chosen.size)), 2):
        apart = (angles[:, k] - angles[:, j]) % (2 * np.pi)
        placed &= apart >= chosen.ahead[j] + chosen.behind[k] - ANGLE_TOLERANCE
        placed &= 2 * np.pi - apart >= chosen.behind[j] + chosen.ahead[k] - ANGLE_TOLERANCE
    return np.where(placed, np.abs(target - total), np.inf)


def nearest(wanted: complex | Complexes, centre: Floats, slack: Floats) -> Floats:
    """The directions in the intervals that are nearest to a vector's [rad]."""
    off = wrapped(np.angle(wanted) - centre)
    return centre + np.maximum(np.minimum(off, slack), -slack)


def wrapped(angle: Floats) -> Floats:
    """The same angles in [−π, π) [rad].

    >>> wrapped(np.array([np.pi, 7.0])).tolist()
    [-3.141592, 0.716814]
    """
    return (angle + np.pi) % (2 * np.pi) - np.pi


def two_circles(wanted: Complexes, a: Floats, b: Floats) -> Iterator[list[Floats]]:
    """Directions [rad] in which sizes a and b add up to a vector, by the law of cosines; nan where they can't."""
    distance = np.maximum(np.abs(wanted), TINY)
    with np.errstate(over="ignore"):
        cosine = (distance**2 + a**2 - b**2) / (2 * distance * a)
    turn = np.arccos(np.where(np.abs(cosine) <= 1, cosine, np.nan))
    for side in (turn, -turn):
        of_a = np.angle(wanted) + side
        yield [of_a, np.angle(wanted - a * np.exp(1j * of_a))]
