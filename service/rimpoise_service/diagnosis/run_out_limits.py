"""How much run-out is too much, in total indicated mm, and who says so.

Published figures for cars lie between 0.8 and 1.6 mm for tyre and wheel together: 1.52 radial and lateral on the
vehicle (Chevrolet Silverado service manual 2004; Chevrolet Cruze 2011), 1.27 on a balancer (Silverado 2005), 0.8
radial and 1.2 lateral (Volkswagen bulletin on vibrations, Passat 1990), 1.59 and 1.78 (Mercury Villager workshop
manual 1997); for rims 0.3 (Villager, aluminium) to 0.8 and 1.0 (Mitsubishi Colt repair manual, steel). All read.
The defaults are common practice and lie among them. Trucks: TMC RP 214C, 0.095 in steered and 0.125 in driven and
trailer, rims 0.030 in aluminium and 0.070 in steel disc (read in a tyre maker's databook).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Part = Literal["assembly", "rim_inboard", "rim_outboard", "hub"]
Direction = Literal["radial", "lateral"]

PRACTICE = "common practice, no source"
TRUCKS = "TMC RP 214C, as printed in a tyre maker's databook"
MOTORCYCLES = "a motorcycle maker's service limits, from memory"

MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Limit:
    """What a total may be, total_mm [mm]; up to good_mm [mm] it is good. source says who says so."""

    total_mm: float
    good_mm: float
    source: str = PRACTICE


CAR: dict[tuple[str, Direction], Limit] = {
    ("assembly", "radial"): Limit(1.5, 1.0),
    ("assembly", "lateral"): Limit(1.5, 1.5),
}
ALLOY, STEEL = Limit(0.5, 0.5), Limit(0.8, 0.8)
STEERED, DRIVEN = (Limit(inch * MM_PER_INCH, inch * MM_PER_INCH, TRUCKS) for inch in (0.095, 0.125))
TRUCK_ALLOY, TRUCK_STEEL = (Limit(inch * MM_PER_INCH, inch * MM_PER_INCH, TRUCKS) for inch in (0.030, 0.070))
MOTORCYCLE_RIM = Limit(1.0, 1.0, MOTORCYCLES)

HEAVY = ("heavy_truck", "bus", "trailer")


def default_limit(
    part: Part, direction: Direction, *, material: str | None, vehicle_class: str | None, steered: bool
) -> Limit | None:
    """The limit of a part of a wheel; None where nobody is known to say, as for hubs.

    material "alloy" or "steel"; a rim of unknown material is held to the wider one. vehicle_class None: a car.

    >>> default_limit("rim_inboard", "radial", material="alloy", vehicle_class="car", steered=True).total_mm
    0.5
    """
    if part == "hub":
        return None
    heavy, rim = vehicle_class in HEAVY, part != "assembly"
    if vehicle_class == "motorcycle":
        return MOTORCYCLE_RIM if rim else None
    if rim:
        alloy, steel = (TRUCK_ALLOY, TRUCK_STEEL) if heavy else (ALLOY, STEEL)
        return alloy if material == "alloy" else steel
    if heavy:
        return STEERED if steered and vehicle_class != "trailer" else DRIVEN
    return CAR["assembly", direction]
