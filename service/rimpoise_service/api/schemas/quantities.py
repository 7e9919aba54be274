"""The physical quantities of a request: unit and range, each in one place.

The ranges are wide: they keep out typing errors and numbers that could overflow, not unusual wheels, and
textbook cases in other units still fit in. Both ends are included.
"""

from __future__ import annotations

from typing import Any

from ...physics.unbalance import wrap_deg
from ...planning.models import MOST_PIECES_PER_PLANE
from ...planning.spread import MOST_SD
from .request_fields import Integer, Number

ANGLE = "clockwise seen from outboard, 0 at the caller's mark"
"""How angles are counted, for descriptions."""

AXIS = "along the axis from the request's datum, positive outboard"
"""How positions are counted, for descriptions."""


class Mass(Number):
    """A mass [g]."""

    unit, low, high = "g", 0, 1_000_000


class LeftOver(Number):
    """What may be left of a called weight [g]; 0 asks for the least that can be."""

    unit, low, high = "g", 0, 100


class StockMass(Number):
    """The mass of something on the shelf [g]."""

    unit, low, high = "g", 0.1, 10_000


class TrialMass(Number):
    """The mass of a trial weight [g]; never 0, which tries nothing."""

    unit, low, high = "g", 0.001, 1_000_000


class Amplitude(Number):
    """The size of a vibration, in the sensor's own unit, the same for the whole request."""

    low, high = 0, 1_000_000_000


class Phase(Number):
    """A phase [deg]; 360 is taken as 0."""

    unit, low, high = "deg", 0, 360


class SensorWeight(Number):
    """How much a sensor counts beside the others; never 0: leave such a sensor out."""

    low, high = 0.001, 1_000


class Limit(Number):
    """A limit that is held to [g]; never 0, which nothing can keep."""

    unit, low, high = "g", 0.001, 10_000


class AssemblyMass(Number):
    """The mass of all that turns [kg]: from a model's wheel to a mill's rotor."""

    unit, low, high = "kg", 0.1, 1_000_000


class RoadSpeed(Number):
    """A speed on the road [km/h]; never 0, where nothing shakes."""

    unit, low, high = "km/h", 1, 1_500


class ShaftSpeed(Number):
    """A speed of rotation [1/min]; never 0, where nothing shakes."""

    unit, low, high = "1/min", 1, 200_000


class RollingRadius(Number):
    """The radius on which a tyre rolls [mm]."""

    unit, low, high = "mm", 20, 3_000


class Radius(Number):
    """A radius [mm]."""

    unit, low, high = "mm", 0.1, 5_000


class WheelRadius(Number):
    """A radius at which weights are fitted [mm]: from a go-kart's to a mining truck's."""

    unit, low, high = "mm", 20, 2_000


class Position(Number):
    """A position along the axis, positive outboard [mm]."""

    unit, low, high = "mm", -10_000, 10_000


class Offset(Number):
    """A wheel's offset [mm]."""

    unit, low, high = "mm", -1_000, 1_000


class Length(Number):
    """A length, width or height [mm]."""

    unit, low, high = "mm", 0.1, 1_000


class Thickness(Number):
    """The thickness of a lip or a strip [mm]; under a wheel's smallest radius by design."""

    unit, low, high = "mm", 0.1, 20


class Clearance(Number):
    """The height that clears [mm]; 0 means that nothing does."""

    unit, low, high = "mm", 0, 1_000


class Gap(Number):
    """What was measured between a wheel's surface and the nearest part [mm]."""

    unit, low, high = "mm", 0, 200


class Safety(Number):
    """What must stay free of a gap [mm]."""

    unit, low, high = "mm", 0, 20


class ArcEnd(Number):
    """Where an arc begins or ends [deg]; 0 and 360 differ: from 0 to 360 is the whole circle."""

    unit, low, high = "deg", 0, 360


class Angle(Number):
    """A direction [deg], clockwise seen from outboard; 360 is excluded: it is 0."""

    unit, low, high = "deg", -180, 360
    high_excluded = True

    def check(self, value: Any) -> Any:
        """Within the bounds, and wrapped into [0, 360)."""
        return wrap_deg(super().check(value))


class ArcCovered(Number):
    """How much of the circle a piece covers [deg]; half at most."""

    unit, low, high = "deg", 0, 180


class Width(Number):
    """How much of the circle something covers [deg]."""

    unit, low, high = "deg", 0.1, 360


class Static(Number):
    """The size of a static vector [g·mm]."""

    unit, low, high = "g·mm", 0, 10_000_000_000


class Couple(Number):
    """The size of a couple [g·mm²]."""

    unit, low, high = "g·mm²", 0, 1_000_000_000_000


class Count(Integer):
    """A count of pieces or segments on the shelf."""

    low, high = 0, 1_000_000


class Items(Integer):
    """A count of things that are there."""

    low, high = 1, 1_000


class Segments(Integer):
    """Segments in one piece."""

    low, high = 1, 60


class SpokeCount(Integer):
    """Evenly spaced spokes."""

    low, high = 1, 40


class PieceCount(Integer):
    """Pieces in one plane."""

    low, high = 1, MOST_PIECES_PER_PLANE


class AngleSpread(Number):
    """A standard deviation of angles [deg]."""

    unit, low, high = "deg", 0, MOST_SD["angle_sd_deg"]


class PositionSpread(Number):
    """A standard deviation of positions [mm]."""

    unit, low, high = "mm", 0, MOST_SD["clip_position_sd_mm"]


class MassSpread(Number):
    """A standard deviation of masses, relative [%]."""

    unit, low, high = "%", 0, MOST_SD["mass_sd_pct"]


class Repeatability(Number):
    """A standard deviation of what a machine reads, where odds are built on it [g]; never 0."""

    unit, low, high = "g", 0.01, 1_000


class MachineSpread(Number):
    """A standard deviation of what a machine reads [g]."""

    unit, low, high = "g", 0, MOST_SD["machine_sd_g"]


class Deviation(Number):
    """A reading of an indicator [mm]."""

    unit, low, high = "mm", -100, 100


class RunOutTotal(Number):
    """A limit of run-out [mm]; never 0, which nothing keeps."""

    unit, low, high = "mm", 0.001, 100


class Force(Number):
    """A force [N]."""

    unit, low, high = "N", 0, 1_000_000


class TorqueNm(Number):
    """A torque [N·m]."""

    unit, low, high = "N·m", 1, 1_000


class Odometer(Integer):
    """What an odometer shows [km]."""

    unit, low, high = "km", 0, 10_000_000


class Chance(Number):
    """A chance [%]."""

    unit, low, high = "%", 0, 100
