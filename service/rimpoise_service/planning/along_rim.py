"""Where a weight goes, as a length along the rim that a tape or a finger's breadth finds.

From the spot that is called for its plane or from the mark, whichever is nearer; along the lip's edge for
clip-ons, along the land for strips, along the rim for the weights of a wire wheel's spokes. Angles grow clockwise
seen from outboard.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from ..model.geometry import rim_of
from ..model.wheel import Wheel
from ..physics.planes import MIN_PLANE_DISTANCE_MM, PlaneVector
from ..physics.readings import Reading, Static, TwoPlane
from ..physics.unbalance import signed_deg
from .models import Layout, Piece, RimWay

LIP_TO_SEAT = 1.08
"""A lip's edge to the bead seat's radius, where the rim's marking isn't known; of a 16 in rim with a J flange."""

SAME_SPOT_DEG = 0.5
"""Two directions that a display in whole degrees shows as one [deg]."""


def called_spots(reading: Reading, layout: Layout) -> tuple[PlaneVector, ...]:
    """The spots that are called at a layout's places.

    None where the balancer shows the heavy side: what it points to is opposite, and no place for a weight.
    """
    return layout.required if reading.reports == "correction" else ()


def is_shown(reading: Reading, spot: PlaneVector) -> bool:
    """Whether a balancer that read so points to a called spot without being set to other places.

    A static reading points to the same spot in every plane; what shows neither in planes nor statically is worked
    out from masses, and no balancer's.
    """
    if isinstance(reading, Static):
        shown = [reading.mass]
    elif isinstance(reading, TwoPlane):
        shown = [m for m in reading.planes if abs(m.position_mm - spot.plane.position_mm) < MIN_PLANE_DISTANCE_MM]
    else:
        return True
    return any(abs(signed_deg(m.angle_deg - spot.angle_deg)) <= SAME_SPOT_DEG for m in shown)


def with_ways(layout: Layout, wheel: Wheel, spots: Sequence[PlaneVector]) -> Layout:
    """The same layout, each piece with its way along the rim."""
    return replace(
        layout, pieces=tuple(replace(p, rim=rim_way(p, p.angle_deg, spots, wheel)) for p in layout.pieces)
    )


def rim_way(piece: Piece, angle_deg: float, spots: Sequence[PlaneVector], wheel: Wheel) -> RimWay:
    """The way to an angle [deg] at the place of a piece, from its called spot or the mark."""
    from_mark = signed_deg(angle_deg)
    called = [signed_deg(angle_deg - v.angle_deg) for v in spots if v.plane.name == piece.place and v.mass_g > 0]
    by_spot = bool(called) and abs(called[0]) <= abs(from_mark)
    off = called[0] if by_spot else from_mark
    return RimWay(
        rim_mm=abs(math.radians(off)) * _radius_mm(piece, wheel),
        origin="called_spot" if by_spot else "mark",
        direction="clockwise" if off >= 0 else "counterclockwise",
        along="land" if piece.style == "adhesive" else "rim" if wheel.wire_spokes else "lip_edge",
    )


def _radius_mm(piece: Piece, wheel: Wheel) -> float:
    """Of the circle along which hands measure."""
    if piece.style == "clip_on":
        rim = rim_of(wheel)
        return rim.radius_mm + rim.flange_height_mm if rim else piece.radius_mm * LIP_TO_SEAT
    return next((land.radius_mm for land in wheel.lands if land.name == piece.place), piece.radius_mm)
