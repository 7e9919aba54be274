"""What stands around a plan: the steps in their order, and the cautions that a job calls for."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest

from rimpoise_service.messages.catalogue import CATALOGUE, text_of
from rimpoise_service.messages.message import Message
from rimpoise_service.model.stock import BUILTIN, Stock
from rimpoise_service.model.wheel import Valve, even_spokes
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.advice import ALWAYS, AdvisedPlan, advise, advise_styles, cautions
from rimpoise_service.planning.fitting_steps import passes
from rimpoise_service.planning.models import Decision, PlanRequest, Preferences
from tests.factories.by_hand import (
    CALLED,
    FIVES,
    INBOARD,
    INNER_MM,
    NO_FLANGE,
    OUTBOARD,
    RADIUS_MM,
    clips,
    codes,
    land,
    request,
    static,
    strip,
    two_plane,
    wheel,
)
from tests.factories.seeded import shop_job

TWO_CLIPS = request(CALLED, wheel())
MIXED = request(CALLED, wheel(outboard=NO_FLANGE, lands=(land("outer land", 100),)))
BEHIND = request(
    CALLED,
    wheel(
        inboard=NO_FLANGE,
        outboard=NO_FLANGE,
        lands=(land("inner land", -100), land("face land", 100, visible=True, behind_spokes=True)),
        spokes=even_spokes(6, 0, 40),
    ),
    preferences=Preferences(appearance="out_of_sight"),
)


def steps(advice: AdvisedPlan) -> list[str]:
    """Their codes."""
    return codes(advice.fitting_steps)


@pytest.mark.parametrize(
    ("other", "then"),
    [
        ({"spun": "bare"}, "clean_flange"),
        ({"spun": "unknown"}, "spin_without_old_weights"),
        ({"spun": "old_weights_on"}, "spin_again_bare"),
        (
            {"old_weights": (PointMass(INNER_MM, RADIUS_MM, 5, 20),), "spun": "old_weights_on"},
            "remove_old_weights",
        ),
    ],
)
def test_tools_come_first_then_what_old_weights_ask_for(other: dict[str, Any], then: str) -> None:
    """Bare: nothing. Declared: computed off, so they must come off. Else: they were in what was read."""
    assert steps(advise(request(replace(CALLED, **other), wheel())))[:2] == ["have_ready", then]


def test_old_weights_stay_on_a_wheel_that_is_within() -> None:
    assert steps(advise(request(two_plane(1, 40, 1, 210, spun="old_weights_on"), wheel()))) == ["wheel_on"]


def test_clip_ons_step_by_step() -> None:
    """Tools, old weights off, the flange, each weight, how it is struck, the check spin, the wheel back on."""
    advice = advise(TWO_CLIPS)
    assert steps(advice) == [
        "have_ready",
        "spin_without_old_weights",
        "clean_flange",
        "fit_clip_on",
        "fit_clip_on",
        "seat_clip",
        "check_spin",
        "wheel_on",
    ]
    first, second = (text_of(s) for s in advice.fitting_steps[3:5])
    assert first == (
        "Weight 1: clip-on C-30, 30 g, inner flange, at 40° (a little after 1 o'clock), on the called spot."
    )
    assert second == "Weight 2: clip-on C-20, 20 g, outer flange, at 210° (7 o'clock), on the called spot."


def test_each_style_has_its_manner_before_its_pieces() -> None:
    assert steps(advise(MIXED)) == [
        "have_ready",
        "spin_without_old_weights",
        "clean_flange",
        "fit_clip_on",
        "seat_clip",
        "clean_land",
        "fit_strip",
        "press_strip",
        "check_spin",
        "wheel_on",
    ]


def test_a_strip_behind_a_spoke_says_which() -> None:
    advice = advise(BEHIND)
    behind = [s for s in advice.fitting_steps if s.values.get("window")]
    assert [s.values["window"] for s in behind] == ["4", "5"]
    assert "behind spoke 4" in text_of(behind[0])


def test_where_a_couple_stays_the_check_spin_is_a_static_one() -> None:
    wishes = Preferences(correction="static")
    advice = advise(request(two_plane(40, 0, 10, 180), wheel(), BUILTIN["metric"], preferences=wishes))
    assert "check_spin_static" in steps(advice)
    assert "check_spin" not in steps(advice)


def test_the_last_step_tells_what_to_expect() -> None:
    advice = advise(TWO_CLIPS)
    layout = advice.plan.layouts[0]
    expected = {"left_g": layout.largest_residual_g, "chance_pct": layout.pass_chance_pct}
    assert dict(advice.fitting_steps[-2].values) == expected | passes(layout.pass_chance_pct)


def test_a_wheel_that_is_within_goes_back_on() -> None:
    advice = advise(request(static(3, 0), wheel()))
    assert (advice.plan.decision, steps(advice)) == (Decision.ALREADY_WITHIN, ["wheel_on"])
    motorcycle = advise(request(static(3, 0), wheel(vehicle_class="motorcycle")))
    assert steps(motorcycle) == ["wheel_on_motorcycle"]


def test_only_what_this_plan_needs_is_to_be_ready() -> None:
    measured = wheel(inboard=replace(INBOARD, thickness_mm=3.0), outboard=replace(OUTBOARD, profile="A"))
    bare = advise(request(replace(CALLED, spun="bare"), measured))
    (ready,) = [s for s in bare.fitting_steps if s.code == "have_ready"]
    assert ready.values["tools"] == ("tool_glasses", "tool_hammer", "tool_wrench", "tool_tyre_gauge")
    (ready,) = [s for s in advise(TWO_CLIPS).fitting_steps if s.code == "have_ready"]
    assert {"tool_gauge", "tool_pliers", "tool_scraper"} <= set(ready.values["tools"])  # type: ignore[call-overload]
    strips = advise(BEHIND)
    (ready,) = [s for s in strips.fitting_steps if s.code == "have_ready"]
    assert "tool_hammer" not in ready.values["tools"]  # type: ignore[operator]
    assert "tool_cleaner" in ready.values["tools"]  # type: ignore[operator]


def test_a_wire_wheel_has_the_steps_of_spoke_weights() -> None:
    """Nothing is struck on a lip, and the pliers press the weight on its nipple."""
    wire = wheel(vehicle_class="motorcycle", wire_spokes=True, lands=(land("middle", 0),))
    advice = advise(request(static(20, 40), wire, BUILTIN["metric"], preferences=Preferences(correction="static")))
    assert [s for s in steps(advice) if s.startswith(("fit", "seat", "clean"))] == [
        *["fit_spoke_weight"] * len(advice.plan.layouts[0].pieces),
        "seat_spoke_weight",
    ]
    assert "tool_pliers" in advice.fitting_steps[0].values["tools"]  # type: ignore[operator]
    assert "tool_hammer" not in advice.fitting_steps[0].values["tools"]  # type: ignore[operator]
    assert steps(advice)[-1] == "wheel_on_motorcycle"


def test_valve_sensor_and_face_are_minded() -> None:
    assert "mind_valve" in steps(advise(request(CALLED, wheel(valve=Valve(0)))))
    assert "sensor_care" in steps(advise(request(CALLED, wheel(valve=Valve(0, "clamp_in")))))
    assert "protect_face" in steps(advise(request(CALLED, wheel(finish="chrome"))))


def test_every_piece_is_a_step() -> None:
    for advice in map(advise, (TWO_CLIPS, MIXED, BEHIND)):
        reported = [
            (s.values["sku"], s.values["angle_deg"]) for s in advice.fitting_steps if s.code.startswith("fit_")
        ]
        assert sorted(reported) == sorted((p.sku, p.angle_deg) for p in advice.plan.layouts[0].pieces)


@pytest.mark.parametrize(
    ("question", "decision"),
    [
        (replace(TWO_CLIPS, inspection=("cracked_wheel",)), Decision.REPAIR_FIRST),
        (request(CALLED, wheel(inboard=None, outboard=None)), Decision.NONE_POSSIBLE),
    ],
)
def test_without_weights_there_is_nothing_to_fit(question: PlanRequest, decision: Decision) -> None:
    advice = advise(question)
    assert (advice.plan.decision, advice.fitting_steps, advice.comparisons) == (decision, (), ())
    assert codes(advice.cautions) == list(ALWAYS)


@pytest.mark.parametrize("stock", [FIVES, Stock(clips(15))])
def test_who_fits_weights_minds_nuts_and_clearance(stock: Stock) -> None:
    """Within acceptance or not."""
    advice = advise(request(CALLED, wheel(), stock, preferences=Preferences(max_pieces_per_plane=1)))
    assert codes(advice.cautions) == [*ALWAYS, "clearance"]
    assert codes(advice.fitting_steps)[-1] == "wheel_on"


@pytest.mark.parametrize(
    ("vehicle", "more"),
    [
        ({"vehicle_class": "motorcycle"}, ["motorcycle_sides"]),
        ({"vehicle_class": "motorcycle", "wire_spokes": True}, ["motorcycle_sides", "rim_lock"]),
        ({"vehicle_class": "bus"}, ["heavy_frame", "loose_filling"]),
    ],
)
def test_who_fits_weights_to_other_than_cars_minds_more(vehicle: dict[str, Any], more: list[str]) -> None:
    """And who fits none need not."""
    idle, fitting, of_a_car = (
        codes(cautions(fitting=fits, lead=False, old_weights=False, wheel=its))
        for fits, its in ((False, wheel(**vehicle)), (True, wheel(**vehicle)), (True, wheel()))
    )
    assert idle == list(ALWAYS)
    assert fitting == [*of_a_car, *more]


def test_lead_is_said_with_the_laws_that_ban_it() -> None:
    """The laws named in the trade's own lists: EU 2000/53/EC and six states'."""
    leaden = Stock(clips(20, 30, material="lead"))
    assert "lead_ban" in codes(advise(request(CALLED, wheel(), leaden)).cautions)
    assert "lead_ban" not in codes(advise(TWO_CLIPS).cautions)
    laws = ["2000/53/EC", "70A.435", "25215.6", "37-0113", "116.931", "6-501"]
    assert [law for law in laws if law not in CATALOGUE["lead_ban"].source] == []


def test_lead_in_an_alternative_is_said_too() -> None:
    """Zinc clip-ons are recommended; who takes the leaden strips instead should know."""
    lands = (land("inner land", -80), land("outer land", 80))
    stock = Stock(clips(20, 30), (strip(material="lead"),))
    advice = advise(request(CALLED, wheel(lands=lands), stock))
    assert {p.material for p in advice.plan.layouts[0].pieces} == {"zinc"}
    assert "lead_ban" in codes(advice.cautions)


def test_lead_in_the_stock_that_fits_is_said_with_the_styles() -> None:
    plain = Preferences()
    assert "lead_ban" in codes(advise_styles(wheel(), Stock(clips(20, material="lead")), plain).cautions)
    for_alloy = Stock((*clips(20), *clips(30, material="lead", for_materials=("alloy",))))
    assert "lead_ban" not in codes(advise_styles(wheel(), for_alloy, plain).cautions)


def test_old_weights_on_are_a_caution() -> None:
    old = (PointMass(INNER_MM, RADIUS_MM, 10, 0),)
    advice = advise(request(two_plane(30, 40, 20, 210, old_weights=old), wheel()))
    assert "old_weights_guess" in codes(advice.cautions)
    assert "old_weights_guess" not in codes(advise(TWO_CLIPS).cautions)


def test_every_caution_is_filed_as_one() -> None:
    old = (PointMass(INNER_MM, RADIUS_MM, 10, 0),)
    stock = Stock(clips(20, 30, 40, material="lead"))
    advice = advise(request(two_plane(30, 40, 20, 210, old_weights=old), wheel(), stock))
    assert {CATALOGUE[code].kind for code in codes(advice.cautions)} == {"caution"}
    assert {CATALOGUE[code].kind for code in steps(advice)} == {"fitting_step"}


def test_alternatives_are_compared_in_their_order() -> None:
    advice = advise(replace(MIXED, wheel=wheel(lands=(land("outer land", 100), land("inner land", -80)))))
    best, *others = advice.plan.layouts
    assert len(others) > 1
    assert [c.pieces for c in advice.comparisons] == [len(o.pieces) - len(best.pieces) for o in others]
    assert [c.total_mass_g for c in advice.comparisons] == [o.total_mass_g - best.total_mass_g for o in others]


def test_the_reference_comes_back() -> None:
    assert advise(replace(TWO_CLIPS, reference="job 1047")).reference == "job 1047"


def messages_in(value: Any) -> Iterator[Message]:
    """Every message of an answer."""
    if isinstance(value, Message):
        yield value
    elif is_dataclass(value):
        yield from (r for f in fields(value) for r in messages_in(getattr(value, f.name)))
    elif isinstance(value, tuple | list):
        yield from (r for inner in value for r in messages_in(inner))


@pytest.mark.slow
def test_real_answers_read_well() -> None:
    """Whatever a shop's jobs make it say: no value is missing, none is shown as nothing."""
    heard: set[str] = set()
    for seed in range(80):
        request = shop_job(seed)
        for answer in (advise(request), advise_styles(request.wheel, request.stock, request.preferences)):
            for found in messages_in(answer):
                text = text_of(found)
                heard.add(found.code)
                plain = text.removeprefix("None on the shelf")
                assert not re.search(r"[{}]|\bNone\b|\bnan\b|\binf\b", plain), found
    assert len(heard) > 40
