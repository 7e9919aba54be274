"""What one batch of branching leaves open: all that was open, in boxes that cover it, with bounds that hold."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rimpoise_service.physics.arrays import Floats
from rimpoise_service.planning import branching
from rimpoise_service.planning.branching import FEW, Branching, Opened
from rimpoise_service.planning.candidates import Shape
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.joint_solver import JointSolver
from rimpoise_service.planning.nodes import Level, Nodes, Roots
from rimpoise_service.planning.pass_probability import FINE
from rimpoise_service.search.branch_and_bound import WorkBudget
from tests.planning.invented_places import random_problem

SEEDS = range(8)


def nodes_of(seed: int, count: int) -> tuple[Level, Nodes, Roots]:
    """So many of the nodes of one piece at each of two places, nearest to the exact correction first."""
    residual, places = random_problem(seed, 1)
    solver = JointSolver(residual, places, Effort(), WorkBudget(10**7))
    shapes = (Shape(1), Shape(1))
    parts, complete = solver.parts(shapes, [math.inf, math.inf])
    assert complete
    nodes, roots = solver.together(parts)
    level = Level(residual, places, shapes)
    near = np.argsort(-level.far_bound(nodes), kind="stable")[:count]
    assert len(near) == count
    return level, nodes[near], roots


def after_one_batch(level: Level, nodes: Nodes, roots: Roots) -> Nodes:
    """Without an incumbent nothing is cut."""
    left = Branching(Effort(), WorkBudget(10**7)).search(Opened(level, nodes, roots, looked_at=True), 0)
    assert left is not None
    return left.nodes


def sizes_of_boxes(nodes: Nodes, count: int) -> Floats:
    """Of each root all boxes together [rad²], (count,)."""
    boxes = (nodes.high - nodes.low).prod(axis=1)
    return np.asarray(np.bincount(nodes.root, boxes, count), dtype=np.float64)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("count", "batch", "open_afterwards"), [(1, 99, FEW), (3, 99, 24), (36, 30, 66)])
def test_nothing_is_lost_and_few_become_many(
    seed: int, count: int, batch: int, open_afterwards: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(branching, "BATCH", batch)
    level, nodes, roots = nodes_of(seed, count)
    left = after_one_batch(level, nodes, roots)
    assert len(left) == open_afterwards
    assert set(left.root.tolist()) == set(nodes.root.tolist())
    assert sizes_of_boxes(left, len(roots)) == pytest.approx(sizes_of_boxes(nodes, len(roots)))


@pytest.mark.parametrize("seed", SEEDS)
def test_bounds_hold_in_their_own_boxes(seed: int) -> None:
    """At three spots of each box nothing passes more often than its bound."""
    level, nodes, roots = nodes_of(seed, 36)
    left = after_one_batch(level, nodes, roots)
    for share in (0.0, 0.5, 1.0):
        angle = left.low + share * (left.high - left.low)
        p = level.probability(left.block, angle, FINE[level.judged.dimension])
        assert (p <= left.most + 1e-3).all()
    assert (left.most < 1).any()
