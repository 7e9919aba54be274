"""The client and the real application: styles and plans, every layout weighed again by lever arms."""

from __future__ import annotations

import cmath
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from decimal import Decimal
from math import pi, radians, sin
from typing import Any

import pytest

from rimpoise import (
    Alternative,
    BuiltinStock,
    Client,
    Flange,
    Flanges,
    GradeAcceptanceInput,
    Layout,
    MassAcceptance,
    MassAcceptanceInput,
    OwnStockInput,
    Piece,
    Plan,
    PlanRequest,
    PointMass,
    PositionPlane,
    Preferences,
    StaticReading,
    StyleChoicesRequest,
    TwoPlaneReading,
    Wheel,
    inches,
    two_plane,
)
from rimpoise.encoding import to_json
from tests.client.invented import (
    INBOARD,
    OUTBOARD,
    QUESTION,
    READING,
    ROUNDED,
    SHELF,
    WHEEL,
    of_masses,
    vector,
)


def test_the_choices_name_places_and_the_stock_that_fits(live: Client) -> None:
    answer = live.style_choices(StyleChoicesRequest(WHEEL, SHELF, Preferences("clean_face")))
    assert answer.choices
    places = {place.place: place for choice in answer.choices for place in choice.places}
    assert {land.name for land in WHEEL.lands or ()} <= set(places)
    assert places["inner land"].skus == ("BAR-5",)
    assert places["inner land"].hidden
    assert places["inboard_flange"].skus == tuple(clip.sku for clip in SHELF.clip_ons or ())
    assert "outboard_flange" not in {place.place for place in answer.choices[0].places}
    assert all(remark.text for remark in answer.cautions)


def test_a_wheel_without_places_gets_reasons_or_next_steps(live: Client) -> None:
    bare = Wheel("alloy", "aftermarket", "car", flanges=Flanges(Flange(False), Flange(False)))
    answer = live.style_choices(StyleChoicesRequest(bare, BuiltinStock("metric")))
    assert answer.choices == ()
    assert answer.ruled_out or answer.next_steps


def points(reading: TwoPlaneReading) -> list[PointMass]:
    """Its planes, given by position."""
    planes = [plane for plane in reading.planes if isinstance(plane, PositionPlane)]
    return [PointMass(p.position_mm, p.radius_mm, p.mass_g, p.angle_deg) for p in planes]


def acts_at(piece: Piece) -> tuple[complex, float]:
    """What a piece adds, and where along the axis."""
    assert piece.effective_gmm is not None
    return vector(piece.effective_gmm, piece.angle_deg), piece.position_mm


def left_at_the_planes(reading: TwoPlaneReading, layout: Layout | Alternative) -> tuple[list[complex], complex]:
    """What a layout leaves in the reading's two planes, and its static sum [g·mm], by lever arms."""
    first, second = points(reading)
    called, moment = of_masses(points(reading))
    force = sum(v for v, _ in map(acts_at, layout.pieces)) - called
    moment = sum(v * z for v, z in map(acts_at, layout.pieces)) - moment
    distance = second.position_mm - first.position_mm
    in_second = (moment - force * first.position_mm) / distance
    return [force - in_second, in_second], force


def check_layout(reading: TwoPlaneReading, layout: Layout | Alternative) -> None:
    """The residual as reported is the one that the pieces leave; sums are sums."""
    planes, static = left_at_the_planes(reading, layout)
    mean_radius = sum(m.radius_mm for m in points(reading)) / 2
    reported = layout.residual
    assert [p.mass_g for p in reported.planes] == pytest.approx([abs(v) / 222 for v in planes], abs=1e-4)
    for plane, v in zip(reported.planes, planes, strict=True):
        assert abs(vector(plane.mass_g, plane.angle_deg) - v / 222) < 1e-4
    assert reported.static_gmm == pytest.approx(abs(static), abs=0.01)
    assert reported.static_g == pytest.approx(abs(static) / mean_radius, abs=1e-4)
    assert layout.total_mass_g == pytest.approx(sum(p.mass_g for p in layout.pieces))
    assert layout.visible_pieces == sum(not p.hidden for p in layout.pieces)
    assert 0 <= layout.pass_chance_pct <= 100


def check_piece(piece: Piece) -> None:
    """Its effect is that of its arc; its clock is its angle."""
    assert piece.arc_deg is not None
    assert piece.clock is not None
    half = radians(piece.arc_deg) / 2
    factor = sin(half) / half if half else 1.0
    assert piece.effective_gmm == pytest.approx(piece.mass_g * piece.radius_mm * factor, abs=0.05)
    hours, minutes = map(int, piece.clock.split(":"))
    apart = ((hours % 12) * 30 + minutes / 2 - piece.angle_deg + 180) % 360 - 180
    assert abs(apart) <= 0.25 + ROUNDED  # the clock is told to the nearest minute, which is half a degree
    if piece.style == "adhesive":
        assert piece.segments
        assert piece.length_mm is not None


def layouts_of(plan: Plan) -> list[Layout | Alternative]:
    """All layouts, the recommended one first."""
    assert plan.recommended is not None
    return [plan.recommended, *plan.alternatives]


@pytest.mark.parametrize("appearance", ["no_preference", "clean_face", "out_of_sight"])
@pytest.mark.parametrize("stock", [BuiltinStock("metric"), SHELF], ids=["builtin", "own"])
def test_every_layout_of_a_plan_leaves_what_it_says(
    live: Client, appearance: Any, stock: BuiltinStock | OwnStockInput
) -> None:
    plan = live.plan(replace(QUESTION, stock=stock, preferences=Preferences(appearance, detail="full")))
    assert plan.decision == "fit"
    assert plan.reference == "job 1047, front left"
    assert plan.acceptance == MassAcceptance(5, 5)
    for layout in layouts_of(plan):
        check_layout(READING, layout)
        for piece in layout.pieces:
            check_piece(piece)
    first = layouts_of(plan)[0]
    assert first.within_acceptance
    assert all(p.mass_g <= 5 for p in first.residual.planes)
    assert first.residual.static_g <= 5
    assert plan.cautions
    assert plan.fitting_steps


def test_what_is_required_does_what_was_called(live: Client) -> None:
    required = live.plan(QUESTION).required
    assert len(required) == 2
    force, moment = of_masses(PointMass(r.position_mm, r.radius_mm, r.mass_g, r.angle_deg) for r in required)
    called_force, called_moment = of_masses(points(READING))
    assert abs(force - called_force) < 0.01
    assert abs(moment - called_moment) < 1


def test_before_is_the_bare_wheel(live: Client) -> None:
    before = live.plan(QUESTION).before
    assert before is not None
    assert [p.mass_g for p in before.planes] == pytest.approx([38, 22])
    assert [p.angle_deg for p in before.planes] == pytest.approx([112 + 180, 287.5 - 180])


def test_wishes_are_met(live: Client) -> None:
    hidden = live.plan(replace(QUESTION, preferences=Preferences("out_of_sight"))).recommended
    assert hidden is not None
    assert hidden.visible_pieces == 0
    clean = live.plan(replace(QUESTION, preferences=Preferences("clean_face"))).recommended
    assert clean is not None
    assert "outboard_flange" not in {piece.place for piece in clean.pieces}
    clips = live.plan(replace(QUESTION, preferences=Preferences(styles=["clip_on"]))).recommended
    assert clips is not None
    assert {piece.style for piece in clips.pieces} == {"clip_on"}


def test_prices_are_exact_sums(live: Client) -> None:
    plan = live.plan(replace(QUESTION, stock=SHELF, preferences=Preferences(detail="full")))
    for layout in layouts_of(plan):
        each = [Decimal("0.95") if p.segments is None else p.segments * Decimal("0.18") for p in layout.pieces]
        assert layout.price == sum(each)
    builtin = live.plan(QUESTION).recommended
    assert builtin is not None
    assert builtin.price is None


def test_the_builtin_stock_can_be_sent_back_as_ones_own(live: Client) -> None:
    whole = replace(QUESTION, preferences=Preferences(detail="full"))
    builtin = live.plan(whole)
    own = live.plan(replace(whole, stock=live.reference().stock.metric))
    assert own.recommended == builtin.recommended
    assert own.alternatives == builtin.alternatives


def test_a_static_reading_in_inches_and_ounces(live: Client) -> None:
    steel = Wheel("steel", "factory", "car", flanges=Flanges(Flange(), Flange()), rim_size="6Jx15 ET40")
    called = PositionPlane(position_mm=-40, radius_mm=inches(15.4) / 2, mass_g=42, angle_deg=71)
    static = Preferences(styles=["clip_on"], correction="static")
    plan = live.plan(PlanRequest(StaticReading(called), steel, BuiltinStock("ounce"), static))
    assert plan.limits is not None
    assert plan.limits.static_g == pytest.approx(28.349523125 / 4, abs=1e-6)
    assert plan.limits.planes == ()
    (best, *_) = layouts_of(plan)
    force = sum(v for v, _ in map(acts_at, best.pieces)) - vector(42 * called.radius_mm, 71)
    assert best.residual.static_g == pytest.approx(abs(force) / called.radius_mm, abs=1e-4)
    assert best.residual.planes == ()


def test_a_grade_stands_for_the_limits_it_comes_to(live: Client) -> None:
    """ISO 21940-11 (from memory): the grade's limits, sent back in grams, make the same plan."""
    grade = GradeAcceptanceInput("G40", assembly_mass_kg=9, speed_kmh=200, tyre_size="225/45 R17")
    by_grade = live.plan(replace(QUESTION, acceptance=grade, preferences=Preferences(detail="full")))
    assert to_json(by_grade.acceptance) == to_json(grade)
    assert by_grade.limits is not None
    (limit,) = {p.limit_g for p in by_grade.limits.planes}
    in_grams = live.plan(replace(QUESTION, acceptance=MassAcceptanceInput(limit, by_grade.limits.static_g)))
    assert in_grams.recommended is not None
    assert by_grade.recommended is not None
    assert in_grams.recommended.pieces == by_grade.recommended.pieces
    assert in_grams.recommended.pass_chance_pct == by_grade.recommended.pass_chance_pct
    assert {"rolling_radius_derived", "mass_centre_assumed"} <= {r.code for r in by_grade.derived}


def test_every_decision_is_reported_and_none_is_an_error(live: Client) -> None:
    little = two_plane(replace(INBOARD, mass_g=1), replace(OUTBOARD, mass_g=1))
    one_clip = Preferences(styles=["clip_on"], max_pieces_per_plane=1)
    requested: dict[str, PlanRequest] = {
        "fit": QUESTION,
        "already_within": replace(QUESTION, reading=little),
        "best_effort": replace(QUESTION, acceptance=MassAcceptanceInput(0.001, 0.001), preferences=one_clip),
        "repair_first": replace(QUESTION, inspection=["sidewall_bulge", "low_pressure"]),
        "none_possible": replace(QUESTION, stock=OwnStockInput()),
    }
    reported = {expected: live.plan(question) for expected, question in requested.items()}
    assert {expected: plan.decision for expected, plan in reported.items()} == {name: name for name in requested}
    assert reported["repair_first"].recommended is None
    assert reported["repair_first"].next_steps
    assert reported["none_possible"].ruled_out or reported["none_possible"].next_steps


def test_the_same_question_has_the_same_answer_from_many_threads(live: Client) -> None:
    alone = live.plan(QUESTION)
    with ThreadPoolExecutor(4) as pool:
        assert all(plan == alone for plan in pool.map(live.plan, [QUESTION] * 12))


def test_angles_are_clockwise_from_the_mark(live: Client) -> None:
    """A quarter turn is three o'clock: what is called there at 90° is fitted there."""
    reading = two_plane(replace(INBOARD, angle_deg=90), replace(OUTBOARD, angle_deg=90))
    best = live.plan(replace(QUESTION, reading=reading, preferences=Preferences(styles=["clip_on"]))).recommended
    assert best is not None
    middle = sum(cmath.phase(vector(1, p.angle_deg)) for p in best.pieces) / len(best.pieces)
    assert middle == pytest.approx(pi / 2, abs=0.1)
