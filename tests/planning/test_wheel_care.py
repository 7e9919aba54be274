"""What keeps a weight off a place: clearance, the valve's stem, finish, the lip's condition, the class."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from rimpoise_service.model.stock import BUILTIN, Stock
from rimpoise_service.model.wheel import Flange, Land, Valve
from rimpoise_service.planning.arrangements import choose_styles, next_steps
from rimpoise_service.planning.compatibility import wheel_misfits
from rimpoise_service.planning.models import Decision, Preferences
from rimpoise_service.planning.places import find_places
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import (
    CALLED,
    FIVES,
    INBOARD,
    NO_FLANGE,
    OUTBOARD,
    clips,
    codes,
    land,
    reasons,
    request,
    static,
    strip,
    wheel,
)

FREE = Preferences()


@pytest.mark.parametrize(
    ("other", "room_mm"),
    [
        ({}, None),
        ({"max_height_mm": 6.0}, 6.0),
        ({"gap_mm": 8.0}, 5.0),
        ({"gap_mm": 8.0, "clearance_to": "moving"}, 3.0),
        ({"gap_mm": 8.0, "clearance_to": "moving", "clearance_mm": 1.0}, 7.0),
        ({"gap_mm": 8.0, "clearance_mm": 0.0}, 8.0),
        ({"gap_mm": 8.0, "max_height_mm": 4.0}, 4.0),
        ({"gap_mm": 6.0, "max_height_mm": 4.0}, 3.0),
        ({"gap_mm": 2.0}, 0.0),
    ],
)
def test_the_smaller_of_gap_and_stated_height_holds(other: dict[str, Any], room_mm: float | None) -> None:
    """3 mm stay free to a caliper, 5 to what moves (common practice, no source)."""
    assert land("a", 0, **other).room_mm == room_mm


def test_a_flange_keeps_two_millimetres() -> None:
    assert replace(INBOARD, gap_mm=12.0).room_mm == 10.0
    assert replace(INBOARD, gap_mm=12.0, clearance_mm=4.0).room_mm == 8.0


@pytest.mark.parametrize(("gap_mm", "reason"), [(7.01, None), (6.99, "too_high"), (3.0, "nothing_clears")])
def test_a_strip_with_its_tape_must_clear_the_caliper(gap_mm: float, reason: str | None) -> None:
    """The strip is 4 mm high, its tape included, and 3 mm stay free."""
    close = wheel(inboard=NO_FLANGE, lands=(land("inner land", -80, gap_mm=gap_mm),))
    found = find_places(close, FIVES, FREE)
    assert [r.code for n in found.ruled_out if n.name == "inner land" for r in n.reasons] == [reason] * bool(
        reason
    )


@pytest.mark.parametrize(("gap_mm", "fits"), [(12.01, True), (11.99, False)])
def test_a_clip_on_must_clear_by_two(gap_mm: float, fits: bool) -> None:
    """The clips are 10 mm high."""
    plan = make_plan(request(CALLED, wheel(inboard=replace(INBOARD, gap_mm=gap_mm))))
    assert (reasons(plan, "clip-on on inboard flange") == []) is fits


def on_outer_land(position_mm: float, valve: Valve | None, outboard: Flange | None = None) -> float:
    """Where a strip for 180° sits on a land of 200 mm radius [deg]."""
    described = wheel(outboard=outboard, lands=(land("outer land", position_mm, side="outboard"),), valve=valve)
    plan = make_plan(request(static(20, 180), described, Stock((), (strip(),))))
    return plan.layouts[0].pieces[0].angle_deg


HIDDEN_FLANGE = replace(OUTBOARD, present=False)


@pytest.mark.parametrize(
    ("position_mm", "outboard", "in_the_way"),
    [
        (60.1, HIDDEN_FLANGE, True),
        (59.9, HIDDEN_FLANGE, False),
        (60.1, None, True),
        (-20.0, None, True),
    ],
)
def test_the_valves_stem_keeps_strips_off(position_mm: float, outboard: Flange | None, in_the_way: bool) -> None:
    """15 mm to each side within 40 mm of the outboard flange, at 100 mm; else on the outboard side.

    The strip is 40 mm long: its middle stays 35 mm, 10.03°, off the valve's.
    """
    assert on_outer_land(position_mm, None, outboard) == pytest.approx(180)
    at = on_outer_land(position_mm, Valve(180), outboard)
    if in_the_way:
        assert abs(at - 180) == pytest.approx(10.027, abs=0.01)
    else:
        assert at == pytest.approx(180)


@pytest.mark.parametrize(
    ("vehicle_class", "position_mm", "width_mm", "in_the_way"),
    [
        ("motorcycle", 0.0, 30.0, True),
        ("motorcycle", -25.0, 30.0, True),
        ("motorcycle", -25.0, 20.0, False),
        ("car", 0.0, 30.0, False),
    ],
)
def test_a_motorcycles_stem_is_in_the_middle_of_the_rim(
    vehicle_class: Any, position_mm: float, width_mm: float, in_the_way: bool
) -> None:
    """88.9 mm wide: 15 mm about the middle, too, while the outboard flange is 44 mm off."""
    rim = wheel(
        vehicle_class=vehicle_class,
        rim_size="MT3.50x17",
        offset_mm=0.0,
        inboard=NO_FLANGE,
        outboard=NO_FLANGE,
        lands=(land("band", position_mm, side="inboard", width_mm=width_mm),),
        valve=Valve(180),
    )
    plan = make_plan(request(static(20, 180), rim, Stock((), (strip(),)), preferences=Preferences()))
    stays = 15.0 / 200.0 - 1e-6
    for p in plan.layouts[0].pieces:
        off = abs(math.radians(p.angle_deg - 180)) - math.radians(p.arc_deg / 2)
        assert (off >= stays) is in_the_way


@pytest.mark.parametrize(
    ("other", "reason", "step"),
    [
        ({"flange_condition": "damaged"}, "flange_damaged", "have_flange_checked"),
        ({"flange_condition": "corroded"}, None, "clean_corroded_flange"),
        ({"lip_covered": True}, "lip_covered", None),
        ({}, None, None),
    ],
)
def test_a_lip_that_holds_no_clip(other: dict[str, Any], reason: str | None, step: str | None) -> None:
    described = wheel(inboard=replace(INBOARD, **other), lands=(land("inner land", -80),))
    plan = make_plan(request(CALLED, described))
    assert reasons(plan, "clip-on on inboard flange") == [reason] * bool(reason)
    assert codes(plan.next_steps) == [step] * bool(step)


@pytest.mark.parametrize(
    ("finish", "face", "barrel"),
    [(None, True, True), ("painted", True, True), ("polished", False, True), ("chrome", False, True)],
)
def test_no_strip_on_a_face_that_it_spoils(finish: str | None, face: bool, barrel: bool) -> None:
    described = wheel(
        inboard=NO_FLANGE,
        outboard=NO_FLANGE,
        finish=finish,
        lands=(land("face", 60, visible=True), land("barrel", -60)),
    )
    found = find_places(described, FIVES, FREE)
    assert [p.name for p in found.places] == ["barrel"] * barrel + ["face"] * face
    wanted = [] if face else ["look_for_other_places"]
    assert codes(next_steps(described, found, FREE)) == wanted


@pytest.mark.parametrize(
    ("coated", "finish", "fits"),
    [
        (False, "painted", False),
        (False, "clad", False),
        (False, "bare", True),
        (False, None, True),
        (None, "painted", True),
        (True, "painted", True),
    ],
)
def test_bare_clips_stay_off_a_finished_wheel(coated: bool | None, finish: str | None, fits: bool) -> None:
    """What isn't known is not held against a clip."""
    plan = make_plan(request(CALLED, wheel(finish=finish), Stock(clips(20, 30, coated=coated))))
    assert (plan.decision == Decision.FIT) is fits
    if not fits:
        assert reasons(plan, "clip-on on inboard flange") == ["not_coated"]
        assert codes(plan.next_steps).count("get_coated_clips") == 1  # for both flanges


def test_wire_spokes_take_nipple_weights_only() -> None:
    """And a cast wheel takes none; a strip finds no hold on a wheel with wire spokes."""
    wire = wheel(vehicle_class="motorcycle", wire_spokes=True, lands=(land("middle", 0),))
    chosen = choose_styles(wire, BUILTIN["metric"], Preferences(correction="static"))
    assert {sku.rpartition("-")[0] for c in chosen.choices for p in c.places for sku in p.skus} == {"NIPPLE"}
    assert [codes(r.reasons) for r in chosen.ruled_out] == [["no_strip_on_wire_spokes"]]
    cast = choose_styles(replace(wire, wire_spokes=False), BUILTIN["metric"], Preferences(correction="static"))
    assert not any("NIPPLE" in sku for c in cast.choices for p in c.places for sku in p.skus)


@pytest.mark.parametrize("lip", [None, NO_FLANGE, INBOARD])
def test_wire_spokes_need_no_lip(lip: Flange | None) -> None:
    """Nipple weights hang on the spokes: nobody is asked for a lip, nor sent to look for smooth bands."""
    wire = wheel(vehicle_class="motorcycle", wire_spokes=True, inboard=lip, outboard=lip, rim_size="MT2.15x18")
    plan = make_plan(request(static(22, 140), wire, BUILTIN["metric"]))
    assert plan.decision == Decision.FIT
    assert {p.sku.rpartition("-")[0] for p in plan.layouts[0].pieces} == {"NIPPLE"}
    assert codes(plan.next_steps) == []
    bare = make_plan(request(static(22, 140), wire, Stock()))
    assert (bare.decision, codes(bare.next_steps)) == (Decision.NONE_POSSIBLE, ["get_fitting_weights"])


@pytest.mark.parametrize(
    ("vehicle_class", "material", "families"),
    [
        ("car", "steel", {"CLIP-STEEL-RIM"}),
        ("car", "alloy", {"CLIP-ALLOY-SLIM", "CLIP-ALLOY-WIDE"}),
        ("light_truck", "steel", {"CLIP-TRUCK-RIM"}),
        ("van", "steel", {"CLIP-TRUCK-RIM"}),
        ("trailer", "steel", {"CLIP-STEEL-RIM", "CLIP-TRUCK-RIM"}),
        ("motorcycle", "alloy", {"CLIP-ALLOY-SLIM", "CLIP-ALLOY-WIDE"}),
        ("heavy_truck", "steel", {"CLIP-HEAVY"}),
        ("heavy_truck", "alloy", {"CLIP-HEAVY"}),
        ("bus", "steel", {"CLIP-HEAVY"}),
    ],
)
@pytest.mark.parametrize("builtin", ["metric", "ounce"])
def test_each_class_has_its_built_in_clips(
    builtin: str, vehicle_class: str, material: str, families: set[str]
) -> None:
    """Common practice, no source."""
    described = wheel(vehicle_class=vehicle_class, material=material)
    fitting = [c for c in BUILTIN[builtin].clip_ons if not wheel_misfits(c, described)]  # type: ignore[index]
    assert {c.sku.rpartition("-")[0] for c in fitting} == families


def test_built_in_clips_are_as_long_as_real_ones() -> None:
    """About 15 + 1.2 mm a gram for zinc, 40 + 0.4 mm a gram for heavy wheels (common practice, no source)."""
    by_sku = {c.sku: c for stock in BUILTIN.values() for c in stock.clip_ons}
    assert by_sku["CLIP-STEEL-RIM-60G"].length_mm == 87.0
    assert by_sku["CLIP-ALLOY-SLIM-5G"].length_mm == 21.0
    assert by_sku["CLIP-HEAVY-400G"].length_mm == 200.0
    assert by_sku["CLIP-HEAVY-2.00OZ"].length_mm == pytest.approx(40 + 0.4 * 56.699, abs=0.05)
    heavy = [c.mass_g for c in BUILTIN["metric"].clip_ons if c.sku.startswith("CLIP-HEAVY")]
    assert (min(heavy), max(heavy)) == (50, 400)
    assert [s.segment_mass_g for s in BUILTIN["metric"].strips] == [5.0, 2.5, 10.0]
    assert all(clip.coated for stock in BUILTIN.values() for clip in stock.clip_ons)
    assert all(strip.coated for stock in BUILTIN.values() for strip in stock.strips)


def test_a_land_without_a_gap_has_room_for_anything() -> None:
    assert Land("a", "inboard", 0, 200, 30, False, False).room_mm is None
