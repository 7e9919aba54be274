"""The filling that leaves the least share of the limits, where none passes even once in a hundred times.

Branch and bound over the same nodes as ``joint_solver``, with another bound: what a judged quantity can't come
nearer to 0 than, in limits. So "nothing helps" is said only where no box of directions could leave less than
before.

The largest share may be one plane's alone, whatever is fitted elsewhere; so of the fillings that leave as little,
nearly, one is sought that leaves least in both planes: a place at a time, the other as it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import count, product

import numpy as np

from ..physics.arrays import TINY, Floats, Ints
from .candidates import Combinations, Shape, in_order
from .joint_solver import JointSolver
from .neighbours import may_stand, moved, stands
from .nodes import Level, Nodes, Roots
from .shape_candidates import ShapeCandidates

BATCH = 64
ROUNDS = (1, 4)
"""How long each level is searched once a filling helps: briefly, so that every level is seen; then longer. More is
not worth it: it passes hardly ever whatever is done."""

CLOSE, HELPS = 0.02, 0.005
"""How much less must be left, relative to it, to be better than another filling, and than no weight: for half a
hundredth of what is over its limit nobody fits weights."""

NODE_WORK, TURN_WORK, OPEN_NODES = 6, 100, 4
"""To bound a node, and to turn its blocks to where they leave least: as long as so many lines take; and how many
open nodes are kept in order while one does."""

SQUARES_PER_MIN = 0.5
"""What a minute of handling must take off the planes' squared shares of limits: a clip-on, half of a limit."""

PLANES = np.array([1.0, 1.0, 0.0])
"""Of what is judged, the two planes; not their sum."""

REWEIGHTED = 12
"""Rounds of Lawson's algorithm, which makes the largest share the least by weighted least squares."""


@dataclass(frozen=True)
class LeastRatio:
    """Level, blocks and directions [rad], and the largest share of a limit that they leave.

    parts: the combination at each place, of one row.
    """

    level: Level
    block: Ints
    angle: Floats
    ratio: float
    parts: tuple[Combinations, ...]

    def fixed(self, p: int) -> Combinations:
        """The combination at a place, its blocks where they point."""
        angle = self.angle[None, self.level.blocks_of[p]] - self.level.places[p].towards
        return replace(self.parts[p], low=angle, high=angle)


def least_ratio(solver: JointSolver) -> LeastRatio | None:
    """The filling that leaves least, of all shapes; None where none leaves less than before.

    The solver's budget is exhausted where some that might leave less were left out.
    """
    budget, before = solver.budget, float(solver.judged.ratios(solver.judged.before).max())
    best: LeastRatio | None = None
    levels, whole = sorted(solver.least_handling, key=lambda shapes: _easiest(solver, shapes)), True
    for rounds, shapes in product(ROUNDS, levels):
        if budget.exhausted or (best is None and rounds > ROUNDS[0]):
            break
        goal = before * (1 - HELPS) if best is None else best.ratio * (1 - CLOSE)
        parts, complete = solver.parts(shapes, [solver.room_within(p, goal) for p in range(len(shapes))])
        kept = solver.fewer(shapes, parts, budget.left // (2 * NODE_WORK))
        whole &= complete and list(map(len, kept)) == list(map(len, parts))
        if all(len(part) for part in kept):
            best = _search(solver, shapes, kept, goal, best, rounds)
    budget.exhausted |= not whole
    if best is not None and len(solver.judged.before) > 1:
        for p in range(len(solver.places)):
            best = _evened(solver, best, p)
    return best


def _evened(solver: JointSolver, best: LeastRatio, p: int) -> LeastRatio:
    """What leaves least in both planes of all that fits at a place, the largest share being nearly the same."""
    budget, most = solver.budget, best.ratio * (1 + CLOSE)
    found, least = best, math.inf
    for shape in solver.places[p].shapes:
        shapes = tuple(shape if q == p else other for q, other in enumerate(best.level.shapes))
        part, _ = ShapeCandidates(solver.places[p], shape, budget).within(solver.room_within(p, most))
        parts = [part if q == p else best.fixed(q) for q in range(len(shapes))]
        parts = solver.fewer(shapes, parts, budget.left // TURN_WORK)
        if budget.exhausted or not all(len(part) for part in parts):
            continue
        level = Level(solver.judged, solver.places, shapes)
        nodes, roots = solver.together(parts)
        budget.charge(TURN_WORK * len(nodes))
        box = roots.low[nodes.root], roots.high[nodes.root]
        angle = moved(level, nodes.block, level.best_angles(nodes, PLANES[None]), box, roots.lips[nodes.root])
        shares = level.judged.ratios(level.left(nodes.block, angle))
        worth = np.square(shares) @ PLANES + SQUARES_PER_MIN * nodes.handling
        worth = np.where(shares.max(axis=1, initial=0.0) <= most, worth, math.inf)
        at = in_order(worth)[:BATCH]
        at = at[(worth[at] < least) & stands(level, nodes.block[at], angle[at], roots.lips[nodes.root[at]])]
        if len(at):
            i = at[0]
            least, chosen = float(worth[i]), _rows(parts, int(nodes.root[i]))
            found = LeastRatio(level, nodes.block[i], angle[i], float(shares[i].max()), chosen)
    return found


def _rows(parts: Sequence[Combinations], root: int) -> tuple[Combinations, ...]:
    """The combination of each place that a root was made of."""
    at = np.unravel_index(root, [len(part) for part in parts])
    return tuple(part[[int(row)]] for part, row in zip(parts, at, strict=True))


def _easiest(solver: JointSolver, shapes: tuple[Shape, ...]) -> tuple[int, float]:
    """The most blocks at a place, for combinations of several are many, then the least handling [min]."""
    return max(shape.blocks for shape in shapes), solver.least_handling[shapes]


def _search(
    solver: JointSolver,
    shapes: tuple[Shape, ...],
    parts: list[Combinations],
    goal: float,
    best: LeastRatio | None,
    rounds: int,
) -> LeastRatio | None:
    budget, level = solver.budget, Level(solver.judged, solver.places, shapes)
    nodes, roots = solver.together(parts)
    budget.charge(NODE_WORK * len(nodes))
    bound = _least_left(level, nodes, roots)
    for number in count():
        nodes, bound = nodes[bound < goal], bound[bound < goal]
        work = (TURN_WORK + 2 * NODE_WORK) * min(BATCH, len(nodes)) + len(nodes) // OPEN_NODES
        if not len(nodes) or (best is not None and number >= rounds) or not budget.spend(work):
            break
        order = in_order(bound)
        batch, rest = nodes[order[:BATCH]], order[BATCH:]
        angle, ratio = _turned(level, batch)
        ratio = np.where(stands(level, batch.block, angle, roots.lips[batch.root]), ratio, math.inf)
        i = in_order(ratio)[0]
        if ratio[i] < goal:
            best = LeastRatio(level, batch.block[i], angle[i], float(ratio[i]), _rows(parts, int(batch.root[i])))
            goal = best.ratio * (1 - CLOSE)
        halves = batch.halves(level)
        nodes, bound = halves.and_more(nodes[rest]), np.append(_least_left(level, halves, roots), bound[rest])
    return best


def _least_left(level: Level, nodes: Nodes, roots: Roots) -> Floats:
    """Nodes leave at least this largest share of a limit, (n,); infinite where nothing in a box may be fitted."""
    apart_from_zero = level.apart_from_zero(nodes)
    possible = (apart_from_zero <= level.judged.ceilings).all(axis=1)
    possible &= may_stand(level, nodes, roots.lips[nodes.root])
    return np.where(possible, (apart_from_zero / level.judged.limits).max(axis=1), math.inf)


def _turned(level: Level, nodes: Nodes) -> tuple[Floats, Floats]:
    """Directions in each box that make the largest share of a limit small, and that share."""
    size = level.columns("size", nodes.block)
    weight = np.ones((len(nodes), len(level.judged.limits)))
    least, kept = np.full(len(nodes), math.inf), (nodes.low + nodes.high) / 2
    for _ in range(REWEIGHTED):
        angle = level.best_angles(nodes, weight)
        ratios = level.judged.ratios(level.residual(size, angle))
        largest = ratios.max(axis=1)
        better = largest < least
        least, kept = np.where(better, largest, least), np.where(better[:, None], angle, kept)
        shared = weight * ratios
        total = shared.sum(axis=1, keepdims=True)  # 0 where nothing is left: nothing to weigh again
        weight = np.where(total > 0, shared / np.maximum(total, TINY), weight)
    return kept, least
