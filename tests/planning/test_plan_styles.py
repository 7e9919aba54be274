"""What a plan makes of flanges known and unknown, of clearances, lands and wishes, on wheels made by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import BUILTIN, ClipOn, Range, Stock
from rimpoise_service.model.wheel import even_spokes
from rimpoise_service.physics.readings import StaticCouple
from rimpoise_service.planning.models import Appearance, Decision, Preferences
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import (
    BOTH,
    FIVES,
    INBOARD,
    NO_FLANGE,
    OUTBOARD,
    clips,
    codes,
    land,
    layout,
    reasons,
    request,
    static,
    strip,
    two_plane,
    wheel,
)

LIPS = Stock(clips(*range(5, 65, 5), thickness_mm=Range(2.5, 4.0)), (strip(),))


@pytest.mark.parametrize(
    ("material", "origin", "step"),
    [
        ("alloy", "factory", "ask_guide_then_gauge"),
        ("alloy", "aftermarket", "gauge_flange"),
        ("steel", "factory", "gauge_flange"),
    ],
)
def test_an_unmeasured_flange_is_a_next_step_not_a_guess(material: str, origin: str, step: str) -> None:
    """Factory alloy: the vehicle's application guide first; else the gauge (common practice, no source)."""
    plan = make_plan(request(two_plane(30, 40, 20, 210), wheel(material=material, origin=origin), LIPS))
    assert plan.decision == Decision.NONE_POSSIBLE
    assert codes(plan.next_steps) == [step, "look_for_lands"]
    assert reasons(plan, "clip-on on inboard flange") == ["flange_unmeasured"]


def test_a_step_that_both_flanges_need_is_said_once() -> None:
    unmeasured = wheel(material="alloy", origin="aftermarket")
    gauge = make_plan(request(static(30, 2), unmeasured, LIPS)).next_steps[0]
    assert text_of(gauge) == "Gauge both flanges and send their thickness or profile."
    one = replace(unmeasured, outboard=NO_FLANGE)
    gauge = make_plan(request(static(30, 2), one, LIPS)).next_steps[0]
    assert text_of(gauge) == "Gauge the inner flange and send its thickness or profile."


@pytest.mark.parametrize(("room_mm", "steps"), [(10, []), (12, ["gauge_flange"])])
def test_no_flange_is_gauged_where_no_weight_could_go_on_it(room_mm: float, steps: list[str]) -> None:
    """Clips 11 mm high: where they stand too high, no thickness of the lip makes them fit."""
    high = Stock(clips(20, thickness_mm=Range(2.5, 4.0), height_mm=11.0), (strip(),))
    tight = wheel(inboard=replace(INBOARD, max_height_mm=room_mm), outboard=NO_FLANGE, lands=(land("in", -50),))
    assert codes(make_plan(request(static(30, 2), tight, high)).next_steps) == steps


@pytest.mark.parametrize("appearance", ["out_of_sight", "clean_face"])
def test_who_wants_weights_hidden_is_sent_to_look_for_lands(appearance: Appearance) -> None:
    """Clips on both lips would do, but the outer one shows; a land that is known is not looked for."""
    for lands, found in (((), ["look_for_lands"]), ((land("barrel", 20),), [])):
        wishes = Preferences(appearance=appearance)
        plan = make_plan(request(two_plane(30, 40, 20, 210), wheel(lands=lands), preferences=wishes))
        assert codes(plan.next_steps) == found


def test_a_measured_lip_or_a_named_profile_is_no_guess() -> None:
    lips = [replace(flange, thickness_mm=3.0) for flange in (INBOARD, OUTBOARD)]
    measured = wheel(material="alloy", inboard=lips[0], outboard=lips[1])
    assert make_plan(request(two_plane(30, 40, 20, 210), measured, LIPS)).decision == Decision.FIT
    named = wheel(inboard=replace(INBOARD, profile="north"), outboard=replace(OUTBOARD, profile="south"))
    stock = Stock(clips(20, 30, profiles=("north",)))
    plan = make_plan(request(two_plane(30, 40, 20, 210), named, stock))
    assert reasons(plan, "clip-on on outboard flange") == ["profile_misfit"]
    assert {p.place for p in plan.layouts[0].pieces} == {"inboard_flange"}


@pytest.mark.parametrize(
    ("vehicle_class", "family"), [("car", "CLIP-STEEL-RIM"), ("light_truck", "CLIP-TRUCK-RIM")]
)
def test_steel_wheels_take_the_plain_clip_and_trucks_the_heavier(vehicle_class: str, family: str) -> None:
    plan = make_plan(request(two_plane(30, 40, 20, 210), wheel(vehicle_class=vehicle_class), BUILTIN["metric"]))
    assert plan.decision == Decision.FIT
    assert all(p.sku.startswith(family) for p in plan.layouts[0].pieces)


def test_a_brake_too_close_on_one_side_makes_it_mixed() -> None:
    """Nothing clears at the inboard flange: a strip on the inner land, a clip-on outboard."""
    close = wheel(inboard=replace(INBOARD, max_height_mm=0.0), lands=(land("inner land", -80),))
    plan = make_plan(request(two_plane(30, 40, 20, 210), close))
    assert reasons(plan, "clip-on on inboard flange") == ["nothing_clears"]
    assert {p.place: p.style for p in plan.layouts[0].pieces} == {
        "inner land": "adhesive",
        "outboard_flange": "clip_on",
    }


def test_a_clip_that_is_too_high_does_not_clear() -> None:
    close = wheel(inboard=replace(INBOARD, max_height_mm=9.0), lands=(land("inner land", -80),))
    plan = make_plan(request(two_plane(30, 40, 20, 210), close))
    assert reasons(plan, "clip-on on inboard flange") == ["too_high"]


SPOKED = wheel(
    inboard=NO_FLANGE,
    outboard=NO_FLANGE,
    lands=(land("inner land", -80), land("face land", 60, visible=True, behind_spokes=True)),
    spokes=even_spokes(6, 0, 30),
)


def test_out_of_sight_is_behind_the_spokes() -> None:
    """Between spokes at 180° and 240°: seen at 210° if stuck where it is called."""
    called = two_plane(30, 40, 30, 210)
    plain = make_plan(request(called, SPOKED))
    hidden = make_plan(request(called, SPOKED, preferences=Preferences(appearance="out_of_sight")))
    assert plain.layouts[0].visible_pieces == 1
    assert hidden.layouts[0].visible_pieces == 0
    windows = [p.window for p in hidden.layouts[0].pieces if p.place == "face land"]
    assert windows == ["4", "5"]
    assert hidden.layouts[0].unmet_wishes == 0


def test_a_strip_across_two_spokes_that_touch_is_hidden() -> None:
    """What is called takes more room than either spoke has; over their seam it is hidden, and that is said."""
    spokes = (Arc.centred(200, 20, "a"), Arc.centred(220, 20, "b"), Arc.centred(20, 20, "c"))
    called = request(two_plane(30, 40, 30, 210), replace(SPOKED, spokes=spokes))
    for found in make_plan(called).layouts:
        (outer,) = (p for p in found.pieces if p.place == "face land")
        assert (outer.arc_deg > 20, outer.hidden) == (True, True)
        assert outer.window == ("a and b" if "behind the spokes" in found.name else None)


def test_spokes_that_close_the_circle_hide_everything_under_one_name() -> None:
    """A disc with a seam at 210°: a strip lies over it, and no second layout says the same."""
    for spokes in ((Arc.centred(30, 360, "disc"),), even_spokes(6, 0, 60)):
        called = request(two_plane(30, 40, 30, 210), replace(SPOKED, spokes=spokes))
        plan = make_plan(called)
        assert all(p.hidden for found in plan.layouts for p in found.pieces)
        assert "adhesive on inner land + adhesive on face land behind the spokes" in {x.name for x in plan.layouts}
        assert "adhesive on inner land + adhesive on face land" not in {x.name for x in plan.layouts}
        (outer,) = (p for p in plan.layouts[0].pieces if p.place == "face land")
        assert abs(outer.angle_deg - 210) < 5


def test_wishes_that_are_not_met_rank_lower_and_say_so() -> None:
    flanged = wheel(lands=(land("inner land", -80), land("outer land", 60)))
    called = two_plane(30, 40, 20, 210)
    clean = make_plan(request(called, flanged, preferences=Preferences(appearance="clean_face")))
    unmet = [found.unmet_wishes for found in clean.layouts]
    assert unmet == sorted(unmet)
    assert (unmet[0], unmet[-1]) == (0, 1)
    assert "face_not_clean" in codes(layout(clean, BOTH).notes)
    only = make_plan(request(called, wheel(), preferences=Preferences(appearance="out_of_sight")))
    assert only.decision == Decision.FIT
    assert codes(only.layouts[0].notes) == ["can_be_seen"]


def test_derived_geometry_is_reported_wherever_it_is_used() -> None:
    """7Jx17: 177.8 mm from the measured flange, at 100; radius half of 436.6 (ISO 4000-2 Table 4, from memory)."""
    marked = wheel(inboard=replace(INBOARD, position_mm=None, radius_mm=None), rim_size="7Jx17 ET45")
    plan = make_plan(request(StaticCouple(0, 6000 + 0j, 0j), marked))
    reported = {r.code: r.values for r in plan.derived}
    assert reported["flange_position_from_other"]["position_mm"] == pytest.approx(100 - 177.8)
    assert reported["flange_radius_derived"]["radius_mm"] == pytest.approx(218.3)
    assert len(codes(plan.derived)) == 3
    lands_only = Preferences(styles=("adhesive",))
    reported_too = make_plan(request(StaticCouple(0, 6000 + 0j, 0j), replace(marked, lands=SPOKED.lands), FIVES))
    assert codes(reported_too.derived) == codes(plan.derived)
    judged = make_plan(
        request(StaticCouple(0, 6000 + 0j, 0j), replace(marked, lands=SPOKED.lands), preferences=lands_only)
    )
    assert "flange_position_from_other" in codes(judged.derived)


def test_one_measured_flange_is_the_datum_of_the_other() -> None:
    """Inboard measured at +43.9 mm, where the marking puts the outboard one: that is 177.8 mm further out."""
    marked = wheel(
        inboard=replace(INBOARD, position_mm=43.9),
        outboard=replace(OUTBOARD, position_mm=None),
        rim_size="7Jx17 ET45",
    )
    plan = make_plan(request(StaticCouple(0, 6000 + 0j, 0j), marked))
    assert plan.decision == Decision.FIT
    (other,) = [said for said in plan.derived if said.code == "flange_position_from_other"]
    assert other.values["position_mm"] == pytest.approx(43.9 + 177.8)
    assert "judged_at_flanges" in codes(plan.derived)


def test_a_measure_is_requested_only_where_it_is_wanted() -> None:
    """Who wants clip-ons alone is not sent to look for lands."""
    clip_ons = Preferences(styles=("clip_on",))
    plan = make_plan(request(static(20, 2), wheel(inboard=None), preferences=clip_ons))
    assert codes(plan.next_steps) == ["look_at_flange"]


def test_a_clip_of_the_wrong_kind_is_ruled_out_for_its_reason() -> None:
    stock = Stock((ClipOn("a", 20, "zinc", for_materials=("alloy",)), ClipOn("b", 20, "zinc", on_hand=0)))
    plan = make_plan(request(static(20, 2), wheel(vehicle_class="motorcycle"), stock))
    assert set(reasons(plan, "clip-on on inboard flange")) == {"not_for_material", "out_of_stock"}


def test_clips_for_other_wheels_are_no_reason_where_some_are_for_this_one() -> None:
    """The set has clips for alloy wheels of cars, so it is neither the material nor the vehicle: it is the lip."""
    thick = wheel(material="alloy", inboard=replace(INBOARD, thickness_mm=8), outboard=OUTBOARD)
    plan = make_plan(request(static(20, 2), thick, BUILTIN["metric"]))
    assert reasons(plan, "clip-on on inboard flange") == ["thickness_misfit"]
    assert reasons(plan, "clip-on on outboard flange") == ["flange_unmeasured"]
