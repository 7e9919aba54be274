"""What is usual for a class of vehicles: limits, and from where on a weight is much, or a cause comes first.

All of it common practice, no source. (For heavy classes TMC RP 214C has totals per assembly, 16 oz steered and
20 oz driven over the road; from memory.)
"""

from __future__ import annotations

from dataclasses import dataclass

from ..model.stock import GRAMS_PER_OUNCE, Builtin
from ..model.wheel import HEAVY, Wheel
from .acceptance import Acceptance
from .spread import HEAVY_MACHINE_SD_G, MACHINE_SD_G


@dataclass(frozen=True, slots=True)
class VehicleMarks:
    """Of one class: limit_g and limit_oz of a plane and of the static sum; much_weight_g a plane [g].

    cause_plane_g, cause_total_g: over this, in a plane (None: no such mark) or in all, a cause is looked for
    first [g]; machine_sd_g: its balancers' spread [g].
    """

    limit_g: float
    limit_oz: float
    much_weight_g: float
    cause_plane_g: float | None
    cause_total_g: float
    machine_sd_g: float = MACHINE_SD_G

    def acceptance(self, unit: Builtin | None) -> Acceptance:
        """The usual limits, in the stock's unit."""
        limit = self.limit_oz * GRAMS_PER_OUNCE if unit == "ounce" else self.limit_g
        return Acceptance(limit, limit)


MARKS = {
    "motorcycle": VehicleMarks(5, 0.25, 40, None, 60),
    "car": VehicleMarks(5, 0.25, 60, 100, 150),
    "light_truck": VehicleMarks(7, 0.25, 80, 150, 220),
    "van": VehicleMarks(7, 0.25, 80, 150, 220),
    "trailer": VehicleMarks(10, 0.5, 80, 150, 220),
}
HEAVY_STEERED = VehicleMarks(30, 1, 300, None, 450, HEAVY_MACHINE_SD_G)
HEAVY_OTHER = VehicleMarks(50, 2, 400, None, 570, HEAVY_MACHINE_SD_G)


def marks_of(wheel: Wheel) -> VehicleMarks:
    """The marks of a wheel's class; of heavy ones by axle, steered unless it is said to be another."""
    if wheel.vehicle_class in HEAVY:
        return HEAVY_OTHER if wheel.axle == "other" else HEAVY_STEERED
    return MARKS[wheel.vehicle_class]
