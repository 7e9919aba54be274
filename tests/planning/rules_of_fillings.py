"""The rules of what may go at a place, in words of weights and degrees: nothing of blocks or stretches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rimpoise_service.planning.candidates import PlaceCandidates
from rimpoise_service.search.blocks import FittedWeight

ROOM_DEG = 1e-6


@dataclass(frozen=True)
class Weight:
    """Where the middle of one is, and what it covers [deg]; mass [g]."""

    angle_deg: float
    arc_deg: float
    mass_g: float


def weights_of(blocks: Sequence[Sequence[FittedWeight]]) -> list[Weight]:
    """All of them."""
    return [
        Weight(math.degrees(w.angle), math.degrees(2 * w.half_arc), w.mass_g) for block in blocks for w in block
    ]


def is_legal(place: PlaceCandidates, weights: Sequence[Weight]) -> bool:
    """Whether weights lie in the free arcs, apart, and in the directions that the trade keeps."""
    return (
        all(any(_inside(place, w, k) for k in range(len(place.circle.arcs))) for w in weights)
        and not _overlap(weights)
        and _directions_are_kept(place, weights)
    )


def _inside(place: PlaceCandidates, w: Weight, arc: int) -> bool:
    free = place.circle.arcs[arc]
    off = abs(math.remainder(w.angle_deg - free.centre_deg, 360))
    return free.endless or off + w.arc_deg / 2 <= free.width_deg / 2 + ROOM_DEG


def _overlap(weights: Sequence[Weight]) -> bool:
    return any(
        abs(math.remainder(a.angle_deg - b.angle_deg, 360)) < (a.arc_deg + b.arc_deg) / 2 - ROOM_DEG
        for i, a in enumerate(weights)
        for b in weights[:i]
    )


def _gaps_deg(one: Weight, other: Weight) -> list[tuple[float, float]]:
    """Where each gap between two begins, and how wide it is, one way round and the other [deg]."""
    return [
        (a.angle_deg + a.arc_deg / 2, (b.angle_deg - a.angle_deg) % 360 - (a.arc_deg + b.arc_deg) / 2)
        for a, b in ((one, other), (other, one))
    ]


def _all_free(place: PlaceCandidates, begin_deg: float, width_deg: float) -> bool:
    """Whether no keep-out lies in a gap."""
    return any(
        arc.endless
        or abs(math.remainder(begin_deg + width_deg / 2 - arc.centre_deg, 360)) + width_deg / 2
        <= arc.width_deg / 2 + ROOM_DEG
        for arc in place.circle.arcs
    )


def _directions_are_kept(place: PlaceCandidates, weights: Sequence[Weight]) -> bool:
    limit = 30.0 if place.clip_ons else 90.0
    if place.clip_ons and len(weights) == 2:
        gaps = [(width, _all_free(place, begin, width)) for begin, width in _gaps_deg(*weights)]
        side_by_side = any(width <= 30 + ROOM_DEG and free for width, free in gaps)
        beside = any(width <= 60 + ROOM_DEG and not free for width, free in gaps)
        if not (side_by_side or beside):
            return False
        limit = 45.0 if beside else 30.0
    smallest_g = min(_least_g(item) for item in place.circle.items)
    if abs(place.required) / place.circle.radius_mm <= smallest_g / 2 and not place.keeps_direction:
        return True
    towards = math.degrees(math.atan2(place.required.imag, place.required.real))
    return all(abs(math.remainder(w.angle_deg - towards, 360)) <= limit + ROOM_DEG for w in weights)


def _least_g(item: object) -> float:
    return float(getattr(item, "segment_mass_g", 0) or getattr(item, "mass_g", 0))
