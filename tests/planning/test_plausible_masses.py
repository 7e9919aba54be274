"""What is refused and doubted of masses, limits and sensors; and no false alarms on wheels that may exist."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest

from rimpoise_service.model.device import Device
from rimpoise_service.model.geometry import flange_geometry
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
from rimpoise_service.model.wheel import SIDES, Flange, Land, Valve, VehicleClass, Wheel
from rimpoise_service.physics.readings import PointMasses, StaticCouple
from rimpoise_service.physics.rim_sizes import parse_marking
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.acceptance import GradeAcceptance
from rimpoise_service.planning.plausibility import (
    acceptance_doubts,
    acceptance_flaws,
    reading_doubts,
    reading_flaws,
    reading_notes,
)
from rimpoise_service.planning.wheel_plausibility import wheel_doubts, wheel_flaws
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


MEASURED = replace(WHEEL, inboard=Flange(True, position_mm=105), outboard=Flange(True, position_mm=282.8))


@pytest.mark.parametrize(
    ("share", "refused", "doubted"),
    [
        (2, True, True),
        (1.301, True, True),
        (1.299, False, True),
        (1.149, False, False),
        (0.801, False, False),
        (0.799, False, True),
        (0.599, True, True),
    ],
)
def test_measured_radii_of_flanges_against_the_rims(share: float, refused: bool, doubted: bool) -> None:
    """A clip's radius, measured as a diameter or in inches, would halve or multiply its effect."""
    wheel = replace(WHEEL, inboard=Flange(True, radius_mm=share * RADIUS_MM))
    at = [(flaw.rule, flaw.path) for flaw in wheel_flaws(wheel)]
    assert at == [("flanges_on_rim", ("flanges", "inboard", "radius_mm"))] * refused
    assert [m.code for m in wheel_doubts(wheel)] == ["radius_unlikely"] * doubted


def test_without_a_marking_the_flanges_radii_are_held_against_each_other() -> None:
    wheel = replace(MEASURED, rim_size=None, inboard=Flange(True, position_mm=105, radius_mm=RADIUS_MM))

    def rules(radius_mm: float) -> list[str]:
        outer = Flange(True, position_mm=282.8, radius_mm=radius_mm)
        return [flaw.rule for flaw in wheel_flaws(replace(wheel, outboard=outer))]

    assert rules(RADIUS_MM * 1.29) == []
    assert rules(RADIUS_MM * 2) == ["flanges_on_rim"]
    flawed = planes(105, 282.8, radius_mm=2 * RADIUS_MM)
    outer = Flange(True, position_mm=282.8, radius_mm=RADIUS_MM)
    assert flaws(flawed, replace(wheel, outboard=outer)) == ["radius_on_rim", "radius_on_rim"]


@pytest.mark.parametrize(
    ("apart_mm", "refused", "doubted"),
    [
        (177.8, False, False),
        (203.1, False, False),
        (203.3, False, True),
        (152.5, False, False),
        (152.3, False, True),
        (237.7, False, True),
        (237.9, True, True),
        (117.7, True, True),
        (7, True, True),  # inches sent as millimetres
    ],
)
def test_measured_flanges_against_the_marked_width(apart_mm: float, refused: bool, doubted: bool) -> None:
    """7 in are 177.8 mm."""
    wheel = replace(MEASURED, outboard=Flange(True, position_mm=105 + apart_mm))
    assert [flaw.rule for flaw in wheel_flaws(wheel)] == ["flanges_on_rim"] * refused
    assert [m.code for m in wheel_doubts(wheel)] == ["flanges_differ"] * doubted


@pytest.mark.parametrize(
    ("side", "at_mm", "edges"),
    [("inboard", 105.0, (105.0, 282.8)), ("outboard", 282.8, (105.0, 282.8)), ("inboard", -140, (-140, 37.8))],
)
def test_one_measured_flange_is_the_others_datum(side: str, at_mm: float, edges: tuple[float, float]) -> None:
    """The other is the marked width away, wherever positions are counted from."""
    measured: dict[str, Any] = {side: Flange(True, position_mm=at_mm)}
    wheel = replace(WHEEL, **measured)
    found = [flange_geometry(wheel, each) for each in SIDES]
    assert [each.position_mm for each in found] == pytest.approx(edges)
    assert sorted(m.code for each in found for m in each.derived) == [
        "flange_position_from_other",
        "flange_radius_derived",
        "flange_radius_derived",
    ]
    assert flaws(planes(*edges), wheel) == doubts(planes(*edges), wheel) == []


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
    sizes = (rim.code + rng.uniform(-0.2, 0.45),) * 2
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
    rules = {"planes_on_rim", "radius_on_rim", "mass_possible", "assembly_mass_possible"}
    assert rules | {"flanges_on_rim", "lands_in_rim", "lands_in_order"} == set(refused())
    assert {"plane_off_places", "ounces_as_grams", "size_differs", "looser_than_trade"} < set(doubted())
    assert all([*refused().values(), *doubted().values()])
