"""How much run-out is too much, in total indicated mm, and who says so.

Defaults for cars are common practice and lie among the published figures, which were read. Those for trucks are
TMC RP 214C's, read in a tyre maker's databook: 0.095 in steered, 0.125 in driven and trailer, rims 0.030 in
aluminium and 0.070 in steel disc.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..messages.catalogue import PRACTICE
from ..physics.rim_sizes import MM_PER_INCH

Part = Literal["assembly", "rim_inboard", "rim_outboard", "hub"]
Direction = Literal["radial", "lateral"]

TRUCKS = "TMC RP 214C, as printed in a tyre maker's databook"
MOTORCYCLES = "a motorcycle maker's service limits, from memory"

PUBLISHED_ASSEMBLY = (
    f"{PRACTICE}; published for single cars: 1.52 mm on the vehicle (Chevrolet Silverado 2004, Cruze 2011), "
    "radial 1.27 on a balancer (Silverado 2005), radial 0.8 and lateral 1.2 (Volkswagen Passat 1990), radial 1.59 "
    "and lateral 1.78 (Mercury Villager 1997), all service manuals or bulletins"
)
PUBLISHED_RIM = (
    f"{PRACTICE}; published for single cars: aluminium 0.3 and steel 0.8 mm (Mercury Villager 1997), "
    "radial aluminium 0.7 and steel 0.8, lateral 0.8 and 1.0 (Mitsubishi Colt), all service manuals"
)


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

CITED: tuple[tuple[str, float, str], ...] = (
    ("run_out_car_radial_good_mm", CAR["assembly", "radial"].good_mm, PUBLISHED_ASSEMBLY),
    ("run_out_car_radial_mm", CAR["assembly", "radial"].total_mm, PUBLISHED_ASSEMBLY),
    ("run_out_car_lateral_mm", CAR["assembly", "lateral"].total_mm, PUBLISHED_ASSEMBLY),
    ("run_out_alloy_rim_mm", ALLOY.total_mm, PUBLISHED_RIM),
    ("run_out_steel_rim_mm", STEEL.total_mm, PUBLISHED_RIM),
    ("run_out_truck_steered_mm", STEERED.total_mm, TRUCKS),
    ("run_out_truck_mm", DRIVEN.total_mm, TRUCKS),
    ("run_out_truck_alloy_rim_mm", TRUCK_ALLOY.total_mm, TRUCKS),
    ("run_out_truck_steel_rim_mm", TRUCK_STEEL.total_mm, TRUCKS),
    ("run_out_motorcycle_rim_mm", MOTORCYCLE_RIM.total_mm, MOTORCYCLES),
)
"""All of them with their sources [mm]: a name, the total indicated, who says so."""

TRUCK_LIMITS = ("heavy_truck", "bus", "trailer")
"""Classes that a truck's limits are for."""


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
    heavy, rim = vehicle_class in TRUCK_LIMITS, part != "assembly"
    if vehicle_class == "motorcycle":
        return MOTORCYCLE_RIM if rim else None
    if rim:
        alloy, steel = (TRUCK_ALLOY, TRUCK_STEEL) if heavy else (ALLOY, STEEL)
        return alloy if material == "alloy" else steel
    if heavy:
        return STEERED if steered and vehicle_class != "trailer" else DRIVEN
    return CAR["assembly", direction]
