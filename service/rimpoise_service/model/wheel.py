"""The wheel as it was described: flanges, lands, spokes and what to keep off."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from .arcs import FULL_TURN_DEG, Arc

Side = Literal["inboard", "outboard"]
WheelMaterial = Literal["steel", "alloy"]
Origin = Literal["factory", "aftermarket"]
Vehicle = Literal["car", "light_truck", "motorcycle"]

SIDES: tuple[Side, Side] = ("inboard", "outboard")
FLANGE_PLACE: dict[Side, str] = {"inboard": "inboard_flange", "outboard": "outboard_flange"}


@dataclass(frozen=True, slots=True)
class Flange:
    """A rim flange: lip thickness_mm or the shop's own profile name; measured position and radius; clearance.

    All lengths [mm]; max_height_mm 0 means that nothing clears.
    """

    present: bool
    thickness_mm: float | None = None
    profile: str | None = None
    position_mm: float | None = None
    radius_mm: float | None = None
    max_height_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Land:
    """A smooth band inside the barrel for adhesive weights. All lengths [mm].

    behind_spokes: spokes cover it; visible: it can be seen from outboard, between the spokes too.
    """

    name: str
    side: Side
    position_mm: float
    radius_mm: float
    width_mm: float
    behind_spokes: bool
    visible: bool
    max_height_mm: float | None = None


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
    be seen, () if there are none.
    """

    material: WheelMaterial
    origin: Origin
    vehicle: Vehicle
    rim_size: str | None = None
    offset_mm: float | None = None
    inboard: Flange | None = None
    outboard: Flange | None = None
    lands: tuple[Land, ...] = ()
    spokes: tuple[Arc, ...] = ()
    keep_out: tuple[KeepOut, ...] = field(default=())

    def flange(self, side: Side) -> Flange | None:
        """The flange of a side, None if nothing was said of it."""
        return self.inboard if side == "inboard" else self.outboard
