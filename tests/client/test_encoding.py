"""Out: what a question looks like on the wire, and what never gets there."""

from __future__ import annotations

import json
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from rimpoise import (
    ClipOnInput,
    CorrectionsRequest,
    KeepOut,
    MassAcceptanceInput,
    OwnStockInput,
    Plane,
    PlanRequest,
    PointMass,
    PointMassesReading,
    PositionPlane,
    QuestionError,
    RimpoiseError,
    SpreadInput,
    StaticCoupleReading,
    StaticReading,
    StripInput,
    ThicknessRangeInput,
    TwoPlaneReading,
    from_machine,
    two_plane,
)
from rimpoise.encoding import to_json
from rimpoise.transport import write_body

MASS = PointMass(position_mm=-80, radius_mm=200, mass_g=35, angle_deg=90)
MASS_JSON = {"position_mm": -80, "radius_mm": 200, "mass_g": 35, "angle_deg": 90}
PLANE_JSON = {"kind": "position", **MASS_JSON}


@pytest.mark.parametrize(
    ("reading", "expected"),
    [
        (
            two_plane(MASS, MASS),
            {"kind": "two_plane", "planes": [PLANE_JSON] * 2, "reports": "correction", "old_weights": []},
        ),
        (
            StaticReading(PositionPlane(-80, 200, 35, 90), "unbalance"),
            {"kind": "static", "plane": PLANE_JSON, "reports": "unbalance"},
        ),
        (
            StaticCoupleReading(0, 1200, 10, 90000, 200),
            {
                "kind": "static_couple",
                "position_mm": 0,
                "static_gmm": 1200,
                "static_angle_deg": 10,
                "couple_gmm2": 90000,
                "couple_angle_deg": 200,
            },
        ),
        (PointMassesReading([MASS]), {"kind": "point_masses", "masses": [MASS_JSON]}),
    ],
)
def test_each_reading_carries_its_kind_and_its_default(reading: object, expected: dict[str, Any]) -> None:
    assert to_json(reading) == expected


def test_what_is_none_is_left_out_and_zero_is_not(plan_question: PlanRequest) -> None:
    sent = to_json(plan_question)
    assert sorted(sent) == ["reading", "stock", "wheel"]
    assert sent["wheel"]["flanges"] == {"inboard": {"thickness_mm": 3.2}, "outboard": {"thickness_mm": 3.2}}
    assert to_json(KeepOut(0, 0, "valve", "outer land"))["from_deg"] == 0


def test_money_is_a_plain_decimal_string() -> None:
    strip = StripInput("B", "steel", 5, 16, 19, 4, 12, unit_price=Decimal("1E+1"))
    assert to_json(strip)["unit_price"] == "10"
    assert to_json(ClipOnInput("C", 10, "zinc", unit_price=Decimal("0.10")))["unit_price"] == "0.10"


def test_lists_and_tuples_are_the_same() -> None:
    clip = ClipOnInput("C", 10, "zinc", ThicknessRangeInput(2, 4), profiles=("low",))  # type: ignore[arg-type]
    assert to_json(OwnStockInput([clip])) == to_json(OwnStockInput((clip,)))


class Shade(StrEnum):
    """A caller's own words."""

    ZINC = "zinc"


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (np.float64(2.5), 2.5),
        (np.float32(2.5), 2.5),
        (np.int64(3), 3),
        (Fraction(1, 4), 0.25),
        (Shade.ZINC, "zinc"),
    ],
)
def test_numbers_of_other_packages_and_enumerations_go_through(value: Any, expected: object) -> None:
    sent = to_json([value])[0]
    assert sent == expected
    assert type(sent) is type(expected)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), 10**400, np.float64("nan")])
def test_a_number_that_is_none_names_its_field(value: float) -> None:
    question = CorrectionsRequest(two_plane(MASS, PointMass(0, 200, value, 0)), [Plane("a", 0, 200)])
    with pytest.raises(QuestionError, match="finite number") as raised:
        write_body(question)
    assert raised.value.pointer == "#/reading/planes/1/mass_g"
    assert str(raised.value).startswith("#/reading/planes/1/mass_g: must be a finite number, not ")
    assert isinstance(raised.value, RimpoiseError)
    assert isinstance(raised.value, ValueError)


@pytest.mark.parametrize(
    ("question", "pointer"),
    [
        (SpreadInput(mass_sd_pct=object()), "#/mass_sd_pct"),  # type: ignore[arg-type]
        (MassAcceptanceInput(5, b"5"), "#/static_g"),  # type: ignore[arg-type]
        (StripInput("B", "steel", 5, 16, 19, 4, 12, unit_price=Decimal("NaN")), "#/unit_price"),
        (TwoPlaneReading([MASS, None]), "#/planes/1"),  # type: ignore[list-item]
        (TwoPlaneReading({MASS}), "#/planes"),  # type: ignore[arg-type]
        (float("nan"), "#"),
        (PointMass, "#"),
    ],
)
def test_what_json_cannot_carry_is_refused_where_it_stands(question: object, pointer: str) -> None:
    with pytest.raises(QuestionError) as raised:
        write_body(question)
    assert raised.value.pointer == pointer


@pytest.mark.parametrize("text", ["Ölfleck ø", "\ud800", 'quote " and \\', "\x00"])
def test_any_text_reaches_the_service_for_it_to_judge(text: str, plan_question: PlanRequest) -> None:
    body = write_body(PlanRequest(plan_question.reading, plan_question.wheel, plan_question.stock, reference=text))
    assert json.loads(body)["reference"] == text


SHOWN: dict[str, Any] = {
    "shown": {"kind": "planes", "inboard": {"mass": 30, "angle": 10}, "outboard": {"mass": 20, "angle": 90}},
    "set_to": {"kind": "places", "inboard": "inboard_flange", "outboard": "outboard_flange"},
    "old_weights": [MASS_JSON],
}


@pytest.mark.parametrize(
    ("slip", "pointer", "reason"),
    [
        ({"device": {"cals": "unbalance"}}, "#/device/cals", 'unknown field "cals"; known fields are '),
        ({"spinz": 3}, "#/spinz", 'unknown field "spinz"; known fields are shown, '),
        ({"old_weights": [MASS_JSON, MASS_JSON | {"kg": 1}]}, "#/old_weights/1/kg", 'unknown field "kg"; known'),
        ({"set_to": None}, "#/set_to", "expected an object"),
    ],
)
def test_a_misspelt_word_of_a_machine_is_not_lost(slip: dict[str, Any], pointer: str, reason: str) -> None:
    """A device that shows the heavy side, and is not heard, has its weights fitted opposite."""
    assert to_json(from_machine(SHOWN)) == {"kind": "machine", **SHOWN}
    with pytest.raises(QuestionError) as raised:
        from_machine(SHOWN | slip)
    assert raised.value.pointer == pointer
    assert reason in str(raised.value)
