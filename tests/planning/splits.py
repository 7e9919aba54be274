"""A split to ask for, and its answer checked."""

from __future__ import annotations

import math

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import Strip
from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.physics.unbalance import polar
from rimpoise_service.planning.strip_split import Split, SplitRequest, split
from tests.search.brute_force import faults

RADIUS = 200.0
STRIP = Strip("s", "steel", 5.0, 16.0, 19.0, 3.6, 10)
SEGMENT_DEG = math.degrees(16 / RADIUS)


def at(mass_g: float, angle_deg: float) -> PlaneVector:
    return PlaneVector(Plane("land", 0, RADIUS), polar(mass_g * RADIUS, angle_deg))


def request(
    target: PlaneVector,
    *spokes: Arc,
    strip: Strip = STRIP,
    pieces: int = 2,
    off: tuple[Arc, ...] = (),
    within_g: float = 0.0,
) -> SplitRequest:
    """By default for the least that can be left."""
    return SplitRequest(target, RADIUS, spokes, strip, pieces, off, within_g)


def checked(requested: SplitRequest) -> Split:
    answer = split(requested)
    assert faults(requested, answer) == []
    return answer
