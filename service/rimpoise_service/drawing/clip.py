"""A clip-on in the section: its body outside the flange, below the lip, its hook over the lip; schematic."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..model.wheel import FLANGE_PLACE
from .frame import CLIP_DEPTH_MM
from .part import Part
from .rim import CURL_MM, LIP_MM, WALL_MM
from .subject import Subject

CLIP_WIDTH_MM = 7.0
"""Width of a clip-on along the axis, which no stock states: schematic [mm]."""

AIR_MM = 0.6
"""Between the metal and what hangs on it, so that both edges are seen [mm]."""

GRIP_MM = 4.5
"""How far the hook reaches over the lip [mm]: schematic."""


@dataclass(frozen=True, slots=True)
class HookedClip:
    """A clip-on on the lip: its body between two positions and two radii, and its hook's corners [mm].

    The corners are (position, radius), from the body over the lip's edge to the tyre's side of the lip.
    """

    positions_mm: tuple[float, float]
    radii_mm: tuple[float, float]
    hook: Sequence[tuple[float, float]]


def hooked_clip(part: Part, subject: Subject) -> HookedClip | None:
    """Where a clip-on hangs; None where it is none, or where the flange's contour isn't drawn."""
    rim, centre, top = subject.rim, subject.rim_centre_mm, subject.outer_mm
    sides = {FLANGE_PLACE["inboard"]: -1.0, FLANGE_PLACE["outboard"]: 1.0}
    side = sides.get(part.piece.place)
    if part.piece.style != "clip_on" or side is None or rim is None or centre is None or top is None:
        return None
    wall, depth = rim.width_mm / 2 + WALL_MM + AIR_MM, part.depth_mm or CLIP_DEPTH_MM
    upper = min(part.piece.radius_mm + depth / 2, top - CURL_MM - AIR_MM)
    edge = max(rim.width_mm / 2 + CURL_MM + LIP_MM + 2 * AIR_MM, wall + CLIP_WIDTH_MM)
    corners = ((edge, upper), (edge, top + AIR_MM), (edge - GRIP_MM, top + AIR_MM))
    ends = sorted(centre + side * z for z in (wall, edge))
    return HookedClip(
        positions_mm=(ends[0], ends[1]),
        radii_mm=(upper - depth, upper),
        hook=[(centre + side * z, r) for z, r in corners],
    )
