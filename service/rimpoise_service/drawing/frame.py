"""Where things of the face are on paper."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .pen import Point
from .subject import Part

LEAST_DEPTH_MM = 1.1
"""On paper, so that a thin strip can still be told from a line."""

CLIP_DEPTH_MM = 10.0
"""Of a clip-on whose height isn't known."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the wheel is on paper, and by how much it is reduced."""

    centre: Point
    scale: float
    reach: float

    def at(self, radius_mm: float, angle_deg: float) -> Point:
        """A place on the wheel, given by radius [mm] and angle [deg], on paper."""
        return self.off(radius_mm / self.scale, angle_deg)

    def off(self, paper_mm: float, angle_deg: float) -> Point:
        """The place so far from the centre on paper [mm]."""
        angle = math.radians(angle_deg)
        return Point(self.centre.x + paper_mm * math.sin(angle), self.centre.y - paper_mm * math.cos(angle))


def depths(part: Part, frame: Frame) -> tuple[float, float]:
    """Inner and outer radius of a weight on paper, its mass centre halfway."""
    known = CLIP_DEPTH_MM if part.depth_mm is None else part.depth_mm
    half = max(known / frame.scale, LEAST_DEPTH_MM) / 2
    middle = part.piece.radius_mm / frame.scale
    return middle - half, middle + half
