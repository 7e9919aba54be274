"""The client and the real application, with HTTP between them; all numbers worked out here by other means.

A vector is one complex number, g·mm, the angle clockwise as everywhere; the wheel is invented.
"""

from __future__ import annotations

import cmath
import json
import logging
import threading
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from decimal import Decimal
from math import pi, radians, sin
from pathlib import Path
from typing import Any

import pytest
from werkzeug.serving import make_server

from rimpoise import (
    Acceptance,
    BadRequest,
    BuiltinStock,
    Client,
    ClipOn,
    CorrectionsQuestion,
    EvenSpokes,
    Flange,
    Flanges,
    KeepOut,
    KeepOutArc,
    Land,
    Layout,
    NotFound,
    OwnStock,
    Piece,
    Plan,
    Plane,
    PlanQuestion,
    PointMass,
    Preferences,
    RoundingQuestion,
    RoundingTarget,
    RuleBroken,
    SplitQuestion,
    SplitTarget,
    SpokeWindow,
    SpokeWindows,
    StaticReading,
    Strip,
    StyleQuestion,
    ThicknessRange,
    TooLarge,
    TwoPlaneReading,
    Wheel,
    inches,
    two_plane,
)
from rimpoise.decoding import from_json
from rimpoise_service.web.app import create_app

CASES = json.loads((Path(__file__).parents[1] / "cases" / "corrections.json").read_text("utf-8"))
ROUNDED = 2e-6
"""Answers are rounded to six decimals."""

INBOARD = PointMass(position_mm=-133.9, radius_mm=222, mass_g=38, angle_deg=112)
OUTBOARD = PointMass(position_mm=43.9, radius_mm=222, mass_g=22, angle_deg=287.5)
READING = two_plane(INBOARD, OUTBOARD)
LIP = Flange(thickness_mm=3.2)
WHEEL = Wheel(
    "alloy",
    "factory",
    "car",
    Flanges(LIP, LIP),
    lands=[
        Land("inner land", "inboard", -110, 205, 40, behind_spokes=False, visible=False),
        Land("outer land", "outboard", -5, 198, 35, behind_spokes=True, visible=True, max_height_mm=8),
    ],
    spokes=EvenSpokes(5, first_deg=36, width_deg=32),
    keep_out=[KeepOut("inner land", 352, 8, "valve")],
    rim_size="7Jx17 ET45",
)
STRIP = Strip("BAR-5", "steel", 5, 16, 19, 3.6, 12, on_hand=200, unit_price=Decimal("0.18"), location="drawer 3")
LIPS = ThicknessRange(2.5, 4)
SHELF = OwnStock(
    [
        ClipOn(f"HOOK-{m}", m, "zinc", thickness_mm=LIPS, length_mm=14 + m / 2, unit_price=Decimal("0.95"))
        for m in (10, 20, 30, 40)
    ],
    [STRIP],
)
QUESTION = PlanQuestion(READING, WHEEL, BuiltinStock("metric"), reference="job 1047, front left")


@pytest.fixture(scope="module")
def url() -> Iterator[str]:
    """The real application on a loopback port."""
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    server = make_server("127.0.0.1", 0, create_app(), threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture(scope="module")
def client(url: str) -> Iterator[Client]:
    """A client of it that takes no second try for granted."""
    with Client(url, timeout=20, retries=0) as client:
        yield client


def vector(size: float, angle_deg: float) -> complex:
    """A vector of a size and an angle [deg]."""
    return cmath.rect(size, radians(angle_deg))


def of_masses(masses: Iterable[PointMass]) -> tuple[complex, complex]:
    """Static sum [g·mm] and moment about the datum [g·mm²]."""
    pairs = [(vector(m.mass_g * m.radius_mm, m.angle_deg), m.position_mm) for m in masses]
    return sum(v for v, _ in pairs), sum(v * z for v, z in pairs)


# --- corrections


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_the_cited_cases_come_through_the_client(client: Client, case: dict[str, Any]) -> None:
    answer = client.corrections(from_json(CorrectionsQuestion, case["inputs"]))
    for expected in case["expected"]["corrections"]:
        (found,) = [c for c in answer.corrections if c.plane == expected["plane"]]
        within = case["tolerance"]["mass_rel"] * expected["mass_g"] + ROUNDED
        assert found.mass_g == pytest.approx(expected["mass_g"], abs=within)
        apart = (found.angle_deg - expected["angle_deg"] + 180) % 360 - 180
        assert abs(apart) <= case["tolerance"]["angle_deg"] + ROUNDED


def test_two_corrections_leave_neither_force_nor_moment(client: Client) -> None:
    planes = [Plane("inner land", -110, 203.2), Plane("outer land", -5, 196.2)]
    old = PointMass(-133.9, 222, 15, 95)
    reading = replace(READING, old_weights=[old])
    answer = client.corrections(CorrectionsQuestion(reading, planes))
    called_force, called_moment = of_masses([INBOARD, OUTBOARD])
    old_force, old_moment = of_masses([old])
    fitted = [
        PointMass(plane.position_mm, plane.radius_mm, c.mass_g, c.angle_deg)
        for plane, c in zip(planes, answer.corrections, strict=True)
    ]
    force, moment = of_masses(fitted)
    assert abs(force - (called_force + old_force)) < 0.01
    assert abs(moment - (called_moment + old_moment)) < 1
    assert [c.unbalance_gmm for c in answer.corrections] == pytest.approx([m.mass_g * m.radius_mm for m in fitted])
    read = sum(m.mass_g * m.radius_mm for m in (INBOARD, OUTBOARD, old))
    assert answer.gain == pytest.approx(sum(c.unbalance_gmm for c in answer.corrections) / read)
    assert answer.left_over.static_gmm == pytest.approx(0, abs=0.01)


def test_one_correction_leaves_the_couple(client: Client) -> None:
    answer = client.corrections(CorrectionsQuestion(READING, [Plane("middle", -45, 200)]))
    force, moment = of_masses([INBOARD, OUTBOARD])
    assert answer.corrections[0].unbalance_gmm == pytest.approx(abs(force))
    assert answer.left_over.couple_gmm2 == pytest.approx(abs(moment + 45 * force))
    assert "couple_stays" in {warning.code for warning in answer.warnings}


def test_nothing_read_has_no_gain(client: Client) -> None:
    answer = client.corrections(CorrectionsQuestion(StaticReading(0, 200, 0, 0), [Plane("a", 0, 200)]))
    assert (answer.gain, answer.corrections[0].mass_g) == (None, 0.0)


# --- splits


def as_strip(mass_g: float, angle_deg: float, arc_deg: float, land_radius_mm: float) -> complex:
    """What a strip does: mass at half its thickness off the land, as the centroid of its arc."""
    half = radians(arc_deg) / 2
    return vector(mass_g * (land_radius_mm - STRIP.thickness_mm / 2) * sin(half) / half, angle_deg)


def test_a_split_hides_strips_that_do_the_works_share(client: Client) -> None:
    target = SplitTarget(mass_g=60, angle_deg=80, radius_mm=198)
    answer = client.split(SplitQuestion(target, EvenSpokes(5, first_deg=44, width_deg=40), STRIP))
    done = sum(as_strip(p.mass_g, p.angle_deg, p.arc_deg, 198) for p in answer.pieces)
    left = done - vector(60 * 198, 80)
    assert answer.residual.unbalance_gmm == pytest.approx(abs(left), abs=0.02)
    assert answer.residual.mass_g == pytest.approx(abs(left) / 198, abs=1e-4)
    assert abs(left) < 5 * 198 / 2
    assert answer.proven_optimal
    for piece in answer.pieces:
        assert piece.mass_g == piece.segments * 5
        assert piece.length_mm == piece.segments * 16
        centre = 44 + 72 * (int(piece.window or "0") - 1)
        assert abs(piece.angle_deg - centre) <= (40 - piece.arc_deg) / 2 + ROUNDED


def test_the_ideal_is_the_target_on_its_two_neighbours(client: Client) -> None:
    centres = {"long": 180, "left": 236, "right": 124}
    spokes = SpokeWindows([SpokeWindow(name, centre, 44) for name, centre in centres.items()])
    question = SplitQuestion(SplitTarget(35, 200, 222), spokes, STRIP, land_radius_mm=198, max_pieces=3)
    answer = client.split(replace(question, keep_out=[KeepOutArc(172, 185, "pressure sensor")]))
    assert {ideal.window for ideal in answer.ideal} == {"long", "left"}
    total = sum(vector(ideal.mass_g, centres[ideal.window or ""]) for ideal in answer.ideal)
    assert abs(total - vector(abs(total), 200)) < 1e-4
    for piece in answer.pieces:
        from_deg, to_deg = piece.angle_deg - piece.arc_deg / 2, piece.angle_deg + piece.arc_deg / 2
        assert to_deg <= 172 + ROUNDED or from_deg >= 185 - ROUNDED


# --- roundings


def test_nearest_rounds_each_plane_and_tells_what_stays(client: Client) -> None:
    targets = [
        RoundingTarget("inner", -120, 210, 23, 40),
        RoundingTarget("outer", 40, 222, 17.4, 305),
    ]
    answer = client.rounding(RoundingQuestion(targets, step_g=5, max_mass_g=60))
    assert [w.mass_g for w in answer.weights] == [25, 15]
    assert [w.angle_deg for w in answer.weights] == [40, 305]
    assert [p.mass_g for p in answer.residual.planes] == pytest.approx([2, 2.4])
    assert [p.angle_deg for p in answer.residual.planes] == pytest.approx([40, 125])  # too much, and too little
    static = vector(2 * 210, 40) + vector(2.4 * 222, 125)
    assert answer.residual.static_gmm == pytest.approx(abs(static))


def test_static_first_leaves_no_more_static_than_nearest(client: Client) -> None:
    targets = [RoundingTarget("a", -80, 200, 22, 10), RoundingTarget("b", 80, 200, 22, 20)]
    question = RoundingQuestion(targets, masses_g=[10, 20, 25, 30])
    nearest = client.rounding(question)
    together = client.rounding(replace(question, aim="static_first", per_plane_g=5))
    assert [w.mass_g for w in nearest.weights] == [20, 20]
    assert sorted(w.mass_g for w in together.weights) == [20, 25]
    assert together.residual.static_gmm < nearest.residual.static_gmm


# --- styles and plans


def test_the_choices_name_places_and_the_stock_that_fits(client: Client) -> None:
    answer = client.style_choices(StyleQuestion(WHEEL, SHELF, Preferences("clean_face")))
    assert answer.choices
    places = {place.place: place for choice in answer.choices for place in choice.places}
    assert {land.name for land in WHEEL.lands} <= set(places)
    assert places["inner land"].skus == ("BAR-5",)
    assert places["inner land"].hidden
    assert places["inboard_flange"].skus == tuple(clip.sku for clip in SHELF.clip_ons)
    assert "outboard_flange" not in {place.place for place in answer.choices[0].places}
    assert all(remark.text for remark in answer.cautions)


def test_a_wheel_without_places_gets_reasons_or_next_steps(client: Client) -> None:
    bare = Wheel("alloy", "aftermarket", "car", Flanges(Flange(False), Flange(False)))
    answer = client.style_choices(StyleQuestion(bare, BuiltinStock("metric")))
    assert answer.choices == ()
    assert answer.ruled_out or answer.next_steps


def acts_at(piece: Piece) -> tuple[complex, float]:
    """What a piece adds, and where along the axis."""
    return vector(piece.effective_gmm, piece.angle_deg), piece.position_mm


def left_at_the_planes(reading: TwoPlaneReading, layout: Layout) -> tuple[list[complex], complex]:
    """What a layout leaves in the reading's two planes, and its static sum [g·mm], by lever arms."""
    first, second = reading.planes
    called, moment = of_masses(reading.planes)
    force = sum(v for v, _ in map(acts_at, layout.pieces)) - called
    moment = sum(v * z for v, z in map(acts_at, layout.pieces)) - moment
    distance = second.position_mm - first.position_mm
    in_second = (moment - force * first.position_mm) / distance
    return [force - in_second, in_second], force


def check_layout(reading: TwoPlaneReading, layout: Layout) -> None:
    """The residual as told is the one that the pieces leave; sums are sums."""
    planes, static = left_at_the_planes(reading, layout)
    mean_radius = sum(m.radius_mm for m in reading.planes) / 2
    told = layout.residual
    assert [p.mass_g for p in told.planes] == pytest.approx([abs(v) / 222 for v in planes], abs=1e-4)
    for plane, v in zip(told.planes, planes, strict=True):
        assert abs(vector(plane.mass_g, plane.angle_deg) - v / 222) < 1e-4
    assert told.static_gmm == pytest.approx(abs(static), abs=0.01)
    assert told.static_g == pytest.approx(abs(static) / mean_radius, abs=1e-4)
    assert layout.total_mass_g == pytest.approx(sum(p.mass_g for p in layout.pieces))
    assert layout.visible_pieces == sum(not p.hidden for p in layout.pieces)
    assert 0 <= layout.pass_chance_pct <= 100


def check_piece(piece: Piece) -> None:
    """Its effect is that of its arc; its clock is its angle."""
    half = radians(piece.arc_deg) / 2
    factor = sin(half) / half if half else 1.0
    assert piece.effective_gmm == pytest.approx(piece.mass_g * piece.radius_mm * factor, abs=0.05)
    hours, minutes = map(int, piece.clock.split(":"))
    apart = ((hours % 12) * 30 + minutes / 2 - piece.angle_deg + 180) % 360 - 180
    assert abs(apart) <= 0.25 + ROUNDED  # the clock is told to the nearest minute, which is half a degree
    if piece.style == "adhesive":
        assert piece.segments
        assert piece.length_mm is not None


def layouts_of(plan: Plan) -> list[Layout]:
    """All layouts, the recommended one first."""
    assert plan.recommended is not None
    return [plan.recommended, *plan.alternatives]


@pytest.mark.parametrize("appearance", ["no_preference", "clean_face", "out_of_sight"])
@pytest.mark.parametrize("stock", [BuiltinStock("metric"), SHELF], ids=["builtin", "own"])
def test_every_layout_of_a_plan_leaves_what_it_says(
    client: Client, appearance: Any, stock: BuiltinStock | OwnStock
) -> None:
    plan = client.plan(replace(QUESTION, stock=stock, preferences=Preferences(appearance)))
    assert plan.decision == "fit"
    assert plan.reference == "job 1047, front left"
    assert plan.acceptance == Acceptance(5, 5)
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


def test_before_is_the_bare_wheel(client: Client) -> None:
    before = client.plan(QUESTION).before
    assert before is not None
    assert [p.mass_g for p in before.planes] == pytest.approx([38, 22])
    assert [p.angle_deg for p in before.planes] == pytest.approx([112 + 180, 287.5 - 180])


def test_wishes_are_met(client: Client) -> None:
    hidden = client.plan(replace(QUESTION, preferences=Preferences("out_of_sight"))).recommended
    assert hidden is not None
    assert hidden.visible_pieces == 0
    clean = client.plan(replace(QUESTION, preferences=Preferences("clean_face"))).recommended
    assert clean is not None
    assert "outboard_flange" not in {piece.place for piece in clean.pieces}
    clips = client.plan(replace(QUESTION, preferences=Preferences(styles=["clip_on"]))).recommended
    assert clips is not None
    assert {piece.style for piece in clips.pieces} == {"clip_on"}


def test_prices_are_exact_sums(client: Client) -> None:
    plan = client.plan(replace(QUESTION, stock=SHELF))
    for layout in layouts_of(plan):
        each = [Decimal("0.95") if p.segments is None else p.segments * Decimal("0.18") for p in layout.pieces]
        assert layout.price == sum(each)
    builtin = client.plan(QUESTION).recommended
    assert builtin is not None
    assert builtin.price is None


def test_the_builtin_stock_can_be_sent_back_as_ones_own(client: Client) -> None:
    builtin = client.plan(QUESTION)
    own = client.plan(replace(QUESTION, stock=client.reference().stock.metric))
    assert own.recommended == builtin.recommended
    assert own.alternatives == builtin.alternatives


def test_a_static_reading_in_inches_and_ounces(client: Client) -> None:
    steel = Wheel("steel", "factory", "car", Flanges(Flange(), Flange()), rim_size="6Jx15 ET40")
    reading = StaticReading(position_mm=-40, radius_mm=inches(15.4) / 2, mass_g=42, angle_deg=71)
    static = Preferences(styles=["clip_on"], correction="static")
    plan = client.plan(PlanQuestion(reading, steel, BuiltinStock("ounce"), static))
    assert plan.acceptance.static_g == pytest.approx(28.349523125 / 4, abs=1e-6)
    (best, *_) = layouts_of(plan)
    force = sum(v for v, _ in map(acts_at, best.pieces)) - vector(42 * reading.radius_mm, 71)
    assert best.residual.static_g == pytest.approx(abs(force) / reading.radius_mm, abs=1e-4)
    assert best.residual.planes == ()


def test_every_decision_is_told_and_none_is_an_error(client: Client) -> None:
    little = two_plane(replace(INBOARD, mass_g=1), replace(OUTBOARD, mass_g=1))
    one_clip = Preferences(styles=["clip_on"], max_pieces_per_plane=1)
    asked: dict[str, PlanQuestion] = {
        "fit": QUESTION,
        "already_within": replace(QUESTION, reading=little),
        "best_effort": replace(QUESTION, acceptance=Acceptance(0.001, 0.001), preferences=one_clip),
        "repair_first": replace(QUESTION, inspection=["sidewall_bulge", "low_pressure"]),
        "none_possible": replace(QUESTION, stock=OwnStock()),
    }
    told = {expected: client.plan(question) for expected, question in asked.items()}
    assert {expected: plan.decision for expected, plan in told.items()} == {name: name for name in asked}
    assert told["repair_first"].recommended is None
    assert told["repair_first"].next_steps
    assert told["none_possible"].ruled_out or told["none_possible"].next_steps


def test_the_same_question_has_the_same_answer_from_many_threads(client: Client) -> None:
    alone = client.plan(QUESTION)
    with ThreadPoolExecutor(4) as pool:
        assert all(plan == alone for plan in pool.map(client.plan, [QUESTION] * 12))


# --- the rest


def test_the_reference_tables(client: Client) -> None:
    reference = client.reference()
    assert reference.stock.metric.strips
    assert {height.contour for height in reference.flange_heights.values} >= {"J"}
    assert {d.code: d.diameter_mm for d in reference.rim_diameters.values}[17] == pytest.approx(436.6)
    assert reference.defaults.acceptance.metric == Acceptance(5, 5)
    assert all(row.text and row.source for row in reference.guidance)
    assert "planes_apart" in {rule.rule for rule in reference.rules}


def test_health(client: Client) -> None:
    assert client.health().status == "ok"


def test_a_broken_schema_tells_every_pointer(client: Client) -> None:
    question = CorrectionsQuestion(
        two_plane(replace(INBOARD, mass_g=-5), replace(OUTBOARD, angle_deg=400)), [Plane("", 0, 200)]
    )
    with pytest.raises(BadRequest, match="#/planes/0/name") as raised:
        client.corrections(question)
    assert {fault.pointer for fault in raised.value.errors} == {
        "#/reading/planes/0/mass_g",
        "#/reading/planes/1/angle_deg",
        "#/planes/0/name",
    }
    assert raised.value.instance


def test_a_broken_rule_tells_its_name(client: Client) -> None:
    with pytest.raises(RuleBroken, match=r"#/planes/1/position_mm: .* \(planes_apart\)") as raised:
        client.corrections(CorrectionsQuestion(READING, [Plane("a", 0, 200), Plane("b", 0.5, 200)]))
    (fault,) = raised.value.errors
    assert fault.rule == "planes_apart"


def test_a_wrong_base_url_is_not_found(url: str) -> None:
    with Client(url + "/elsewhere", retries=0) as lost, pytest.raises(NotFound):
        lost.health()


def test_a_question_beyond_all_bounds_is_too_large(client: Client) -> None:
    with pytest.raises(TooLarge):
        client.plan(replace(QUESTION, reference="x" * (1024 * 1024)))


def test_angles_are_clockwise_from_the_mark(client: Client) -> None:
    """A quarter turn is three o'clock: what is called there at 90° is fitted there."""
    reading = two_plane(replace(INBOARD, angle_deg=90), replace(OUTBOARD, angle_deg=90))
    best = client.plan(replace(QUESTION, reading=reading, preferences=Preferences(styles=["clip_on"]))).recommended
    assert best is not None
    middle = sum(cmath.phase(vector(1, p.angle_deg)) for p in best.pieces) / len(best.pieces)
    assert middle == pytest.approx(pi / 2, abs=0.1)
