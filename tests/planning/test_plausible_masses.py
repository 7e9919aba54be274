"""What is refused and doubted of masses, limits and sensors; and no false alarms on wheels that may exist."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest

from rimpoise_service.model.device import Device
from rimpoise_service.model.reading import (
    AtPlace,
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
from rimpoise_service.model.wheel import Land, Valve, VehicleClass, Wheel
from rimpoise_service.physics.rim_sizes import parse_marking
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.acceptance import GradeAcceptance
from rimpoise_service.planning.plausibility import (
    acceptance_doubts,
    reading_doubts,
    reading_flaws,
    reading_notes,
    wheel_doubts,
    wheel_flaws,
)
from tests.bench.doubts import doubted, refused
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
    ("unit", "step", "doubted"),
    [
        ("g", None, False),
        ("g", 1, False),
        ("g", 4.9, False),
        ("g", 5, True),
        ("oz", 0.15, False),
        ("oz", 0.25, True),
    ],
)
def test_a_coarse_display_is_switched_over(unit: Any, step: float | None, doubted: bool) -> None:
    shown = ShownPlanes(ShownVector(30.0, 80.0), ShownVector(20.0, 260.0))
    places = SetToPlaces(("inboard_flange", "outboard_flange"))
    given = MachineReading(Device(mass_unit=unit, mass_step=step), shown, places)
    assert doubts(given) == ["ask_fine_display"] * doubted


@pytest.mark.parametrize(
    ("vehicle_class", "low", "high"),
    [("motorcycle", 2, 40), ("car", 6, 60), ("van", 6, 100), ("trailer", 6, 100), ("bus", 20, 300)],
)
def test_assembly_masses_of_a_class(vehicle_class: VehicleClass, low: float, high: float) -> None:
    wheel = replace(WHEEL, vehicle_class=vehicle_class)

    def codes(mass_kg: float) -> list[str]:
        grade = GradeAcceptance("G40", mass_kg, speed_rpm=900)
        return [m.code for m in acceptance_doubts(grade, wheel)]

    assert codes(low) == codes(high) == []
    assert codes(low - 0.1) == codes(high + 0.1) == ["assembly_mass_unlikely"]


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
        assert [m.code for m in found if m.code != "assembly_mass_unlikely"] == codes


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


RIMS: dict[VehicleClass, tuple[list[float], list[str], list[str], tuple[float, float]]] = {
    "motorcycle": ([2.5, 3.5, 5.5], ["17", "18", "19"], ["MT"], (-10, 10)),
    "car": ([5.5, 6, 7, 8.5], ["14", "16", "17", "19"], ["J"], (15, 55)),
    "light_truck": ([6, 7, 8], ["15", "16", "17"], ["J", "K"], (-10, 60)),
    "van": ([5.5, 6, 6.5], ["15", "16"], ["J"], (40, 70)),
    "trailer": ([4, 5, 5.5], ["13", "14"], ["J"], (-5, 30)),
    "heavy_truck": ([7.5, 8.25, 9, 11.75], ["19.5", "22.5"], [""], (120, 175)),
    "bus": ([7.5, 8.25], ["22.5"], [""], (150, 165)),
}
TYPICAL_G: dict[VehicleClass, float] = {"motorcycle": 15, "heavy_truck": 120, "bus": 120}


def possible_wheel(rng: random.Random) -> Wheel:
    """A wheel as they are: marked, with up to two lands under its seats."""
    vehicle_class = rng.choice(list(RIMS))
    widths, codes, contours, offsets = RIMS[vehicle_class]
    contour, width, code = rng.choice(contours), rng.choice(widths), rng.choice(codes)
    offset = rng.randint(round(offsets[0]), round(offsets[1]))
    marking = f"MT{width:.2f}x{code} ET{offset}" if contour == "MT" else f"{width}{contour}x{code} ET{offset}"
    rim = parse_marking(marking)
    inner, outer = rim.flange_positions_mm(offset)

    def land(name: str, side: Any, at: float) -> Land:
        radius = rim.radius_mm * rng.uniform(0.82, 0.97)
        return Land(name, side, inner + at * (outer - inner), radius, 25.0, False, False)

    lands = [land("inner", "inboard", rng.uniform(0.12, 0.3)), land("outer", "outboard", rng.uniform(0.5, 0.85))]
    described = Wheel(
        rng.choice(["steel", "alloy"]),
        "factory",
        vehicle_class,
        rim_size=marking,
        lands=tuple(lands[: rng.randint(0, 2)]),
    )
    return replace(described, offset_mm=offset + rng.choice([-3, 0, 2])) if rng.random() < 0.3 else described


def possible_reading(rng: random.Random, wheel: Wheel) -> GivenReading:
    """As a shop would read it: at places, by measured positions or as dialled; whole grams, or ounces."""
    typical = TYPICAL_G.get(wheel.vehicle_class, 25)
    called = [round(min(rng.expovariate(1 / typical), 6 * typical)) for _ in range(2)]
    angles = [float(rng.randint(-180, 359)) for _ in range(2)]
    rim = parse_marking(wheel.rim_size or "")
    offset = wheel.offset_mm if wheel.offset_mm is not None else rim.offset_mm or 0.0
    way = rng.choice(["at", "position", "dialled", "places"])
    names = [
        "inboard_flange",
        rng.choice(["outboard_flange", *(x.name for x in wheel.lands if x.side == "outboard")]),
    ]
    if way == "at":
        pairs = zip(names, called, angles, strict=True)
        return GivenPlanes(tuple(AtPlace(name, m, a, touched=True) for name, m, a in pairs))
    if way == "position":
        edges = [z + rng.gauss(0, 3) for z in rim.flange_positions_mm(offset)]
        radius = rim.radius_mm + rng.uniform(-2, rim.flange_height_mm)
        pairs_at = zip(edges, called, angles, strict=True)
        return GivenPlanes(tuple(PointMass(z, radius, m, a) for z, m, a in pairs_at))
    device = Device(mass_unit=rng.choice(["g", "oz"]), mass_step=1.0, distance_unit=rng.choice(["mm", "in"]))
    if device.mass_unit == "oz":
        device = replace(device, mass_step=0.05)
    unit = 1 if device.mass_unit == "g" else 28.349523125
    vectors = [ShownVector(round(m / unit, 2) if unit > 1 else m, a) for m, a in zip(called, angles, strict=True)]
    shown = ShownPlanes(vectors[0], vectors[1])
    if way == "places":
        return MachineReading(device, shown, SetToPlaces((names[0], names[1]), touched=True))
    sizes = (rim.code + rng.uniform(-0.2, 0.6),) * 2
    return MachineReading(
        device, shown, Dialled((rng.uniform(50, 200),), sizes, TiedToPlace("inboard_flange"), rim.width_mm / 25.4)
    )


def test_no_false_alarms_on_two_thousand_possible_wheels() -> None:
    """Invented wheels of all classes: none is refused, at most one in a hundred warned of."""
    rng = random.Random(2026)
    warned, counted = 0, dict.fromkeys(RIMS, 0)
    for _ in range(2000):
        wheel = possible_wheel(rng)
        given = possible_reading(rng, wheel)
        counted[wheel.vehicle_class] += 1
        resolved = resolve(given, wheel)
        refused = [*wheel_flaws(wheel), *reading_flaws(given, resolved, wheel)]
        assert refused == [], (wheel, given)
        found = [*resolved.warnings, *wheel_doubts(wheel), *reading_doubts(given, resolved, wheel, first=True)]
        warned += bool(found)
    assert min(counted.values()) > 200
    assert warned <= 20, f"{warned} warned"


def test_the_table_of_the_bench_is_whole() -> None:
    """Every rule and code of the module is in it, with a sentence."""
    assert {"planes_on_rim", "radius_on_rim", "mass_possible", "lands_in_rim", "lands_in_order"} == set(refused())
    assert {"plane_off_places", "ounces_as_grams", "size_differs", "looser_than_trade"} < set(doubted())
    assert all([*refused().values(), *doubted().values()])
