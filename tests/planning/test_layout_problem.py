"""A wheel that is turned, mirrored or described otherwise is the same problem, in the same order."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.wheel import KeepOut
from rimpoise_service.planning.arrangements import arrangements
from rimpoise_service.planning.candidates import Shape, in_order
from rimpoise_service.planning.context import PlanContext, prepare
from rimpoise_service.planning.layout_problem import LayoutProblem
from rimpoise_service.planning.models import PlanRequest
from rimpoise_service.planning.places import find_places
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.planning.shape_candidates import ShapeCandidates
from rimpoise_service.search.branch_and_bound import WorkBudget
from tests.planning.motions import mirrored, rotated, scaled, shifted, swapped
from tests.planning.optimiser_wheels import KINDS, wheel_of

SHAPES = (Shape(1), Shape(1, touching=True), Shape(2))
MOVES: dict[str, Callable[[PlanRequest], PlanRequest]] = {
    "turned": lambda r: rotated(r, 217.3),
    "mirrored": mirrored,
    "mirrored and turned": lambda r: rotated(mirrored(r), 91.0),
    "another datum": lambda r: shifted(r, -211.7),
    "swapped": swapped,
}


def problems(request: PlanRequest) -> list[LayoutProblem]:
    """Of every arrangement."""
    context = prepare(request, find_places)
    assert isinstance(context, PlanContext)
    possible, _ = arrangements(context.seen.places, static=context.evaluator.static_only)
    return [LayoutProblem(context, a) for a in possible]


SEEDS = [pytest.param(n, marks=[pytest.mark.slow] * (n >= len(KINDS))) for n in range(2 * len(KINDS))]


@pytest.mark.parametrize("move", MOVES.values(), ids=MOVES)
@pytest.mark.parametrize("seed", SEEDS)
def test_the_same_problem(seed: int, move: Callable[[PlanRequest], PlanRequest]) -> None:
    """What is left, what each place asks for, and its candidates one by one."""
    plain, moved = problems(wheel_of(seed, 2)), problems(move(wheel_of(seed, 2)))
    for one, other in zip(plain, moved, strict=True):
        assert other.judged.before == pytest.approx(one.judged.before, abs=1e-6)
        solvers = [x.solver(WorkBudget(10**6)) for x in (one, other)]
        for place, same in zip(*(s.places for s in solvers), strict=True):
            assert same.required == pytest.approx(place.required, abs=1e-6)
            for shape in SHAPES:
                found, again = (ShapeCandidates(p, shape).stretches() for p in (place, same))
                assert again.low == pytest.approx(found.low, abs=1e-9)
                assert again.high == pytest.approx(found.high, abs=1e-9)
                sizes = [p.blocks(shape).size[x.block] for p, x in ((place, found), (same, again))]
                assert sizes[1] == pytest.approx(sizes[0])
                combined = [ShapeCandidates(p, shape).within(1500.0)[0] for p in (place, same)]
                assert combined[1].low == pytest.approx(combined[0].low, abs=1e-9)


def test_one_correction_alone_is_mirrored_by_the_free_arc_that_is_nearer() -> None:
    """A valve clockwise of the called spot and one as far the other way are the same; so is none."""
    plain = wheel_of(5, 1)
    (place, *_) = problems(replace(plain, wheel=replace(plain.wheel, spokes=())))
    called = math.degrees(place.frame)
    sides = []
    for off in (20.0, -20.0):
        arc = KeepOut("inboard_flange", Arc((called + off - 5) % 360, 10.0), "valve")
        request = replace(plain, wheel=replace(plain.wheel, keep_out=(arc,)))
        (problem, *_) = problems(request)
        (candidates,) = problem.solver(WorkBudget(1)).places
        sides.append((problem.mirrored, ShapeCandidates(candidates, Shape(1)).stretches()))
    assert {mirror for mirror, _ in sides} == {True, False}
    assert sides[0][1].low == pytest.approx(sides[1][1].low, abs=1e-9)
    assert not place.mirrored


@pytest.mark.parametrize(("seed", "move"), [(0, "scaled"), (22, "mirrored"), (13, "mirrored")])
def test_the_same_effort(seed: int, move: str) -> None:
    """Two near-equal fillings: which was found hung on rounding."""
    moved = {"scaled": lambda r: scaled(r, 1.3), **MOVES}[move]
    plain, other = make_plan(wheel_of(seed, 2)), make_plan(moved(wheel_of(seed, 2)))
    assert [x.effort_min for x in other.layouts] == pytest.approx([x.effort_min for x in plain.layouts], abs=1e-6)


def test_what_is_the_same_but_for_rounding_keeps_its_order() -> None:
    assert in_order(np.array([2.0, 1.0 + 1e-15, 1.0, 0.5])).tolist() == [3, 1, 2, 0]
