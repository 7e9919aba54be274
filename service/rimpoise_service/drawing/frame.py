"""Where the parts of the face lie on paper."""

from __future__ import annotations

from dataclasses import dataclass

from .part import Part
from .pen import Point

LEAST_DEPTH_MM = 1.1
"""The least depth of a weight on paper [mm], so that a thin strip does not look like a line."""

CLIP_DEPTH_MM = 10.0
"""The depth of a clip-on whose height is unknown [mm]."""


@dataclass(frozen=True, slots=True)
class Frame:
    """The wheel's centre on paper, its reduction, and the radius of the view on paper [mm]."""

    centre: Point
    scale: float
    reach: float

    def at(self, radius_mm: float, angle_deg: float) -> Point:
        """A place on the wheel, given by radius [mm] and angle [deg], on paper."""
        return self.off(radius_mm / self.scale, angle_deg)

    def off(self, paper_mm: float, angle_deg: float) -> Point:
        """The point at a distance from the centre on paper [mm], at an angle [deg]."""
        return self.centre.off(paper_mm, angle_deg)


def depths(part: Part, frame: Frame) -> tuple[float, float]:
    """Inner and outer radius of a weight on paper, its mass centre halfway."""
    known = CLIP_DEPTH_MM if part.depth_mm is None else part.depth_mm
    half = max(known / frame.scale, LEAST_DEPTH_MM) / 2
    middle = part.piece.radius_mm / frame.scale
    return middle - half, middle + half
