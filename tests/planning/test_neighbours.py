"""Blocks beside each other: where they may stand, against random directions of random boxes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rimpoise_service.physics.arrays import Floats
from rimpoise_service.planning.candidates import Shape
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.joint_solver import JointSolver
from rimpoise_service.planning.neighbours import apart, may_stand, moved, needed_between
from rimpoise_service.planning.nodes import Level, Nodes
from rimpoise_service.planning.pass_probability import FINE
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.search.branch_and_bound import WorkBudget
from tests.planning.invented_places import clip_place, judged
from tests.planning.motions import rotated, shifted
from tests.planning.optimiser_wheels import wheel_of
from tests.planning.test_nodes import level_and_nodes, random_angles

TWO, ONE = Shape(2), Shape(1)


@pytest.mark.parametrize("shapes", [(TWO, ONE), (TWO, TWO)], ids=str)
@pytest.mark.parametrize("seed", range(10))
def test_a_box_without_room_for_neighbours_has_none(seed: int, shapes: tuple[Shape, Shape]) -> None:
    level, nodes, roots = level_and_nodes(seed, shapes)
    lips, rng = roots.lips[nodes.root], np.random.default_rng(seed)
    stand = may_stand(level, nodes, lips)
    for _ in range(200):
        angle = random_angles(nodes, rng)
        assert not (apart(level, nodes.block, angle, lips) & ~stand).any()


def test_boxes_are_cut_for_both_reasons() -> None:
    """Ends that overlap wherever they are; and more free lip than may be, wherever they are."""
    place = clip_place(20 + 0j, 20)
    level = Level(judged((20, 20)), [place, clip_place(20 + 0j, 20, share=1.0)], [TWO, ONE])
    half = math.degrees(float(place.blocks(TWO).ahead[0]))
    ends = [(-half, half - 0.1), (-half, half), (0.0, 30 + 2 * half), (0.0, 30.1 + 2 * half)]
    angle = np.radians([(*pair, 0.0) for pair in ends])
    nothing = np.zeros(4)
    nodes = Nodes(np.zeros((4, 3), np.intp), angle, angle, nothing, nothing, nothing.astype(np.intp), nothing)
    lips = np.tile([math.radians(30), math.inf], (4, 1))
    assert may_stand(level, nodes, lips).tolist() == [False, True, True, False]


@pytest.mark.parametrize("apart_deg", [-20.0, 2.0, 25.0, 80.0])
def test_neighbours_are_laid_so_that_they_may_stand(apart_deg: float) -> None:
    """Their sum keeps its direction where their stretches allow; what stands already stays."""
    place = clip_place(20 + 0j, 15, 5)
    level = Level(judged((20, 20)), [place, clip_place(20 + 0j, 20, share=1.0)], [TWO, ONE])
    block = np.array([0, 1, 0])
    given = np.array([*np.radians([-apart_deg / 4, 3 * apart_deg / 4]), 0.1])
    lips, wide = (math.radians(30), math.inf), (np.full((1, 3), -2.0), np.full((1, 3), 2.0))
    found = moved(level, block[None], given[None], wide, np.array([lips]))[0]
    assert apart(level, block[None], found[None], np.array([lips]))
    assert found[2] == given[2]
    size = level.columns("size", block[None])[0]
    assert size[0] * (found[0] - given[0]) == pytest.approx(-size[1] * (found[1] - given[1]))
    if apart(level, block[None], given[None], np.array([lips])):
        assert found.tolist() == given.tolist()
    needed = float(needed_between(level, block[None])[0, 0])
    tight = (np.array([[-0.01, -2.0, -2.0]]), np.array([[0.01, 2.0, 2.0]]))
    beside = moved(level, block[None], np.clip(given, *tight), tight, np.array([lips]))[0]
    assert -0.01 <= beside[0] <= 0.01
    assert needed - 1e-9 <= beside[1] - beside[0] <= needed + lips[0] + 1e-9


def shares(solver: JointSolver) -> Floats:
    """What the best filling's neighbours leave free, as a share of what they may."""
    best = solver.best
    assert best is not None
    i, j = best.level.pairs
    free = best.angle[j] - best.angle[i] - needed_between(best.level, best.block[None])[0]
    return np.asarray(free / [best.lips[best.level.place_of[k]] for k in j])


def test_two_that_may_stand_no_further_apart_are_turned_together() -> None:
    """Twice 12 g where 20 g is called: further apart than the lip's 30° would be better."""
    places = [clip_place(20 + 0j, 12), clip_place(30 + 0j, 30, share=1.0)]
    solver = JointSolver(judged((-20, -30), 4.5), places, Effort(), WorkBudget(3_000_000), asked_g=50)
    solver.solve()
    assert shares(solver) == pytest.approx(np.ones(1))
    best = solver.best
    assert best is not None
    for by in (0.01, -0.01):
        angle = best.angle + np.array([by, by, 0.0])
        p = best.level.probability(best.block[None], angle[None], FINE[4])
        assert p[0] < best.probability


def test_neighbours_at_the_most_free_lip_turn_together_whatever_is_rounded() -> None:
    """A lip that rounding made longer than it may be once held both: 2.9328 for 2.9315 minutes."""
    requested = wheel_of(51, 2)
    lying = [rotated(requested, 36.5 * n) for n in range(10)] + [shifted(requested, 36.5 * n) for n in range(10)]
    efforts = [make_plan(x).layouts[0].effort_min for x in lying]
    assert efforts == pytest.approx([efforts[0]] * len(efforts), abs=1e-6)


def test_a_plan_of_two_at_the_most_free_lip() -> None:
    """5 g, and 10 and 15 g as far apart as they may be, take 3.66 minutes; 5 and 25 g took 3.77."""
    layout = make_plan(wheel_of(10008, 2)).layouts[0]
    assert [p.mass_g for p in layout.pieces] == [5, 10, 15]
    assert layout.effort_min < 3.67


def test_what_a_ceiling_holds_back_is_found_and_turned() -> None:
    """The static sum must not get worse, so one mass is like the other; once, nothing was found on the land."""
    plan = make_plan(wheel_of(439, 1))
    found = {x.name: x.effort_min for x in plan.layouts}
    assert found["clip-on on inboard flange + adhesive on face land"] < 15.5
    assert found["clip-on on inboard flange + adhesive on face land behind the spokes"] < 24.5


def test_a_filling_beyond_what_was_supposed_is_still_the_best() -> None:
    """5 g on one flange pass 45 times in a hundred; the first that was found passed 31 times."""
    plan = make_plan(wheel_of(183, 1))
    alone = next(x for x in plan.layouts if x.name.startswith("static only: clip-on on outboard"))
    assert alone.effort_min < 4.39


def test_an_incumbent_beyond_what_is_supposed_leaves_every_level_to_be_searched() -> None:
    """Levels under it, but over what was supposed, were searched without having been looked at: a KeyError."""
    assert make_plan(wheel_of(183, 2)).layouts


def test_two_blocks_either_side_of_what_is_wanted_are_turned_together() -> None:
    """15 and 12 g for 20 g: turned one at a time they creep towards it, and leave 2.8e-4 of the limits squared."""
    place = clip_place(20 + 0j, 15, 12)
    level = Level(judged((-20, -20)), [place, clip_place(20 + 0j, 20, share=1.0)], [TWO, ONE])
    low, high, nothing = np.array([[-1.0, 0.0, -1.0]]), np.array([[0.0, 1.0, 1.0]]), np.zeros(1)
    nodes = Nodes(np.array([[0, 1, 0]]), low, high, nothing, nothing, nothing.astype(np.intp), nothing)
    (angle,) = level.best_angles(nodes)
    assert level.columns("size", nodes.block)[0, 0] > level.columns("size", nodes.block)[0, 1]
    assert angle[0] < -0.4 < 0.6 < angle[1]
    assert np.square(level.judged.ratios(level.left(nodes.block, angle))).sum() < 1e-5
