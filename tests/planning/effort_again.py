"""The effort of a layout made again from its pieces and its chance, by the formula in words alone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from rimpoise_service.model.geometry import flange_planes
from rimpoise_service.physics.planes import Plane
from rimpoise_service.planning.effort import Effort, EffortParts
from rimpoise_service.planning.models import Layout, Piece, PlanRequest
from tests.planning.wheel_physics import bare_wheel, room_deg

CALLED_SPOT_DEG = 3.0
TOUCHING_DEG = 1e-5


def spots_of(layout: Layout) -> Iterator[list[Piece]]:
    """Pieces of one style at one place that touch, end to end."""
    for place in {p.place for p in layout.pieces}:
        pieces = sorted((p for p in layout.pieces if p.place == place), key=lambda p: p.angle_deg)
        gaps = [_gap_deg(a, b) for a, b in pairwise([*pieces, pieces[0]])]
        start = 1 + max(range(len(pieces)), key=lambda i: gaps[i])
        spot: list[Piece] = []
        for i in range(start, start + len(pieces)):
            spot.append(pieces[i % len(pieces)])
            if gaps[i % len(pieces)] > TOUCHING_DEG or i == start + len(pieces) - 1:
                yield spot
                spot = []


def _gap_deg(one: Piece, other: Piece) -> float:
    return (other.angle_deg - one.angle_deg - (room_deg(one) + room_deg(other)) / 2 + 1e-6) % 360


def middle_deg(spot: list[Piece]) -> float:
    """Where their joint vector points."""
    x = sum(p.effective_gmm * math.cos(math.radians(p.angle_deg)) for p in spot)
    y = sum(p.effective_gmm * math.sin(math.radians(p.angle_deg)) for p in spot)
    return math.degrees(math.atan2(y, x))


def called_g(request: PlanRequest, judged: Sequence[Plane]) -> float:
    """What the flanges would ask for in all [g]; where they are not known, the judged planes."""
    x, y, zx, zy = bare_wheel(request.reading)
    flanges, _ = flange_planes(request.wheel)
    a, b = flanges or judged
    span = abs(b.position_mm - a.position_mm)
    in_b = math.hypot(zx - x * a.position_mm, zy - y * a.position_mm) / span
    in_a = math.hypot(x * b.position_mm - zx, y * b.position_mm - zy) / span
    return in_a / a.radius_mm + in_b / b.radius_mm


def effort_again(
    request: PlanRequest, layout: Layout, effort: Effort, judged: Sequence[Plane]
) -> tuple[EffortParts, bool]:
    """The parts, and whether rounding decides a mark: 3° off, or nothing called there."""
    towards = {v.plane.name: v.angle_deg for v in layout.required}
    spots = list(spots_of(layout))
    clips = sum(p.style == "clip_on" for p in layout.pieces)
    fit = clips * effort.clip_on_min + (len(layout.pieces) - clips) * effort.strip_min
    fit += effort.clean_min * sum(spot[0].style == "adhesive" for spot in spots)
    off = [abs(math.remainder(middle_deg(spot) - towards[spot[0].place], 360)) for spot in spots]
    marks = effort.mark_min * sum(o > CALLED_SPOT_DEG for o in off)
    asked_g = sum(v.mass_g for v in layout.required)
    beyond_g = max(layout.total_mass_g - asked_g, 0.0)
    geometry_g = max(asked_g - called_g(request, judged), 0.0)
    p = max(layout.probability, 0.01)
    parts = EffortParts(
        fit_min=fit,
        marks_min=marks,
        failing_min=(1 - p) * (fit + marks + effort.respin_min) / p,
        wishes_min=layout.unmet_wishes * effort.wish_min,
        excess_min=beyond_g * effort.excess_min_per_g + geometry_g * effort.geometry_min_per_g,
    )
    nothing_called = any(v.mass_g < 1e-9 for v in layout.required)
    return parts, nothing_called or any(abs(o - CALLED_SPOT_DEG) < 1e-4 for o in off)
