"""No false alarms on wheels that may exist."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

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
from rimpoise_service.model.wheel import Land, VehicleClass, Wheel
from rimpoise_service.physics.rim_sizes import parse_marking
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.plausibility import (
    reading_doubts,
    reading_flaws,
)
from rimpoise_service.planning.wheel_plausibility import wheel_doubts, wheel_flaws
from tests.bench.doubts import doubted, refused

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
    rules = {"planes_on_rim", "radius_on_rim", "mass_possible", "assembly_mass_possible", "tyre_on_rim"}
    assert rules | {"flanges_on_rim", "lands_in_rim", "lands_in_order"} == set(refused())
    assert {"plane_off_places", "ounces_as_grams", "size_differs", "looser_than_trade"} < set(doubted())
    assert all([*refused().values(), *doubted().values()])
