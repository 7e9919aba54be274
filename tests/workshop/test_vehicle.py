"""The vehicle: what releases it, and what an invoice takes of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.stock import BUILTIN, ClipOn, Stock
from rimpoise_service.model.wheel import Flange, Land, Wheel
from rimpoise_service.physics.readings import Reading, Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.models import Decision, PlanRequest, Preferences
from rimpoise_service.workshop.vehicle import (
    Torque,
    Vehicle,
    VehicleRequest,
    VehicleWheel,
    WheelCheckSpin,
    finish_vehicle,
)

LANDS = (
    Land("inner", "inboard", -110, 205, 40, behind_spokes=False, visible=False),
    Land("outer", "outboard", -5, 198, 35, behind_spokes=True, visible=False),
)
WHEEL = Wheel("alloy", "factory", "car", rim_size="7Jx17", offset_mm=45, lands=LANDS)


def two(inboard: tuple[float, float], outboard: tuple[float, float]) -> TwoPlane:
    a, b = (PointMass(z, 210, *called) for z, called in ((-133.9, inboard), (43.9, outboard)))
    return TwoPlane((a, b))


def wheel(position: str = "front_left", **changes: Any) -> VehicleWheel:
    """A wheel that was done as recommended and left 1 g a side, fastened twice."""
    plan = PlanRequest(two((35, 80), (25, 255)), WHEEL, BUILTIN["metric"])
    done = WheelCheckSpin(two((1, 20), (1, 200)))
    return replace(VehicleWheel(position, plan, done, Torque(120, second_pass=True)), **changes)


def opened(*wheels: VehicleWheel) -> tuple[Vehicle, list[str]]:
    vehicle = finish_vehicle(VehicleRequest(wheels))
    assert all(text_of(m).endswith(".") for m in vehicle.reasons)
    assert vehicle.released == (not vehicle.reasons)
    return vehicle, [m.code for m in vehicle.reasons]


def test_all_done_is_released() -> None:
    vehicle, reasons = opened(wheel(), wheel("front_right"))
    assert (vehicle.released, reasons) == (True, [])
    assert [w.verdict for w in vehicle.wheels] == ["released", "released"]


def test_old_weights_that_have_to_come_off_want_a_check_spin() -> None:
    """20 g called opposite an old weight of 20 g: over as long as that is on; 1 g called: fine as it is."""
    old = (PointMass(-133.9, 210, 20, 80),)
    on, off = (replace(two((mass_g, 260), (1, 255)), old_weights=old) for mass_g in (1, 20))
    plans = [PlanRequest(reading, WHEEL, BUILTIN["metric"]) for reading in (on, off)]
    as_they_are = [wheel(plan=plan, check_spin=None) for plan in plans]
    assert [opened(each)[1] for each in as_they_are] == [[], ["open_no_check_spin"]]


@pytest.mark.parametrize(
    ("changes", "reasons"),
    [
        ({"check_spin": None}, ["open_no_check_spin"]),
        ({"check_spin": WheelCheckSpin(two((9, 20), (1, 200)))}, ["open_over_limit"]),
        ({"torque": None}, ["open_torque"]),
        ({"torque": Torque(120, second_pass=False)}, ["open_second_pass"]),
        ({"check_spin": None, "torque": None}, ["open_no_check_spin", "open_torque"]),
    ],
)
def test_what_is_open_keeps_it(changes: dict[str, Any], reasons: list[str]) -> None:
    vehicle, found = opened(wheel("rear_right"), wheel(**changes))
    assert found == reasons
    assert [w.verdict for w in vehicle.wheels] == ["released", "open"]
    assert {m.values["position"] for m in vehicle.reasons} == {"front_left"}


STATIC = Static(PointMass(-45, 210, 1, 90))
ONE_LAND = replace(WHEEL, lands=LANDS[:1])


@pytest.mark.parametrize("after", [STATIC, two((19, 260), (19, 80))])
@pytest.mark.parametrize(
    "changes",
    [
        {"wheel": ONE_LAND, "stock": Stock(strips=BUILTIN["metric"].strips)},
        {"preferences": Preferences(correction="static")},
    ],
)
def test_where_a_static_check_spin_is_promised_it_is_enough(after: Reading, changes: dict[str, Any]) -> None:
    """The couple stays, as was said; a spin in two planes shows it, and its static sum is what counts."""
    plan = replace(wheel().plan, reading=two((30, 80), (10, 80)), **changes)
    vehicle, reasons = opened(wheel(plan=plan, check_spin=WheelCheckSpin(after)))
    assert vehicle.wheels[0].advice.plan.headline.code == "headline_fit_static"
    assert reasons == []


def test_where_a_static_check_spin_is_promised_too_much_static_keeps_the_wheel() -> None:
    """Read in two planes, of which either alone is within its limit."""
    plan = replace(wheel().plan, reading=two((30, 80), (10, 80)), wheel=ONE_LAND)
    plan = replace(plan, stock=Stock(strips=BUILTIN["metric"].strips))
    spun = WheelCheckSpin(two((4.5, 80), (4.5, 80)))
    vehicle, reasons = opened(wheel(plan=plan, check_spin=spun))
    assert reasons == ["open_over_limit"]
    assert vehicle.wheels[0].check is not None
    assert vehicle.wheels[0].check.actions


def test_a_static_spin_is_not_enough_where_two_planes_were_planned() -> None:
    assert opened(wheel(check_spin=WheelCheckSpin(STATIC)))[1] == ["open_static_spin"]
    heavy = replace(STATIC, mass=replace(STATIC.mass, mass_g=9))
    assert opened(wheel(check_spin=WheelCheckSpin(heavy)))[1] == ["open_over_limit"]


@pytest.mark.parametrize(("shown", "reasons"), [((1, 1), []), ((9, 9), ["open_over_limit"])])
def test_a_static_plan_may_be_spun_in_two_planes(shown: tuple[float, float], reasons: list[str]) -> None:
    """As its next step asks for; then both planes count."""
    plan = replace(wheel().plan, reading=replace(STATIC, mass=PointMass(-45, 210, 40, 50)))
    after = two((shown[0], 20), (shown[1], 200))
    assert opened(wheel(plan=plan, check_spin=WheelCheckSpin(after)))[1] == reasons
    assert opened(wheel(plan=plan, check_spin=WheelCheckSpin(STATIC)))[1] == []


def test_a_finding_comes_before_all_else_and_is_not_charged() -> None:
    bulging = replace(wheel().plan, inspection=("sidewall_bulge",))
    vehicle, reasons = opened(wheel(plan=bulging, check_spin=None, torque=None))
    assert reasons == ["open_finding"]
    assert vehicle.charges_wheels == ()


def test_a_wheel_whose_cause_was_found_is_charged_what_was_fitted() -> None:
    much = replace(wheel().plan, reading=two((160, 80), (150, 255)))
    fitted = (FittedPiece(-133.9, 210, 160, 80, sku="A"), FittedPiece(43.9, 210, 150, 255, sku="B"))
    spun = WheelCheckSpin(two((1, 20), (1, 200)), fitted)
    vehicle, reasons = opened(wheel(plan=much, check_spin=spun))
    assert (vehicle.wheels[0].advice.plan.decision, reasons) == (Decision.FIND_CAUSE_FIRST, [])
    assert [[p.sku for p in w.pieces] for w in vehicle.charges_wheels] == [["A", "B"]]
    assert opened(wheel(plan=much, check_spin=None))[0].charges_wheels == ()
    bulging = replace(much, inspection=("sidewall_bulge",))
    assert opened(wheel(plan=bulging, check_spin=spun))[0].charges_wheels == ()


def test_a_wheel_within_its_limits_needs_no_check_spin() -> None:
    good = replace(wheel().plan, reading=two((1, 80), (1, 255)))
    assert opened(wheel(plan=good, check_spin=None))[1] == []


def test_a_spare_needs_neither_spin_nor_torque() -> None:
    vehicle, reasons = opened(wheel("spare", check_spin=None, torque=None))
    assert reasons == []
    assert [p for w in vehicle.charges_wheels for p in w.pieces] == []
    assert [(w.code, w.values) for w in vehicle.warnings] == [("weights_unknown", {"position": "spare"})]
    assert opened(wheel("spare", torque=None))[0].warnings == ()


def test_an_invoice_takes_strips_by_their_segments() -> None:
    """What was recommended and spun, as it was taken off the shelf."""
    vehicle, _ = opened(wheel())
    (job,) = vehicle.charges_wheels
    plan = vehicle.wheels[0].advice.plan.recommended
    assert plan is not None
    assert [(p.sku, p.segments) for p in job.pieces] == [(p.sku, p.segments) for p in plan.pieces]
    assert any(p.segments for p in job.pieces)
    assert job.name == "front_left"


def test_weights_that_were_called_for_and_not_noted_are_missed() -> None:
    """It is released, for its last reading is within the limits; but something isn't written down."""
    nothing = WheelCheckSpin(two((1, 20), (1, 200)), ())
    vehicle, reasons = opened(wheel(check_spin=nothing), wheel("front_right"))
    assert reasons == []
    assert [(w.code, w.values) for w in vehicle.warnings] == [
        ("passes_without_weights", {"position": "front_left"})
    ]


def test_no_weights_are_missed_where_none_were_called_for_or_it_is_over_its_limit() -> None:
    nothing = WheelCheckSpin(two((1, 20), (1, 200)), ())
    good, much = (replace(wheel().plan, reading=two((g, 80), (g, 255))) for g in (1, 160))
    assert opened(wheel(plan=good, check_spin=nothing))[0].warnings == ()
    assert opened(wheel(plan=much, check_spin=nothing))[0].warnings == ()  # its cause was found
    vehicle, reasons = opened(wheel(check_spin=WheelCheckSpin(two((35, 80), (25, 255)), ())))
    assert (reasons, vehicle.warnings) == (["open_over_limit"], ())


def test_a_piece_by_hand_without_a_number_is_reported() -> None:
    by_hand = FittedPiece(-133.9, 210, 35, 80)
    vehicle, _ = opened(wheel(check_spin=WheelCheckSpin(two((1, 20), (1, 200)), (by_hand,))))
    assert vehicle.charges_wheels[0].pieces == ()
    assert [w.code for w in vehicle.warnings] == ["pieces_not_charged"]


@pytest.mark.parametrize(("on_hand", "short"), [((3, 3), 4), ((4, 2), None), ((None, 3), None)])
def test_wheels_that_take_the_same_weights_are_warned_of(on_hand: Any, short: int | None) -> None:
    """Two wheels of two weights each: a shelf that is counted down from wheel to wheel had enough."""
    lip = Flange(present=True, thickness_mm=3.2)
    rim = replace(WHEEL, inboard=lip, outboard=lip, lands=())
    wheels = []
    for position, left in zip(("front_left", "front_right"), on_hand, strict=True):
        shelf = Stock(clip_ons=(ClipOn("C-30", 30, "zinc", on_hand=left),))
        plan = replace(wheel().plan, reading=two((30, 80), (30, 255)), wheel=rim, stock=shelf)
        wheels.append(wheel(position, plan=plan, check_spin=None))
    said = [(w.code, w.values) for w in opened(*wheels)[0].warnings]
    wanted = {"sku": "C-30", "pieces": short, "on_hand": max(n or 0 for n in on_hand)}
    assert said == ([("short_on_shelf", wanted)] if short else [])
    done = [replace(w, check_spin=WheelCheckSpin(two((1, 20), (1, 200)))) for w in wheels]
    assert opened(*done)[0].warnings == ()
