"""The careful technician's rule: what is fitted without any plan (common practice, no source).

1. On a lip: the nearest stock mass, its middle at the called spot; where one is not enough, the largest and the
   rest side by side, their joint centre of mass there.
2. On an open land: the nearest number of segments at the called spot, in as few strips end to end as it takes.
3. Behind spokes: a strip that fits wholly behind one at the called spot; else the two neighbours, by the law of
   sines between the spokes' middles, rounded to segments.
4. A static reading on two lips: half on each at the called angle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import ClipOn, Strip
from rimpoise_service.physics.planes import Plane, PlaneVector


@dataclass(frozen=True)
class Hand:
    """One weight in the hand: mass_g [g], its middle and what it covers [deg]; spot: which of the place's."""

    place: str
    clip_on: bool
    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    arc_deg: float
    spot: int


def clips_by_hand(called: PlaneVector, clips: Sequence[ClipOn]) -> list[Hand]:
    """Rule 1."""
    plane = called.plane
    by_mass = {c.mass_g: math.degrees((c.length_mm or 0.0) / plane.radius_mm) for c in clips}
    largest = max(by_mass)
    if called.mass_g <= largest:
        mass = min((0.0, *by_mass), key=lambda m: abs(m - called.mass_g))
        return [_clip(plane, mass, called.angle_deg, by_mass[mass])] if mass else []
    rest = min(by_mass, key=lambda m: abs(largest + m - called.mass_g))
    apart = (by_mass[largest] + by_mass[rest]) / 2
    first = called.angle_deg - apart * rest / (largest + rest)
    return [_clip(plane, largest, first, by_mass[largest]), _clip(plane, rest, first + apart, by_mass[rest])]


def strip_by_hand(called: PlaneVector, strip: Strip) -> list[Hand]:
    """Rule 2."""
    segments = round(called.mass_g / strip.segment_mass_g)
    return _row(called.plane, strip, segments, called.angle_deg, 0) if segments else []


def strips_behind_by_hand(called: PlaneVector, strip: Strip, spokes: Sequence[Arc]) -> list[Hand]:
    """Rule 3."""
    whole = strip_by_hand(called, strip)
    covered = sum(one.arc_deg for one in whole)
    if any(s.contains(Arc.centred(called.angle_deg, covered)) for s in spokes):
        return whole
    off = sorted((math.remainder(s.centre_deg - called.angle_deg, 360.0), s) for s in spokes)
    before = max((x for x in off if x[0] <= 0), key=lambda x: x[0])
    after = min((x for x in off if x[0] > 0), key=lambda x: x[0])
    a, b = math.radians(-before[0]), math.radians(after[0])
    shares = (math.sin(b) / math.sin(a + b), math.sin(a) / math.sin(a + b))
    found = []
    for spot, (share, (_, spoke)) in enumerate(zip(shares, (before, after), strict=True)):
        holds = int(math.radians(spoke.width_deg) * called.plane.radius_mm / strip.segment_length_mm)
        segments = min(round(share * called.mass_g / strip.segment_mass_g), holds)
        if segments:
            found += _row(called.plane, strip, segments, spoke.centre_deg, spot)
    return found


def _clip(plane: Plane, mass_g: float, angle_deg: float, arc_deg: float) -> Hand:
    return Hand(plane.name, True, plane.position_mm, plane.radius_mm, mass_g, angle_deg % 360.0, arc_deg, 0)


def _row(plane: Plane, strip: Strip, segments: int, angle_deg: float, spot: int) -> list[Hand]:
    """So many segments about an angle, in as few strips as may be."""
    strips = -(-segments // strip.max_segments)
    each = math.degrees(strip.segment_length_mm / plane.radius_mm)
    begin, row = angle_deg - segments * each / 2, []
    for i in range(strips):
        n = segments // strips + (i < segments % strips)
        middle, radius = begin + n * each / 2, plane.radius_mm - strip.thickness_mm / 2
        mass = n * strip.segment_mass_g
        row.append(Hand(plane.name, False, plane.position_mm, radius, mass, middle % 360.0, n * each, spot))
        begin += n * each
    return row
