"""The wheel as it was described: flanges, lands, spokes and what to keep off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from .arcs import FULL_TURN_DEG, Arc

Side = Literal["inboard", "outboard"]
WheelMaterial = Literal["steel", "alloy"]
Origin = Literal["factory", "aftermarket"]
VehicleClass = Literal["car", "light_truck", "van", "motorcycle", "trailer", "heavy_truck", "bus"]
Axle = Literal["steered", "other"]
Finish = Literal["painted", "clear_coated", "polished", "chrome", "clad", "bare"]
FlangeCondition = Literal["good", "corroded", "damaged"]
ClearanceTo = Literal["fixed", "moving"]
Sensor = Literal["none", "clamp_in", "snap_in", "band"]

HEAVY: frozenset[VehicleClass] = frozenset(("heavy_truck", "bus"))
"""Classes with weights, limits and marks of their own."""

NO_STRIP_FINISHES: frozenset[Finish] = frozenset(("clad", "chrome", "polished"))
"""Faces that a strip neither holds on nor leaves unharmed; common practice, no source."""

SIDES: tuple[Side, ...] = get_args(Side)
FLANGE_PLACE: dict[Side, str] = {"inboard": "inboard_flange", "outboard": "outboard_flange"}

FLANGE_CLEARANCE_MM = 2.0
"""What stays free between a clip-on and the nearest part [mm]; common practice, no source."""

LAND_CLEARANCE_MM: dict[ClearanceTo, float] = {"fixed": 3.0, "moving": 5.0}
"""The same for a strip with its tape, to a caliper or to parts that move [mm]; common practice, no source."""

VALVE_HALF_MM = 15.0
"""How far the valve's stem keeps strips off to each side, along the land [mm]; common practice, no source."""

VALVE_REACH_MM = 40.0
"""Lands nearer than this to the outboard flange have the stem in their way [mm]; common practice, no source. A
motorcycle's stem is in the middle of the rim, too."""


def _room_mm(max_height_mm: float | None, gap_mm: float | None, clearance_mm: float) -> float | None:
    """The height that a weight may have [mm]: the smaller of what is stated and what the gap leaves."""
    left = [] if gap_mm is None else [max(gap_mm - clearance_mm, 0.0)]
    return min([*left, *([] if max_height_mm is None else [max_height_mm])], default=None)


@dataclass(frozen=True, slots=True)
class Flange:
    """A rim flange: lip thickness_mm or the shop's own profile name; measured position and radius; clearance.

    All lengths [mm]. max_height_mm: what clears, 0 means that nothing does; gap_mm: what was measured to the
    nearest part, of which clearance_mm must stay free. lip_covered: the tyre leaves a clip no room.
    """

    present: bool
    thickness_mm: float | None = None
    profile: str | None = None
    position_mm: float | None = None
    radius_mm: float | None = None
    max_height_mm: float | None = None
    gap_mm: float | None = None
    clearance_mm: float = FLANGE_CLEARANCE_MM
    flange_condition: FlangeCondition = "good"
    lip_covered: bool = False

    @property
    def room_mm(self) -> float | None:
        """How high a clip-on may be [mm]; None: any height clears.

        >>> Flange(True, max_height_mm=12, gap_mm=10).room_mm
        8.0
        """
        return _room_mm(self.max_height_mm, self.gap_mm, self.clearance_mm)


@dataclass(frozen=True, slots=True)
class Land:
    """A smooth band inside the barrel for adhesive weights. All lengths [mm].

    behind_spokes: spokes cover it; visible: it can be seen from outboard, between the spokes too. gap_mm: what was
    measured from the land to the nearest part; clearance_mm of it must stay free, by default as clearance_to says.
    """

    name: str
    side: Side
    position_mm: float
    radius_mm: float
    width_mm: float
    behind_spokes: bool
    visible: bool
    max_height_mm: float | None = None
    gap_mm: float | None = None
    clearance_mm: float | None = None
    clearance_to: ClearanceTo = "fixed"

    @property
    def room_mm(self) -> float | None:
        """How high a strip may be, its tape included [mm]; None: any height clears.

        >>> Land("a", "inboard", 0, 200, 30, False, False, gap_mm=8, clearance_to="moving").room_mm
        3.0
        """
        free = LAND_CLEARANCE_MM[self.clearance_to] if self.clearance_mm is None else self.clearance_mm
        return _room_mm(self.max_height_mm, self.gap_mm, free)

    @property
    def is_face(self) -> bool:
        """Whether it is part of the wheel's face: open to the eye, not only between spokes."""
        return self.visible and not self.behind_spokes


@dataclass(frozen=True, slots=True)
class Valve:
    """Where the valve stands [deg], and the pressure sensor inside the tyre, if one is known to be there."""

    angle_deg: float
    sensor: Sensor = "none"


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A stretch of a place that no piece may touch: valve, pressure sensor, weld, damage."""

    place: str
    arc: Arc
    reason: str


def even_spokes(count: int, first_deg: float, width_deg: float) -> tuple[Arc, ...]:
    """Evenly spaced spokes named "1", "2", … [deg].

    >>> [s.centre_deg for s in even_spokes(3, 0, 20)]
    [0.0, 120.0, 240.0]
    """
    pitch = FULL_TURN_DEG / count
    return tuple(Arc.centred(first_deg + i * pitch, width_deg, str(i + 1)) for i in range(count))


@dataclass(frozen=True, slots=True)
class Wheel:
    """What is known of a wheel.

    offset_mm [mm]: the mounting face outboard of the centre line. spokes: the arcs behind which a piece can't
    be seen, () if there are none. axle: of heavy classes. wire_spokes: it takes nipple weights only.
    """

    material: WheelMaterial
    origin: Origin
    vehicle_class: VehicleClass
    rim_size: str | None = None
    offset_mm: float | None = None
    inboard: Flange | None = None
    outboard: Flange | None = None
    lands: tuple[Land, ...] = ()
    spokes: tuple[Arc, ...] = ()
    keep_out: tuple[KeepOut, ...] = ()
    axle: Axle = "steered"
    finish: Finish | None = None
    valve: Valve | None = None
    wire_spokes: bool = False

    def flange(self, side: Side) -> Flange | None:
        """The flange of a side, None if nothing was said of it."""
        return self.inboard if side == "inboard" else self.outboard
