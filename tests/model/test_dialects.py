"""Readings in many words: all ways to give the same wheel come to the same unbalance, re-made here by hand."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.model.device import ClockTime, Device, DeviceAngle, Dialect, called
from rimpoise_service.model.geometry import mounting_face_mm
from rimpoise_service.model.reading import (
    AtPlace,
    Dialled,
    GivenPlanes,
    GivenReading,
    MachineReading,
    SetToPlaces,
    ShownPlanes,
    ShownStatic,
    ShownStaticCouple,
    ShownVector,
    TiedToFace,
    TiedToPlace,
)
from rimpoise_service.model.resolution import Flawed, resolve
from rimpoise_service.model.wheel import Flange, Land, Wheel
from rimpoise_service.physics.readings import unbalance_of
from rimpoise_service.physics.unbalance import PointMass, Unbalance

OZ, INCH = 28.349523125, 25.4
WHEEL = Wheel(
    "alloy",
    "factory",
    "car",
    rim_size="7Jx17 ET45",
    lands=(Land("spoke land", "outboard", 5.0, 196.0, 40.0, True, True),),
)
INNER_MM, OUTER_MM, RADIUS_MM = -45 - 3.5 * 25.4, -45 + 3.5 * 25.4, 218.3
"""Mounting face 45 mm outboard of the middle, flanges half of 7 in to each side of it."""

masses = st.floats(0.1, 150)
degrees = st.floats(-180, 359.9)
devices = st.builds(
    Device,
    angle_sense=st.sampled_from(["clockwise", "counterclockwise"]),
    seen_from=st.sampled_from(["outboard", "inboard"]),
    mass_unit=st.sampled_from(["g", "oz"]),
    weight_spot=st.one_of(st.sampled_from([ClockTime("12:00"), ClockTime("6:00")]), degrees.map(DeviceAngle)),
    distance_unit=st.sampled_from(["mm", "in"]),
    width_unit=st.sampled_from(["mm", "in"]),
    size_unit=st.sampled_from(["mm", "in"]),
    sizes=st.sampled_from(["diameter", "radius"]),
    positions_grow=st.sampled_from(["outboard", "inboard"]),
    calls=st.sampled_from(["correction", "unbalance"]),
)


def heavy(correction: Sequence[tuple[float, float]]) -> tuple[complex, complex]:
    """Static vector and moment of the wheel that takes these corrections [g, deg] at its flanges."""
    pairs = zip((INNER_MM, OUTER_MM), correction, strict=True)
    vectors = [(z, -cmath.rect(m * RADIUS_MM, math.radians(a))) for z, (m, a) in pairs]
    return sum(v for _, v in vectors), sum(z * v for z, v in vectors)


def same(found: Unbalance, expected: tuple[complex, complex]) -> bool:
    """To rounding."""
    return abs(found.static - expected[0]) < 1e-6 and abs(found.moment - expected[1]) < 1e-4


def shown_by(device: Device, mass_g: float, angle_deg: float) -> ShownVector:
    """What a device shows for a weight that belongs there, by the words of its settings."""
    sense = (1 if device.angle_sense == "clockwise" else -1) * (1 if device.seen_from == "outboard" else -1)
    turn = 180 if device.calls == "unbalance" else 0
    unit = OZ if device.mass_unit == "oz" else 1
    return ShownVector(mass_g / unit, float((sense * (angle_deg + turn) + 180) % 360 - 180))


def dialled_by(device: Device, tied: TiedToPlace | TiedToFace | None, away_mm: float) -> Dialled:
    """Both flanges as dialled, the device's zero so far inboard of the mounting face [mm]."""
    length = {"mm": 1.0, "in": INCH}
    axis = 1 if device.positions_grow == "outboard" else -1
    size = RADIUS_MM * (2 if device.sizes == "diameter" else 1) / length[device.size_unit]
    along = length[device.distance_unit]
    face = TiedToFace(axis * away_mm / along)
    inner = axis * (INNER_MM + away_mm) / along
    return Dialled((inner,), (size, size), tied or face, 7 * INCH / length[device.width_unit])


@given(devices, masses, degrees, masses, degrees, st.booleans(), st.floats(-100, 400))
def test_all_ways_come_to_the_same_wheel(
    device: Device, in_g: float, in_deg: float, out_g: float, out_deg: float, by_face: bool, away_mm: float
) -> None:
    """By place, by position, in a device's words at places, dialled, dialled twice."""
    expected = heavy([(in_g, in_deg), (out_g, out_deg)])
    at = (AtPlace("inboard_flange", in_g, in_deg), AtPlace("outboard_flange", out_g, out_deg))
    points = (PointMass(INNER_MM, RADIUS_MM, in_g, in_deg), PointMass(OUTER_MM, RADIUS_MM, out_g, out_deg))
    shown = ShownPlanes(shown_by(device, in_g, in_deg), shown_by(device, out_g, out_deg))
    places = SetToPlaces(("inboard_flange", "outboard_flange"))
    once = dialled_by(device, None if by_face else TiedToPlace("inboard_flange"), away_mm)
    apart = 7 * INCH / {"mm": 1.0, "in": INCH}[device.distance_unit]
    second = once.distances[0] + (apart if device.positions_grow == "outboard" else -apart)
    twice = Dialled((once.distances[0], second), once.sizes, once.tied)
    ways: list[GivenReading] = [GivenPlanes(at), GivenPlanes(points), GivenPlanes(points[::-1])]
    ways += [MachineReading(device, shown, how) for how in (places, once, twice)]
    for given_reading in ways:
        assert same(unbalance_of(resolve(given_reading, WHEEL).reading), expected)


@given(devices, masses, st.integers(0, 719))
def test_where_the_valve_stands_says_the_same_as_degrees(device: Device, mass_g: float, minutes: int) -> None:
    """With the weight's spot at weight_spot the valve stands that far on, as the technician sees it."""
    valve = ClockTime(f"{minutes // 60 or 12}:{minutes % 60:02d}")
    view = 1 if device.seen_from == "outboard" else -1
    spot = device.weight_spot
    sense = view if device.angle_sense == "clockwise" else -view
    spot_deg = view * spot.angle_deg if isinstance(spot, ClockTime) else sense * spot.angle
    weight_deg = spot_deg - view * minutes / 2
    by_valve = MachineReading(device, ShownStatic(ShownVector(mass_g, valve)), SetToPlaces(("inboard_flange",)))
    (mass,) = [resolve(by_valve, WHEEL).reading.mass]  # type: ignore[union-attr]
    assert math.cos(math.radians(mass.angle_deg - weight_deg)) == pytest.approx(1)
    back = ClockTime(device.valve_clock(mass.angle_deg))
    assert abs((back.angle_deg - valve.angle_deg + 180) % 360 - 180) <= 0.25


def test_the_spot_at_12_and_the_valve_at_4() -> None:
    """The spot is 8:00 of the valve: 240°."""
    assert Device().weight_deg(ClockTime("4:00")) == 240
    assert Device(weight_spot=ClockTime("6:00")).weight_deg(ClockTime("4:00")) == 60
    assert Device().weight_deg(DeviceAngle(120)) == 240
    assert Device(seen_from="inboard").weight_deg(ClockTime("4:00")) == 120


@given(masses, degrees, masses, degrees)
def test_static_and_couple_as_called(
    static_g: float, static_deg: float, couple_g: float, couple_deg: float
) -> None:
    """The static mass acts in the middle; the couple is its mass outboard and the same opposite inboard."""
    shown = ShownStaticCouple(ShownVector(static_g, static_deg), ShownVector(couple_g, couple_deg))
    reading = MachineReading(Device(), shown, SetToPlaces(("inboard_flange", "outboard_flange")))
    static = cmath.rect(static_g * RADIUS_MM, math.radians(static_deg))
    couple = cmath.rect(couple_g * RADIUS_MM, math.radians(couple_deg)) * 7 * INCH
    found = unbalance_of(resolve(reading, WHEEL).reading)
    assert found.static == pytest.approx(-static)
    assert found.moment == pytest.approx(-(couple - 45 * static), rel=1e-9)


@given(devices, masses, st.floats(0, 359), st.floats(-200, 100), st.floats(150, 300), st.floats(-50, 300))
def test_a_weight_called_goes_back_where_it_came_from(
    device: Device, mass_g: float, angle_deg: float, position_mm: float, radius_mm: float, zero_mm: float
) -> None:
    """Read as a correction again, the words mean the same weight: conversions are exact and round-trip."""
    words = called(Dialect(device, zero_mm), mass_g, angle_deg, position_mm, radius_mm)
    assert words.distance is not None
    assert words.size is not None
    assert device.mass_g(words.mass) == pytest.approx(mass_g, rel=1e-12)
    assert math.cos(math.radians(device.angle_deg(words.angle) - angle_deg)) == pytest.approx(1)
    assert zero_mm + device.distance_mm(words.distance) == pytest.approx(position_mm, abs=1e-9)
    assert device.radius_mm(words.size) == pytest.approx(radius_mm)
    assert 0 <= words.angle < 360


def test_places_that_were_set_have_no_distance() -> None:
    words = called(Dialect(Device(mass_unit="oz"), None, by_valve=True), 1.25 * OZ, 240, -100, 218)
    assert (words.mass, words.distance, words.size, words.valve_at) == (1.25, None, None, ClockTime("4:00"))


@pytest.mark.parametrize(
    ("described", "face_mm"),
    [
        ({"rim_size": "7Jx17 ET45"}, 0.0),
        ({"rim_size": "7Jx17"}, 0.0),
        ({}, None),
        ({"rim_size": "7Jx17 ET45", "inboard": Flange(True, position_mm=105.0)}, 105 + 88.9 + 45),
        ({"rim_size": "7Jx17", "inboard": Flange(True, position_mm=105.0)}, None),
        (
            {
                "offset_mm": 45,
                "inboard": Flange(True, position_mm=105.0),
                "outboard": Flange(True, position_mm=283.0),
            },
            194 + 45,
        ),
    ],
)
def test_measured_flanges_define_the_datum(described: dict[str, Any], face_mm: float | None) -> None:
    found = mounting_face_mm(Wheel("alloy", "factory", "car", **described))
    assert found == (None if face_mm is None else pytest.approx(face_mm))


def test_a_land_is_only_as_true_as_what_was_touched() -> None:
    planes = (AtPlace("inboard_flange", 20, 10), AtPlace("spoke land", 20, 10))
    assert [m.code for m in resolve(GivenPlanes(planes), WHEEL).warnings] == ["place_not_touched"]
    touched = (planes[0], AtPlace("spoke land", 20, 10, touched=True))
    assert resolve(GivenPlanes(touched), WHEEL).warnings == ()


@pytest.mark.parametrize(
    ("wheel", "place", "said"),
    [
        (None, "inboard_flange", "no wheel is given"),
        (WHEEL, "moon", "there is no place"),
        (Wheel("alloy", "factory", "car"), "inboard_flange", "rim_size with offset_mm"),
        (Wheel("alloy", "factory", "car", rim_size="7Jx17"), "outboard_flange", "rim_size with offset_mm"),
    ],
)
def test_a_place_that_the_wheel_does_not_describe(wheel: Wheel | None, place: str, said: str) -> None:
    with pytest.raises(Flawed, match=said) as raised:
        resolve(GivenPlanes((AtPlace(place, 20, 10), AtPlace(place, 20, 40))), wheel)
    assert [(f.rule, f.path) for f in raised.value.flaws] == [
        ("place_unknown", ("planes", 0, "place")),
        ("place_unknown", ("planes", 1, "place")),
    ]


@pytest.mark.parametrize(("static_g", "couple_g"), [(0.0, 20.0), (20.0, 0.0), (20.0, 10.0)])
def test_which_of_static_and_couple_is_shown_as_zero_is_kept(static_g: float, couple_g: float) -> None:
    """The planes that they come to show no 0."""
    shown = ShownStaticCouple(ShownVector(static_g, 0.0), ShownVector(couple_g, 90.0))
    given = MachineReading(Device(zero_below=3.0), shown, SetToPlaces(("inboard_flange", "outboard_flange")))
    found = resolve(given, WHEEL).reading
    assert (found.static_zero, found.couple_zero) == (static_g == 0, couple_g == 0)


def test_what_a_display_cannot_show_is_kept() -> None:
    device = Device(mass_unit="oz", mass_step=0.25, zero_below=0.3)
    shown = ShownPlanes(ShownVector(0.0, 0.0), ShownVector(1.25, 20.0))
    reading = MachineReading(
        device, shown, SetToPlaces(("inboard_flange", "outboard_flange")), spins=3, spun="bare"
    )
    found = resolve(reading, WHEEL).reading
    assert (found.step_g, found.zero_below_g) == pytest.approx((0.25 * OZ, 0.3 * OZ))
    assert (found.spins, found.spun) == (3, "bare")
