"""A balancer's own words: units, sense, view and sizes of what it shows, exactly converted both ways.

Our frame: angles clockwise seen from outboard, grams, millimetres, radii. 1 oz = 28.349523125 g and 1 in =
25.4 mm, exact by definition.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..physics.readings import Reports
from ..physics.rim_sizes import MM_PER_INCH
from ..physics.unbalance import MINUTES_PER_DEGREE, clock, wrap_deg
from .stock import GRAMS_PER_OUNCE

Sense = Literal["clockwise", "counterclockwise"]
View = Literal["outboard", "inboard"]
MassUnit = Literal["g", "oz"]
LengthUnit = Literal["mm", "in"]
Sizes = Literal["diameter", "radius"]

GRAMS: dict[MassUnit, float] = {"g": 1.0, "oz": GRAMS_PER_OUNCE}
MILLIMETRES: dict[LengthUnit, float] = {"mm": 1.0, "in": MM_PER_INCH}


@dataclass(frozen=True, slots=True)
class ClockTime:
    """Where an hour hand would point, as the technician sees the wheel; clock like "4:00"."""

    clock: str

    @property
    def angle_deg(self) -> float:
        """The same clockwise from 12 [deg].

        >>> ClockTime("4:00").angle_deg, ClockTime("12:30").angle_deg
        (120.0, 15.0)
        """
        hours, minutes = self.clock.split(":")
        return (int(hours) % 12 * 60 + int(minutes)) / MINUTES_PER_DEGREE


@dataclass(frozen=True, slots=True)
class DeviceAngle:
    """An angle [deg] in the device's own sense and view."""

    angle: float


Direction = ClockTime | DeviceAngle


@dataclass(frozen=True, slots=True)
class Device:
    """How a balancer shows what it shows.

    mass_step: of its display, None if that isn't known; zero_below: what it shows as 0 is up to this, both in
    mass_unit. weight_spot: where the weight goes when the wheel has been turned to it. Distances are positive
    where positions_grow; sizes are diameters or radii in size_unit.
    """

    angle_sense: Sense = "clockwise"
    seen_from: View = "outboard"
    mass_unit: MassUnit = "g"
    mass_step: float | None = None
    zero_below: float = 0.0
    weight_spot: Direction = ClockTime("12:00")
    distance_unit: LengthUnit = "mm"
    width_unit: LengthUnit = "in"
    size_unit: LengthUnit = "in"
    sizes: Sizes = "diameter"
    positions_grow: View = "outboard"
    calls: Reports = "correction"
    label: str | None = None

    @property
    def _view(self) -> float:
        return 1.0 if self.seen_from == "outboard" else -1.0

    @property
    def _sense(self) -> float:
        return self._view if self.angle_sense == "clockwise" else -self._view

    @property
    def axis(self) -> float:
        """1 where its positions grow outboard as ours do, else −1."""
        return 1.0 if self.positions_grow == "outboard" else -1.0

    def angle_deg(self, shown: float) -> float:
        """An angle it shows, in our frame [deg].

        >>> Device(angle_sense="counterclockwise").angle_deg(90), Device(seen_from="inboard").angle_deg(90)
        (270.0, 270.0)
        """
        return wrap_deg(self._sense * shown)

    def shown_angle(self, angle_deg: float) -> float:
        """An angle of ours [deg] as it shows it, from 0 to 360."""
        return wrap_deg(self._sense * angle_deg)

    def direction_deg(self, direction: Direction) -> float:
        """A direction in space, clockwise from the top seen from outboard [deg]; a clock goes as one sees it."""
        if isinstance(direction, ClockTime):
            return wrap_deg(self._view * direction.angle_deg)
        return self.angle_deg(direction.angle)

    def weight_deg(self, valve_at: Direction) -> float:
        """Where a weight goes, from the valve [deg], when its spot is at weight_spot and the valve stands there.

        >>> Device().weight_deg(ClockTime("4:00"))  # the spot at 12 is 8:00 of the valve
        240.0
        """
        return wrap_deg(self.direction_deg(self.weight_spot) - self.direction_deg(valve_at))

    def valve_clock(self, angle_deg: float) -> str:
        """Where the valve stands when a weight at an angle [deg] of ours has its spot at weight_spot.

        >>> Device().valve_clock(240.0)
        '4:00'
        """
        return clock(wrap_deg(self._view * (self.direction_deg(self.weight_spot) - angle_deg)))

    def mass_g(self, shown: float) -> float:
        """A mass it shows [g]."""
        return shown * GRAMS[self.mass_unit]

    def shown_mass(self, mass_g: float) -> float:
        """A mass [g] in its unit.

        >>> Device(mass_unit="oz").shown_mass(2 * 28.349523125)
        2.0
        """
        return mass_g / GRAMS[self.mass_unit]

    def radius_mm(self, size: float) -> float:
        """The radius of a size it was set to [mm]."""
        return size * MILLIMETRES[self.size_unit] / (2 if self.sizes == "diameter" else 1)

    def shown_size(self, radius_mm: float) -> float:
        """A radius [mm] as a size of its."""
        return radius_mm / MILLIMETRES[self.size_unit] * (2 if self.sizes == "diameter" else 1)

    def distance_mm(self, distance: float) -> float:
        """A distance it was set to, along our axis [mm]."""
        return self.axis * distance * MILLIMETRES[self.distance_unit]

    def width_mm(self, width: float) -> float:
        """A width it was set to [mm]."""
        return width * MILLIMETRES[self.width_unit]


@dataclass(frozen=True, slots=True)
class Dialect:
    """A device, and how one reading of it lies on the wheel.

    zero_mm: where its distances begin, in the wheel's frame [mm], None where none were dialled; by_valve: whether
    it says where the valve stands instead of an angle.
    """

    device: Device
    zero_mm: float | None = None
    by_valve: bool = False


@dataclass(frozen=True, slots=True)
class Called:
    """Where a weight goes, in the device's words; distance is from where the device counts."""

    mass: float
    mass_unit: MassUnit
    angle: float
    valve_at: ClockTime | None
    distance: float | None
    size: float | None
    distance_unit: LengthUnit
    size_unit: LengthUnit


def called(dialect: Dialect, mass_g: float, angle_deg: float, position_mm: float, radius_mm: float) -> Called:
    """A weight of a mass [g] at an angle [deg], a position and a radius [mm] of ours, in a device's words."""
    device, zero = dialect.device, dialect.zero_mm
    distance = None if zero is None else device.axis * (position_mm - zero) / MILLIMETRES[device.distance_unit]
    return Called(
        mass=device.shown_mass(mass_g),
        mass_unit=device.mass_unit,
        angle=device.shown_angle(angle_deg),
        valve_at=ClockTime(device.valve_clock(angle_deg)) if dialect.by_valve else None,
        distance=distance,
        size=None if zero is None else device.shown_size(radius_mm),
        distance_unit=device.distance_unit,
        size_unit=device.size_unit,
    )
