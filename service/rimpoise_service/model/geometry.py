"""Where things are on a wheel, measured or by its marking: flanges, places by name, mounting face."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from ..messages.message import Message, message
from ..physics.planes import MIN_PLANE_DISTANCE_MM, Plane
from ..physics.rim_sizes import Rim, parse_marking
from .wheel import FLANGE_PLACE, SIDES, Side, Wheel


@dataclass(frozen=True, slots=True)
class FlangeGeometry:
    """Where a flange is [mm], None for what is neither measured nor marked, and what was derived."""

    position_mm: float | None
    radius_mm: float | None
    derived: tuple[Message, ...] = ()


def flange_geometry(wheel: Wheel, side: Side) -> FlangeGeometry:
    """Position and radius of a flange: measured, or derived from the marking.

    Derived, the datum is the mounting face; where the other flange is measured that one defines it, and this one
    is the rim's width away. A clip-on's mass centre is taken at the specified rim radius: it hangs from the
    flange's edge down to about the bead seat (common practice, no source).
    """
    flange = wheel.flange(side)
    position, radius = (flange.position_mm, flange.radius_mm) if flange else (None, None)
    if wheel.rim_size is None:
        return FlangeGeometry(position, radius)
    if position is None and (measured := _measured(wheel)):
        (other,) = measured.values()
        return _beside(wheel.rim_size, other, side, radius)
    return _by_marking(wheel.rim_size, wheel.offset_mm, marked_offset_mm(wheel), side, position, radius)


def _beside(rim_size: str, other_mm: float, side: Side, radius: float | None) -> FlangeGeometry:
    """A flange the rim's width from the other one, which is measured [mm]."""
    width = parse_marking(rim_size).width_mm
    position = other_mm + (width if side == "outboard" else -width)
    derived = message("flange_position_from_other", side=side, position_mm=position, rim=rim_size)
    found = _by_marking(rim_size, None, None, side, position, radius)
    return FlangeGeometry(position, found.radius_mm, (derived, *found.derived))


@lru_cache(maxsize=1024)
def _by_marking(
    rim_size: str,
    given_mm: float | None,
    offset_mm: float | None,
    side: Side,
    position: float | None,
    radius: float | None,
) -> FlangeGeometry:
    """What is not measured, by the marking; a request needs it some thirty times."""
    rim, derived = parse_marking(rim_size), []
    if position is None and offset_mm is not None:
        position = rim.flange_positions_mm(offset_mm)[SIDES.index(side)]
        about: dict[str, Any] = {"side": side, "position_mm": position, "rim": rim_size}
        if given_mm is not None:
            derived.append(message("flange_position_from_offset", **about, offset_mm=given_mm))
        elif rim.offset_mm is not None:
            derived.append(message("flange_position_derived", **about))
        else:
            derived.append(message("flange_position_from_middle", **about))
    if radius is None:
        radius = rim.radius_mm
        derived.append(message("flange_radius_derived", side=side, radius_mm=radius, rim=rim_size))
    return FlangeGeometry(position, radius, tuple(derived))


def flange_planes(wheel: Wheel) -> tuple[tuple[Plane, ...], tuple[Message, ...]]:
    """Both flanges as planes, inboard first, and what of them was derived; none unless both are known."""
    flanges = [(side, flange_geometry(wheel, side)) for side in SIDES]
    known = [
        Plane(side, where.position_mm, where.radius_mm)
        for side, where in flanges
        if where.position_mm is not None and where.radius_mm is not None
    ]
    if len(known) < 2 or known[1].position_mm - known[0].position_mm < MIN_PLANE_DISTANCE_MM:
        return (), ()
    return tuple(known), tuple(each for _, where in flanges for each in where.derived)


def rim_of(wheel: Wheel) -> Rim | None:
    """What the marking says, None without one."""
    return None if wheel.rim_size is None else parse_marking(wheel.rim_size)


def marked_offset_mm(wheel: Wheel) -> float | None:
    """How far the mounting face is outboard of the rim's centre line [mm]: measured, else as marked.

    A motorcycle's rim has no mark of it: where no flange is measured either, its middle is the datum (0).

    >>> marked_offset_mm(Wheel("alloy", "factory", "motorcycle", rim_size="MT3.50x17"))
    0.0
    """
    rim = rim_of(wheel)
    if wheel.offset_mm is not None or rim is None:
        return wheel.offset_mm
    if rim.offset_mm is None and wheel.vehicle_class == "motorcycle" and not _measured(wheel):
        return 0.0
    return rim.offset_mm


def place_named(wheel: Wheel, name: str) -> FlangeGeometry | None:
    """Where a flange or a land is, by its name; None for a name that the wheel doesn't have."""
    for side, flange in FLANGE_PLACE.items():
        if name == flange:
            return flange_geometry(wheel, side)
    lands = (land for land in wheel.lands if land.name == name)
    return next((FlangeGeometry(land.position_mm, land.radius_mm) for land in lands), None)


def mounting_face_mm(wheel: Wheel) -> float | None:
    """Where the mounting face is in the wheel's own frame [mm], None if that isn't known.

    Measured flanges define the datum: the face is the offset outboard of their middle. Without any it is itself.

    >>> mounting_face_mm(Wheel("alloy", "factory", "car", rim_size="7Jx17 ET45"))
    0.0
    """
    rim, offset = rim_of(wheel), marked_offset_mm(wheel)
    measured = _measured(wheel)
    if not measured:
        return None if rim is None else 0.0
    if offset is None or (len(measured) == 1 and rim is None):
        return None
    half = rim.width_mm / 2 if rim else 0.0
    middles = [at + (half if side == "inboard" else -half) for side, at in measured.items()]
    return sum(middles) / len(middles) + offset


def _measured(wheel: Wheel) -> dict[Side, float]:
    """The positions of the flanges that are measured [mm]."""
    return {side: f.position_mm for side in SIDES if (f := wheel.flange(side)) and f.position_mm is not None}
