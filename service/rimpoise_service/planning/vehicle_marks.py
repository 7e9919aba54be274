"""What is usual for a class of vehicles: limits, and from where on a weight is much, or a cause comes first.

All of it common practice, no source. (For heavy classes TMC RP 214C has totals per assembly, 16 oz steered and
20 oz driven over the road; from memory.)
"""

from __future__ import annotations

from dataclasses import dataclass

from ..model.device import Dialect
from ..model.stock import GRAMS_PER_OUNCE, Stock
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

    def acceptance(self, *, ounces: bool) -> Acceptance:
        """The usual limits."""
        limit = self.limit_oz * GRAMS_PER_OUNCE if ounces else self.limit_g
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


def marks_of(wheel: Wheel | None) -> VehicleMarks:
    """The marks of a wheel's class, a car's for None; of heavy ones by axle, steered unless another is said."""
    if wheel is None:
        return MARKS["car"]
    if wheel.vehicle_class in HEAVY:
        return HEAVY_OTHER if wheel.axle == "other" else HEAVY_STEERED
    return MARKS[wheel.vehicle_class]


def usual_acceptance(wheel: Wheel | None, stock: Stock | None, dialect: Dialect | None) -> Acceptance:
    """The usual limits of a wheel's class: in ounces where the built-in stock is, or the balancer's display."""
    shown_in_ounces = dialect is not None and dialect.device.mass_unit == "oz"
    return marks_of(wheel).acceptance(ounces=shown_in_ounces or (stock is not None and stock.builtin == "ounce"))
