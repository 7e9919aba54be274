"""What is refused and doubted of masses, limits and sensors."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from rimpoise_service.model.device import Device
from rimpoise_service.model.reading import (
    Dialled,
    GivenPlanes,
    GivenReading,
    MachineReading,
    SetToPlaces,
    ShownPlanes,
    ShownVector,
    TiedToPlace,
)
from rimpoise_service.model.resolution import resolve
from rimpoise_service.model.wheel import Valve, VehicleClass
from rimpoise_service.physics.readings import PointMasses, StaticCouple
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.acceptance import Acceptance, GradeAcceptance
from rimpoise_service.planning.plausibility import (
    acceptance_doubts,
    acceptance_flaws,
    reading_flaws,
    reading_notes,
)
from tests.planning.doubts import INNER_MM, OUTER_MM, RADIUS_MM, WHEEL, doubts, flaws, planes


@pytest.mark.parametrize(
    ("vehicle_class", "most_g"),
    [
        ("motorcycle", 300),
        ("car", 500),
        ("light_truck", 800),
        ("van", 800),
        ("trailer", 800),
        ("heavy_truck", 2500),
        ("bus", 2500),
    ],
)
def test_masses_that_no_wheel_has(vehicle_class: VehicleClass, most_g: float) -> None:
    wheel = replace(WHEEL, vehicle_class=vehicle_class)
    assert flaws(planes(mass_g=most_g - 0.1), wheel) == []
    assert flaws(planes(mass_g=most_g + 0.1), wheel) == ["mass_possible"]


def test_masses_are_judged_at_the_flanges_whatever_the_planes() -> None:
    """600 g called on each of two lands 60 mm apart, opposed, are a third of it at the flanges."""
    inner, outer = PointMass(-75, 200, 600, 0), PointMass(-15, 200, 600, 180)
    assert flaws(GivenPlanes((inner, outer))) == []


@pytest.mark.parametrize(
    ("called", "doubted"),
    [
        ((1.25, 0.75), True),
        ((8, 1.5), True),
        ((8.05, 1.5), False),
        ((1.0, 2.0), False),
        ((1.27, 0.75), False),
        ((1.25, 0.0), True),
        ((0.0, 0.0), False),
    ],
)
def test_ounces_sent_as_grams(called: tuple[float, float], doubted: bool) -> None:
    """Small, in steps of 0.05, one of them not whole; a check spin's remainders are small by themselves."""
    masses = [PointMass(z, RADIUS_MM, m, 0) for z, m in zip((INNER_MM, OUTER_MM), called, strict=True)]
    assert doubts(GivenPlanes(tuple(masses))) == ["ounces_as_grams"] * doubted
    assert doubts(GivenPlanes(tuple(masses)), first=False) == []


@pytest.mark.parametrize(
    ("unit", "step", "inner", "doubted"),
    [
        ("g", None, 30, False),
        ("g", 1, 30, False),
        ("g", 4.9, 30, False),
        ("g", 5, 30, True),
        ("g", 5, 32, False),
        ("g", 10, 0, True),
        ("oz", 0.15, 1.5, False),
        ("oz", 0.25, 1.5, True),
        ("oz", 0.25, 1.6, False),
    ],
)
def test_a_coarse_display_is_switched_over(unit: Any, step: float | None, inner: float, doubted: bool) -> None:
    """One that says so, and shows nothing but multiples of 5 g or ¼ oz."""
    shown = ShownPlanes(ShownVector(inner, 80.0), ShownVector(20.0, 260.0))
    places = SetToPlaces(("inboard_flange", "outboard_flange"))
    given = MachineReading(Device(mass_unit=unit, mass_step=step), shown, places)
    assert doubts(given) == ["ask_fine_display"] * doubted


@pytest.mark.parametrize(
    ("unit", "zero_below", "inner", "vehicle_class", "doubted"),
    [
        ("g", 5, 0, "car", False),
        ("g", 5.1, 0, "car", True),
        ("g", 5.1, 6, "car", False),
        ("g", 5.1, 0, "van", False),
        ("oz", 0.25, 0, "car", False),
        ("oz", 0.3, 0, "car", True),
        ("g", 29, 0, "bus", False),
        ("g", 31, 0, "bus", True),
    ],
)
def test_a_zero_that_hides_more_than_the_usual_limit(
    unit: Any, zero_below: float, inner: float, vehicle_class: VehicleClass, doubted: bool
) -> None:
    """5 g or ¼ oz of a car, 7 g of a van, 30 g of a steered axle: a shown 0 is never exactly nothing."""
    shown = ShownPlanes(ShownVector(inner, 80.0), ShownVector(21.0, 260.0))
    places = SetToPlaces(("inboard_flange", "outboard_flange"))
    given = MachineReading(Device(mass_unit=unit, zero_below=zero_below), shown, places)
    assert doubts(given, replace(WHEEL, vehicle_class=vehicle_class)) == ["zero_hides"] * doubted


@pytest.mark.parametrize(("off_mm", "rules"), [(59.9, []), (60.1, ["planes_on_rim"])])
def test_masses_that_are_off_the_rim(off_mm: float, rules: list[str]) -> None:
    """Old weights, known masses, and where a static vector acts."""
    far = PointMass(OUTER_MM + off_mm, RADIUS_MM, 5, 0)
    kinds: list[GivenReading] = [
        replace(planes(), old_weights=(far,)),
        PointMasses((far,)),
        StaticCouple(far.position_mm, 1000, 0),
    ]
    assert [flaws(given) for given in kinds] == [rules] * 3


@pytest.mark.parametrize(("share", "rules"), [(1.29, []), (2, ["radius_on_rim"])])
def test_old_weights_at_a_radius_the_rim_does_not_have(share: float, rules: list[str]) -> None:
    """A heavy spot in the tread, which a mass may stand for, is further out than any rim."""
    mass = PointMass(OUTER_MM, share * RADIUS_MM, 5, 0)
    assert flaws(replace(planes(), old_weights=(mass,))) == rules
    assert flaws(PointMasses((mass,))) == []


def test_what_is_wrong_with_what_was_dialled_is_said_where_it_was() -> None:
    """Of two distances or one and a width, and of sizes: each at its field, in the words of whoever dialled."""
    shown = ShownPlanes(ShownVector(10.0, 80.0), ShownVector(8.0, 260.0))

    def said(*distances: float, width: float | None = None, sizes: tuple[float, float]) -> list[Any]:
        given = MachineReading(Device(), shown, Dialled(distances, sizes, TiedToPlace("inboard_flange"), width))
        return [
            (flaw.path, flaw.said.code)
            for flaw in reading_flaws(given, resolve(given, WHEEL), WHEEL)
            if flaw.rule != "mass_possible"
        ]

    off, radius = "dialled_plane_off", "dialled_radius_off"
    assert said(104, 350, sizes=(17, 8)) == [
        (("set_to", "outboard_distance"), off),
        (("set_to", "outboard_size"), radius),
    ]
    assert said(104, width=10, sizes=(40, 17)) == [
        (("set_to", "inboard_size"), radius),
        (("set_to", "width"), off),
    ]


@pytest.mark.parametrize(
    ("vehicle_class", "low", "high"),
    [("motorcycle", 2, 40), ("car", 6, 60), ("van", 6, 100), ("trailer", 6, 100), ("bus", 20, 300)],
)
def test_assembly_masses_of_a_class(vehicle_class: VehicleClass, low: float, high: float) -> None:
    wheel = replace(WHEEL, vehicle_class=vehicle_class)

    def rules(mass_kg: float) -> list[str]:
        grade = GradeAcceptance("G40", mass_kg, speed_rpm=900)
        return [flaw.rule for flaw in acceptance_flaws(grade, wheel)]

    assert rules(low) == rules(high) == []
    assert rules(low - 0.1) == rules(high + 0.1) == ["assembly_mass_possible"]


@pytest.mark.parametrize(
    ("tyre", "path"),
    [
        ({"tyre_size": "225/45R17"}, None),
        ({"tyre_size": "205/55R16"}, "tyre_size"),
        ({"rolling_radius_mm": 219}, None),
        ({"rolling_radius_mm": 654}, None),
        ({"rolling_radius_mm": 31}, "rolling_radius_mm"),
        ({"rolling_radius_mm": 218}, "rolling_radius_mm"),
        ({"rolling_radius_mm": 656}, "rolling_radius_mm"),
    ],
)
def test_a_tyre_is_one_for_its_rim(tyre: dict[str, Any], path: str | None) -> None:
    """7Jx17: a rim radius of 218.3 mm; a radius in centimetres, and a diameter, are no tyre's."""
    grade = GradeAcceptance("G40", 18, speed_kmh=120, **tyre)
    found = [(flaw.rule, flaw.path) for flaw in acceptance_flaws(grade, WHEEL)]
    assert found == ([("tyre_on_rim", ("acceptance", path))] if path else [])


@pytest.mark.parametrize(
    ("vehicle_class", "axle", "usual_g"),
    [
        ("car", "steered", 5),
        ("car", "other", 5),
        ("van", "steered", 7),
        ("trailer", "steered", 10),
        ("bus", "steered", 30),
        ("bus", "other", 50),
    ],
)
def test_limits_looser_than_the_trades(vehicle_class: VehicleClass, axle: Any, usual_g: float) -> None:
    """A grade that permits a tenth of a gram more or less than usual in each plane: 2 · usual · radius in all."""
    wheel = replace(WHEEL, vehicle_class=vehicle_class, axle=axle)
    for by, codes in ((-0.1, []), (0.1, ["looser_than_trade"])):
        grade = GradeAcceptance("G40", 30, speed_kmh=100, rolling_radius_mm=300)
        allowed = 2 * (usual_g + by) * RADIUS_MM
        mass = grade.assembly_mass_kg * allowed / grade.permissible_gmm
        found = acceptance_doubts(replace(grade, assembly_mass_kg=mass), wheel)
        assert [m.code for m in found] == codes


PLANE, STATIC = "looser_than_trade", "static_looser_than_trade"


@pytest.mark.parametrize(
    ("per_plane_g", "static_g", "static_only", "codes"),
    [
        (10, 10, False, []),
        (10.1, 5, False, [PLANE]),
        (5, 10.1, False, [STATIC]),
        (60, 60, False, [PLANE]),
        (60, 10, True, []),
        (60, 60, True, [STATIC]),
    ],
)
def test_masses_far_looser_than_the_trades(
    per_plane_g: float, static_g: float, static_only: bool, codes: list[str]
) -> None:
    """A shop sets its own limits; twice the usual 5 g of a car is the most that is published."""
    found = acceptance_doubts(Acceptance(per_plane_g, static_g), WHEEL, static_only=static_only)
    assert [m.code for m in found] == codes


def test_a_grade_that_is_judged_statically_is_not_told_a_plane() -> None:
    """Of the static sum all may stay that is permitted, twice what each plane would have."""
    grade = GradeAcceptance("G40", 20, speed_kmh=160, rolling_radius_mm=317)
    (planes,), (static,) = (list(acceptance_doubts(grade, WHEEL, static_only=s)) for s in (False, True))
    assert (planes.code, static.code) == (PLANE, STATIC)
    in_all_g = grade.permissible_gmm / RADIUS_MM
    assert static.values["mass_g"] == pytest.approx(in_all_g)
    assert planes.values["mass_g"] == pytest.approx(in_all_g / 2)


def test_limits_by_the_speed_of_rotation_are_looked_at_too() -> None:
    """G100 of 20 kg at 900/min: 20 000 * 1000 / 94.2 = 21 kg·mm, 49 g a plane at 218.3 mm."""
    assert [m.code for m in acceptance_doubts(GradeAcceptance("G100", 20, speed_rpm=900), WHEEL)] == [
        "looser_than_trade"
    ]


@pytest.mark.parametrize(
    ("valve_deg", "mass_g", "sensor", "noted"),
    [
        (260, 30, "clamp_in", True),
        (289.9, 30, "clamp_in", True),
        (290.1, 30, "clamp_in", False),
        (260, 14.9, "clamp_in", False),
        (260, 50.1, "clamp_in", False),
        (260, 30, "none", False),
    ],
)
def test_a_sensor_that_explains_the_call(valve_deg: float, mass_g: float, sensor: Any, noted: bool) -> None:
    """A weight called at 80°, opposite the valve at 260°: the heavy spot is the valve with its sensor."""
    given = GivenPlanes((PointMass(-45, RADIUS_MM, mass_g, 80),))
    wheel = replace(WHEEL, valve=Valve(valve_deg, sensor))
    codes = [m.code for m in reading_notes(given, resolve(given, wheel), wheel)]
    assert codes == ["sensor_explains"] * noted
