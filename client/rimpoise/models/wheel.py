"""The wheel, in as much as you know of it: flanges, lands, spokes, and what to keep off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

Side = Literal["inboard", "outboard"]
WheelMaterial = Literal["steel", "alloy"]
Origin = Literal["factory", "aftermarket"]
VehicleClass = Literal["car", "light_truck", "van", "motorcycle", "trailer", "heavy_truck", "bus"]
Axle = Literal["steered", "other"]
Finish = Literal["painted", "clear_coated", "polished", "chrome", "clad", "bare"]
FlangeCondition = Literal["good", "corroded", "damaged"]
ClearanceTo = Literal["fixed", "moving"]
Sensor = Literal["none", "clamp_in", "snap_in", "band"]


@dataclass(frozen=True, slots=True)
class Flange:
    """A rim flange.

    Which clip fits is told by the lip's thickness_mm [mm] or by profile, your own name for it. position_mm and
    radius_mm [mm] are those of a weight fitted there; where they are missing they are worked out from the rim's
    size. max_height_mm [mm] is what clears brake and suspension; 0 means that nothing does. gap_mm [mm] is what
    was measured to the nearest part; clearance_mm [mm] of it must stay free, 2 without it. lip_covered: the tyre
    leaves a clip no room.
    """

    present: bool = True
    thickness_mm: float | None = None
    profile: str | None = None
    position_mm: float | None = None
    radius_mm: float | None = None
    max_height_mm: float | None = None
    gap_mm: float | None = None
    clearance_mm: float | None = None
    flange_condition: FlangeCondition | None = None
    lip_covered: bool | None = None


@dataclass(frozen=True, slots=True)
class Flanges:
    """The two flanges; None says nothing of one."""

    inboard: Flange | None = None
    outboard: Flange | None = None


@dataclass(frozen=True, slots=True)
class Land:
    """A smooth band inside the barrel for adhesive weights; position_mm, radius_mm and width_mm [mm].

    behind_spokes: spokes cover it; visible: it can be seen from outboard, between the spokes too.
    max_height_mm [mm] is what clears; None means anything does. gap_mm [mm] is what was measured to the nearest
    part; clearance_mm [mm] of it must stay free: without it 3, or 5 where clearance_to is moving.
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


@dataclass(frozen=True, slots=True)
class Valve:
    """Where the valve stands, at angle_deg [deg], and the pressure sensor inside the tyre."""

    angle_deg: float
    sensor: Sensor = "none"


@dataclass(frozen=True, slots=True)
class EvenSpokes:
    """count spokes evenly spaced, the first one's middle at first_deg, each width_deg wide [deg].

    They are named "1", "2", … clockwise from the first.
    """

    count: int
    first_deg: float
    width_deg: float


@dataclass(frozen=True, slots=True)
class SpokeWindow:
    """One spoke by name: a strip within width_deg about centre_deg [deg] can't be seen."""

    name: str
    centre_deg: float
    width_deg: float


@dataclass(frozen=True, slots=True)
class SpokeWindows:
    """Spokes one by one, where they are not evenly spaced."""

    windows: Sequence[SpokeWindow]


Spokes: TypeAlias = EvenSpokes | SpokeWindows


@dataclass(frozen=True, slots=True)
class KeepOut:
    """No piece may touch a place clockwise from from_deg to to_deg [deg]: a valve, a sensor, a weld.

    The places are ``"inboard_flange"``, ``"outboard_flange"`` and the names of the lands.
    """

    place: str
    from_deg: float
    to_deg: float
    reason: str


@dataclass(frozen=True, slots=True)
class Wheel:
    """What is known of a wheel; rim_size as marked, such as ``"7Jx17"``, and its offset_mm [mm] (ET).

    axle counts for heavy classes only. wire_spokes: it takes nipple weights only.
    """

    material: WheelMaterial
    origin: Origin
    vehicle_class: VehicleClass
    flanges: Flanges = Flanges()
    lands: Sequence[Land] = ()
    spokes: Spokes | None = None
    keep_out: Sequence[KeepOut] = ()
    rim_size: str | None = None
    offset_mm: float | None = None
    axle: Axle = "steered"
    finish: Finish | None = None
    valve: Valve | None = None
    wire_spokes: bool = False
