"""What a filling costs where its blocks were pressed together, and the bounds that searching rests on."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rimpoise_service.model.arcs import WHOLE_CIRCLE
from rimpoise_service.model.stock import BUILTIN, Stock
from rimpoise_service.model.wheel import even_spokes
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.arrangements import arrangements
from rimpoise_service.planning.candidates import PlaceCandidates, Shape
from rimpoise_service.planning.context import PlanContext, prepare
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.error_model import most_possible
from rimpoise_service.planning.joint_model import cholesky, covariance
from rimpoise_service.planning.layout_solver import Filling, solve
from rimpoise_service.planning.nodes import Level
from rimpoise_service.planning.pass_probability import probability
from rimpoise_service.planning.placements import Circle
from rimpoise_service.planning.places import find_places
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.search.branch_and_bound import WorkBudget
from tests.bench.workshop import request, true_wheel
from tests.factories import by_hand
from tests.planning.invented_places import RADIUS_MM, clip_place, errors_at, judged, random_problem, strip
from tests.planning.probability_cases import many_lines

EFFORT = Effort()


def two_strips(gap_rad: float) -> Filling:
    """A clip-on, and a strip of each of two kinds about the called spot, their ends so far apart."""
    circle = Circle(RADIUS_MM, (WHOLE_CIRCLE,), (strip(5.0), strip(10.0)), 2)
    land = PlaceCandidates(circle, 30.0 * RADIUS_MM, False, errors_at(1.0, clip_ons=False), EFFORT)
    level = Level(judged((20, 30)), [clip_place(20.0, 20), land], [Shape(1), Shape(2)])
    blocks = level.blocks[1]
    kinds = land.block_set(Shape(2)).option
    first, second = (int(np.flatnonzero((kinds == kind) & (blocks.pieces == 1))[-1]) for kind in (0, 1))
    between = blocks.ahead[first] + blocks.behind[second] + gap_rad
    share = blocks.size[second] / (blocks.size[first] + blocks.size[second])
    angle = np.array([0.0, -between * share, between * (1 - share)])
    return Filling(level, np.array([0, first, second]), angle, 0.5, 0.0)


def test_strips_of_two_kinds_pressed_together_are_one_spot() -> None:
    """Cleaned once, and not marked: their middle is the called spot, though neither's own is."""
    filling = two_strips(1e-9)
    assert [len(spot) for _, spot in filling.spots] == [1, 2]
    assert filling.fit_min == pytest.approx(EFFORT.clip_on_min + 2 * EFFORT.strip_min + EFFORT.clean_min)
    assert filling.marks_min == 0


def test_a_tenth_of_a_degree_apart_they_are_two() -> None:
    filling = two_strips(math.radians(0.1))
    assert [len(spot) for _, spot in filling.spots] == [1, 1, 1]
    assert filling.fit_min == pytest.approx(EFFORT.clip_on_min + 2 * EFFORT.strip_min + 2 * EFFORT.clean_min)
    off = np.abs(filling.angle[1:]) > math.radians(3)
    assert filling.marks_min == pytest.approx(EFFORT.mark_min * off.sum())
    assert off.any()


@pytest.mark.parametrize("seed", range(12))
def test_no_filling_of_a_place_is_more_than_its_largest(seed: int) -> None:
    _, places = random_problem(seed)
    for place in places:
        for shape in place.shapes:
            blocks = place.blocks(shape)
            per_piece = blocks.size / blocks.pieces
            pieces = place.circle.max_pieces
            assert (per_piece * pieces <= place.largest * (1 + 1e-12)).all()


@pytest.mark.parametrize("limit_g", [0.7, 2.0, 5.0])
def test_nothing_left_and_the_machine_alone_is_the_most(limit_g: float) -> None:
    """Against very many lines of another kind; no less than it, and hardly more."""
    residual = replace(judged((0, 0), limit_g), before=np.zeros(2, dtype=np.complex128))
    root = cholesky(covariance(residual.machine_and_floor, np.zeros((2, 2), dtype=complex)))
    exact = float(probability(residual.before[None], root, residual.limits, many_lines(4))[0])
    assert exact <= most_possible(residual) <= exact + 0.03


def test_strips_behind_spokes_keep_their_direction_where_they_pass_half_of_the_time() -> None:
    """Rule 3, although strips that kept none would pass more often here, and save more than a minute."""
    face = by_hand.land("face land", 60, visible=True, behind_spokes=True)
    three = by_hand.wheel(
        inboard=by_hand.NO_FLANGE,
        outboard=by_hand.NO_FLANGE,
        lands=(by_hand.land("inner land", -80), face),
        spokes=even_spokes(3, 0, 30),
    )
    called, shelf = by_hand.two_plane(30, 138, 16, 37), Stock((), (by_hand.strip(15.0),))
    context = prepare(by_hand.request(called, three, shelf, acceptance=Acceptance(4, 4)), find_places)
    assert isinstance(context, PlanContext)
    name = "adhesive on inner land + adhesive on face land behind the spokes"
    (hidden,) = (a for a in arrangements(context.seen.places, static=False)[0] if a.named.text == name)
    found = solve(context, hidden, WorkBudget(200_000))
    assert found is not None
    assert found.probability > 0.5
    called_deg = {v.plane.name: v.angle_deg for v in found.required}
    off_deg = [abs(math.remainder(p.angle_deg - called_deg[p.place], 360)) for p in found.pieces if p.window]
    assert len(off_deg) == 2
    assert max(off_deg) <= 90 + 1e-6
    assert "strip_far_from_correction" not in [note.code for note in found.notes]


def test_strips_of_two_kinds_go_behind_two_spokes() -> None:
    """40 g of the dense strip behind one spoke, 5 g of another behind the next; either kind alone takes longer."""
    true = true_wheel(50090, "clip and hidden strip")
    requested = replace(request(true, true.lacks), stock=BUILTIN["metric"])
    best = make_plan(requested).recommended
    assert best is not None
    assert len({p.sku for p in best.pieces if p.style == "adhesive"}) == 2
    for kind in requested.stock.strips:
        alone = make_plan(
            replace(requested, stock=replace(requested.stock, strips=(kind,), builtin=None))
        ).recommended
        assert alone is not None
        assert alone.effort_min > best.effort_min + 0.1
