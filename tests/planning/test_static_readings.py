"""Static readings: chosen as if there were no couple, judged in both planes, reported statically."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.stock import BUILTIN, Stock
from rimpoise_service.physics.readings import Static
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.decision import headline
from rimpoise_service.planning.models import Decision, Plan, PlanRequest, Preferences
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import (
    BOTH,
    NO_FLANGE,
    RADIUS_MM,
    clips,
    codes,
    fitted,
    land,
    layout,
    request,
    static,
    strip,
    two_plane,
    wheel,
)

HALVES = f"static, half each: {BOTH}"


def planned(mass_g: float, **other: object) -> Plan:
    """A static reading in the middle, at 50°."""
    return make_plan(PlanRequest(static(mass_g, 50), wheel(**other), BUILTIN["metric"]))


def test_half_each_side_is_first() -> None:
    """40 g: 20 g on each flange. 40 g on one would bring in a couple: 20 g opposed."""
    plan = planned(40)
    assert plan.decision is Decision.FIT
    assert fitted(plan) == [("inboard_flange", 20, 50), ("outboard_flange", 20, 50)]
    assert [v.mass_g for v in plan.required] == pytest.approx([20, 20])


@pytest.mark.parametrize("mass_g", [12, 27, 40, 65])
def test_a_layout_that_brings_in_a_couple_is_seen_to(mass_g: float) -> None:
    """Each is judged in both planes, the couple before taken as none; one side alone leaves half opposed."""
    for found in planned(mass_g).layouts:
        assert len(found.residual.planes) == 2
        worst_g = max(v.mass_g for v in found.residual.planes)
        assert found.largest_residual_g == pytest.approx(max(worst_g, found.residual.static_g))
        if len({p.place for p in found.pieces}) == 1:
            assert worst_g == pytest.approx(found.total_mass_g / 2, rel=0.35)
        assert found.within_acceptance == (worst_g <= 5 * (1 + 1e-6) and found.residual.static_g <= 5 * (1 + 1e-6))


def test_a_little_statically_may_go_on_one_side() -> None:
    """8 g: 5 g on one side leave 3 g in sum, and half of 5 more or less in the planes: all within 5 g."""
    plan = planned(8)
    assert plan.decision is Decision.FIT
    assert sum(p.mass_g for p in plan.layouts[0].pieces) in (5, 10)


def test_what_is_reported_is_the_static_chance_and_what_decides_is_not() -> None:
    """Both planes and their sum pass less often than the sum alone: of one side, where half is opposed, by far."""
    plan = planned(8)
    one_sided = [x for x in plan.layouts if len({p.place for p in x.pieces}) == 1]
    assert one_sided
    for found in plan.layouts:
        assert found.pass_chance_pct >= 100 * found.probability - 0.3
        p, parts = found.probability, found.effort_parts
        assert parts.failing_min == pytest.approx((1 - p) * (parts.fit_min + parts.marks_min + 2) / p)
    assert all(x.pass_chance_pct > 100 * x.probability + 5 for x in one_sided)


def test_a_dynamic_spin_may_ask_for_more() -> None:
    plan = planned(40)
    assert "couple_unknown" in codes(plan.warnings)
    assert codes(plan.next_steps)[-1] == "spin_dynamic"
    assert "couple_stays" not in codes(plan.warnings)
    dynamic = make_plan(request(two_plane(20, 50, 20, 50), wheel(), BUILTIN["metric"]))
    assert "couple_unknown" not in codes(dynamic.warnings)
    assert "spin_dynamic" not in codes(dynamic.next_steps)


def test_between_lands_half_each_side_of_the_reading() -> None:
    """40 g read 10 mm from the inner land of two that are 40 mm apart: 30 and 10 g."""
    lands = wheel(inboard=NO_FLANGE, outboard=NO_FLANGE, lands=(land("a", -10), land("b", 30)))
    plan = make_plan(request(static(40, 50), lands))
    assert [v.mass_g for v in plan.required] == pytest.approx([30, 10])


@pytest.mark.parametrize(
    ("vehicle_class", "correction", "static_only"),
    [("car", "dynamic", False), ("car", "static", True), ("motorcycle", "dynamic", True)],
)
def test_where_the_static_sum_alone_is_judged(vehicle_class: str, correction: str, static_only: bool) -> None:
    """Where it is requested, and where a motorcycle's reading is static."""
    wishes = Preferences(correction=correction)  # type: ignore[arg-type]
    made = request(static(40, 50), wheel(vehicle_class=vehicle_class), preferences=wishes)
    plan = make_plan(made)
    assert plan.evaluator is not None
    assert plan.evaluator.static_only is static_only
    assert ("couple_unknown" in codes(plan.warnings)) is not static_only
    if static_only:
        best = plan.layouts[0]
        assert best.pass_chance_pct == pytest.approx(100 * best.probability)
        assert best.largest_residual_g == pytest.approx(best.residual.static_g)


def test_where_only_one_plane_is_to_be_had() -> None:
    """One flange: the whole goes there, judged statically."""
    plan = planned(40, outboard=NO_FLANGE)
    assert plan.decision is Decision.FIT
    assert fitted(plan) == [("inboard_flange", 40, 50)]
    assert plan.evaluator is not None
    assert plan.evaluator.static_only
    assert "couple_unknown" not in codes(plan.warnings)


def test_halves_do_not_fight_each_other() -> None:
    """6 g wished statically: 3 g a side is under half of nothing, yet no piece is turned against the other."""
    wishes = Preferences(correction="static")
    plan = make_plan(request(static(14, 50), wheel(), preferences=wishes))
    halves = [x for x in plan.layouts if x.name == HALVES]
    assert halves
    for piece in halves[0].pieces:
        assert abs(math.remainder(piece.angle_deg - 50, 360)) <= 45
    assert layout(plan, HALVES).residual.couple_gmm2 <= 5 * RADIUS_MM * 200


def test_a_wish_for_static_leaves_the_couple_of_a_dynamic_reading() -> None:
    wishes = Preferences(correction="static")
    plan = make_plan(request(two_plane(30, 0, 10, 180), wheel(), preferences=wishes))
    assert "couple_stays" in codes(plan.warnings)
    assert plan.decision is Decision.FIT
    assert plan.layouts[0].residual.static_g < 0.1


def test_the_reading_within_the_static_limit_is_within() -> None:
    """4.9 g at the middle; and as heavy sides of both planes they are 2.45 g each."""
    made = request(static(4.9, 50), wheel())
    assert make_plan(made).decision is Decision.ALREADY_WITHIN
    assert make_plan(replace(made, reading=static(5.1, 50))).decision is not Decision.ALREADY_WITHIN


@pytest.mark.parametrize(("inner_g", "side_g"), [(20, 20), (0, 20), (30, 10)])
def test_what_stays_is_the_couple_with_the_weight_on(inner_g: float, side_g: float) -> None:
    """All of it on the only lip: what the outer side called stays there, opposed inside."""
    one_lip = wheel(outboard=NO_FLANGE)
    plan = make_plan(request(two_plane(inner_g, 90, side_g, 90), one_lip, BUILTIN["metric"]))
    assert sum(p.mass_g for p in plan.layouts[0].pieces) == inner_g + side_g
    assert plan.headline.code == "headline_fit_static"
    stays = next(w for w in plan.warnings if w.code == "couple_stays")
    assert stays.values["side_g"] == pytest.approx(side_g, abs=0.2)


def test_half_on_a_land_of_either_side_is_offered() -> None:
    """As the caution for motorcycles has it; two lands of one side are not either side."""
    lands = tuple(land(name, at) for name, at in (("left", -30), ("right", 30)))
    made = wheel(vehicle_class="motorcycle", inboard=NO_FLANGE, outboard=NO_FLANGE, lands=lands)
    plan = make_plan(request(static(20, 50), made, BUILTIN["metric"]))
    halves = layout(plan, "static, half each: adhesive on left + adhesive on right")
    assert [(p.place, p.mass_g, round(p.angle_deg)) for p in halves.pieces] == [
        ("left", 10, 50),
        ("right", 10, 50),
    ]
    one_side = replace(made, lands=(lands[0], replace(lands[1], side="inboard")))
    named = [x.name for x in make_plan(request(static(20, 50), one_side, BUILTIN["metric"])).layouts]
    assert not any(name.startswith("static, half each") for name in named)


def test_where_nothing_is_called_no_strip_sits_far_from_the_called_spot() -> None:
    """Called at the inner land, so the outer one is asked for nothing: a strip there keeps no direction."""
    lands = wheel(
        inboard=NO_FLANGE, outboard=NO_FLANGE, lands=(land("inner", -80.0), land("outer", 60.0, side="outboard"))
    )
    reading = Static(PointMass(-80.0, RADIUS_MM, 27.0, 140.0))
    plan = make_plan(request(reading, lands, Stock((), (strip(10.0), strip(2.5)))))
    pair = layout(plan, "adhesive on inner + adhesive on outer")
    assert [v.mass_g for v in pair.required] == pytest.approx([27, 0])
    assert [90 < p.angle_deg < 270 for p in pair.pieces if p.place == "outer"] == [True]
    assert "strip_far_from_correction" not in codes(pair.notes)


def test_a_high_static_chance_is_not_called_only_so_much() -> None:
    """30 g on one side leave nothing statically and 15 g a side opposed; two of 25 g leave 20 g statically."""
    high, low = (make_plan(request(static(30, 50), wheel(), Stock(clips(shelf_g)))) for shelf_g in (30, 25))
    assert (high.decision, low.decision) == (Decision.BEST_EFFORT, Decision.BEST_EFFORT)
    assert low.headline.code == "headline_hardly_passes"
    assert text_of(high.headline) == (
        "1 weight leaves up to 15 g, over the limit in two planes: "
        "a static check spin, which can't show that, passes 99 times in 100."
    )


def test_within_on_paper_and_seldom_in_two_planes() -> None:
    """Where the static chance is high all the same, the headline says which is which."""
    plan = planned(40)
    best = replace(plan.layouts[0], pass_chance_pct=80.0)
    said = headline(Decision.BEST_EFFORT, best, static_reported=True)
    assert said.code == "headline_seldom_passes_static"
    assert headline(Decision.BEST_EFFORT, replace(best, pass_chance_pct=30.0), static_reported=True).code == (
        "headline_seldom_passes"
    )
