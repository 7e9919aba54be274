"""What can't be seen through a whole operation: what a field loads to, and how an answer's numbers are rounded."""

from __future__ import annotations

import json
import math
from decimal import Decimal

import pytest
from marshmallow import ValidationError

from rimpoise_service.api.schemas.corrections import CorrectionSchema
from rimpoise_service.api.schemas.quantities import Angle, ArcEnd, Count, Mass
from rimpoise_service.api.schemas.request_fields import Money, ScalarField, Text, rounded
from rimpoise_service.api.schemas.response_fields import DecimalField, DirectionField, NumberField, PercentField
from rimpoise_service.physics.planes import Plane, PlaneVector

DIRECTION = DirectionField("where", of="mass_g")


def dumped(field: ScalarField, value: object) -> object:
    """What a field writes for a value."""
    return field.to_json(value)


@pytest.mark.parametrize(
    ("value", "reported"),
    [
        (1.23456789, 1.234568),
        (-1e-9, 0.0),
        (-0.0, 0.0),
        (1e-7, 0.0),
        (0, 0.0),
        (5e12 + 0.1234567, 5e12 + 0.123457),
    ],
)
def test_numbers_have_six_decimals_and_no_minus_zero(value: float, reported: float) -> None:
    assert dumped(NumberField(), value) == reported
    assert math.copysign(1, rounded(value, 6)) == 1


@pytest.mark.parametrize(
    ("value", "reported"),
    [
        (0, 0),
        (359.9999994, 359.999999),
        (359.9999996, 0),
        (360, 0),
        (-1e-17, 0),
        (-90, 270),
        (math.nextafter(360, 0), 0),
    ],
)
def test_directions_are_below_360(value: float, reported: float) -> None:
    assert dumped(DIRECTION, value) == pytest.approx(reported, abs=1e-12)
    assert dumped(DIRECTION, value) != 360


def test_couples_have_three_decimals_and_percents_two() -> None:
    assert dumped(NumberField(digits=3), 1234.56789) == 1234.568
    assert dumped(PercentField("chance"), 85.9649) == 85.96


@pytest.mark.parametrize(("size", "reported"), [(100e-9, 0.0), (100e-6, 0.0), (100.0, 33.0)])
def test_what_rounds_to_nothing_has_no_direction(size: float, reported: float) -> None:
    vector = size * complex(math.cos(math.radians(33)), math.sin(math.radians(33)))
    answer = CorrectionSchema().to_json(PlaneVector(Plane("a", 0, 1000), vector))
    assert answer["angle_deg"] == pytest.approx(reported, abs=1e-6)


def test_angles_are_from_minus_180_to_under_360() -> None:
    assert [Angle().deserialize(angle) for angle in (-180, -90, 0, 359.5)] == [180, 270, 0, 359.5]
    for angle in (-180.1, 360):
        with pytest.raises(ValidationError, match="from -180 to under 360"):
            Angle().deserialize(angle)
    assert ArcEnd().deserialize(360) == 360  # from 0 to 360 is the whole circle


@pytest.mark.parametrize("value", [3, 3.0])
def test_whole_numbers_are_whole_in_json_schemas_sense(value: float) -> None:
    loaded = Count().deserialize(value)
    assert (loaded, type(loaded)) == (3, int)
    assert type(Mass().deserialize(value)) is float


@pytest.mark.parametrize(
    ("text", "amount"), [("0", "0"), ("0.0001", "0.0001"), ("999999999.9999", "999999999.9999"), ("1.50", "1.50")]
)
def test_money_keeps_every_digit(text: str, amount: str) -> None:
    loaded = Money().deserialize(text)
    assert loaded == Decimal(amount)
    assert dumped(Money(), loaded) == text
    assert dumped(DecimalField("price"), loaded * 0) in ("0", "0.0000", "0.00")
    assert dumped(DecimalField("price"), Decimal("1E+3")) == "1000"


@pytest.mark.parametrize("text", ["-3.00", "1000000000", "0.00001", "1,5"])
def test_money_that_is_refused_says_what_can_be_written(text: str) -> None:
    with pytest.raises(ValidationError, match="0 or more, up to 9 digits and 4 decimals"):
        Money().deserialize(text)


def test_true_is_no_number() -> None:
    with pytest.raises(ValidationError, match="must be a whole number from 0 to 1000000, was true"):
        Count().deserialize(True)


def test_answers_are_json_without_nan() -> None:
    with pytest.raises(ValueError, match="Out of range float"):
        json.dumps(dumped(NumberField(), math.nan), allow_nan=False)


@pytest.mark.parametrize("text", [" ", "\t", "a\x00", "a\nb", "a\x7f"])
def test_texts_are_one_line_that_is_not_blank(text: str) -> None:
    with pytest.raises(ValidationError, match="one line of text"):
        Text().deserialize(text)


@pytest.mark.parametrize("text", ["a", " a ", "Größe ½", "輪", "a\u200fb", "it\x92s", "\u00a0"])
def test_texts_of_any_script_pass(text: str) -> None:
    assert Text().deserialize(text) == text
