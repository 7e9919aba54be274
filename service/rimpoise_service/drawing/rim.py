"""A rim's contour across its width, as far as marking and lands define it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..model.wheel import Land
from ..physics.rim_sizes import Rim
from .subject import Subject

Outline = tuple[tuple[float, float], ...]
"""Position and radius [mm], from inboard to outboard."""

CURL_MM, LIP_MM = 8.0, 2.5
"""A flange curls outward at its edge: radius of the curl, and the straight rest of the lip [mm]; schematic."""

WALL_MM = 4.5
"""Thickness of flange and barrel [mm]: schematic."""

WELL_MM = 17.0
"""How much deeper the well is than the seats [mm]: schematic."""

SEAT, HALF_WELL = 0.11, 0.2
"""Length of a seat and half that of the well's floor, as shares of the width between the flanges: schematic."""


@dataclass(frozen=True, slots=True)
class Profile:
    """The tyre's side of the rim and the barrel's; ``known`` are the stretches that the marking fixes."""

    outer: Outline
    inner: Outline
    known: tuple[Outline, ...]


def profile(subject: Subject) -> Profile | None:
    """The contour; None without a marking, or where the rim's position along the axis is unknown."""
    rim, centre = subject.rim, subject.rim_centre_mm
    if rim is None or centre is None:
        return None
    lands = _apart(subject.lands, centre, rim)
    half, well = rim.width_mm / 2, HALF_WELL * rim.width_mm
    floor = _floor_mm(rim, [land for land in lands if _start(land) < centre + well and _end(land) > centre - well])
    left = (*_flange(rim, 0.0), (SEAT * rim.width_mm - half, rim.radius_mm))
    left = tuple((centre + z, r) for z, r in left)
    right = _mirrored(left, centre)
    return Profile(
        outer=(*left, (centre - well, floor), (centre + well, floor), *right),
        inner=_barrel(rim, centre, floor, lands),
        known=(left, right),
    )


def _flange(rim: Rim, wall: float) -> list[tuple[float, float]]:
    """The inboard flange, about the rim's middle, from its lip to the seat; ``wall`` [mm] inside its tyre side."""
    half, top = rim.width_mm / 2, rim.radius_mm + rim.flange_height_mm
    curl = CURL_MM - wall
    arc = [(math.sin(a), math.cos(a)) for a in (math.radians(15 * step) for step in range(7))]
    points = [(-half - CURL_MM - LIP_MM, top - wall)]
    points += [(-half - CURL_MM + curl * sin, top - CURL_MM + curl * cos) for sin, cos in arc]
    return [*points, (-half - wall, rim.radius_mm - wall)]


def _mirrored(points: Sequence[tuple[float, float]], centre: float) -> Outline:
    return tuple((2 * centre - z, r) for z, r in reversed(points))


def _floor_mm(rim: Rim, inside: Sequence[Land]) -> float:
    """The radius of the well's floor: over the lands inside it."""
    over = [land.radius_mm + WALL_MM for land in inside]
    return min(max([rim.radius_mm - WELL_MM, *over]), rim.radius_mm)


def _barrel(rim: Rim, centre: float, floor: float, lands: Sequence[Land]) -> Outline:
    """The barrel's side: a wall's thickness below the tyre's, and where there is a land, the land."""
    flange = tuple((centre + z, r) for z, r in _flange(rim, WALL_MM))
    seat, well = (0.5 - SEAT) * rim.width_mm, HALF_WELL * rim.width_mm
    between = [(seat, rim.radius_mm), (well, floor)]
    points = [(centre + side * z, r - WALL_MM) for z, r in between for side in (-1, 1)]
    free = [p for p in points if not any(_start(land) <= p[0] <= _end(land) for land in lands)]
    on_lands = [(z, land.radius_mm) for land in lands for z in (_start(land), _end(land))]
    return (*flange, *sorted([*free, *on_lands]), *_mirrored(flange, centre))


def _apart(lands: Sequence[Land], centre: float, rim: Rim) -> list[Land]:
    """The lands that lie inside the rim, one beside the other."""
    half = rim.width_mm / 2
    kept: list[Land] = []
    for land in sorted(lands, key=_start):
        inside = centre - half <= _start(land) and _end(land) <= centre + half and land.radius_mm < rim.radius_mm
        if inside and (not kept or _start(land) >= _end(kept[-1])):
            kept.append(land)
    return kept


def _start(land: Land) -> float:
    return land.position_mm - land.width_mm / 2


def _end(land: Land) -> float:
    return land.position_mm + land.width_mm / 2
