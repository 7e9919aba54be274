"""A plan looked at by code of the tests alone: sines and cosines, arcs added up line by line, rules from words.

Nothing here calls the service's mechanics or search; only the nouns of its question and answer are used.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

import numpy as np

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import ClipOn, Strip
from rimpoise_service.model.wheel import Flange, Land, Wheel
from rimpoise_service.physics.readings import PointMasses, Reading, Static, StaticCouple, TwoPlane
from rimpoise_service.physics.rim_sizes import parse_marking
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.models import Layout, Piece, PlanRequest

Sums = tuple[float, float, float, float]
"""Σ m r cos θ, Σ m r sin θ [g·mm], and both with z [g·mm²]."""

NODES, WEIGHTS = np.polynomial.legendre.leggauss(40)
ROOM_DEG = 2e-6
"""Room for rounding where pieces touch [deg]: a hundredth of a micrometre."""


def add(*terms: Sums) -> Sums:
    """Term by term."""
    x, y, zx, zy = (math.fsum(column) for column in zip(*terms, strict=True))
    return x, y, zx, zy


def point(mass: PointMass, sign: float = 1.0) -> Sums:
    """What a point mass makes."""
    size, angle = sign * mass.mass_g * mass.radius_mm, math.radians(mass.angle_deg)
    x, y = size * math.cos(angle), size * math.sin(angle)
    return x, y, x * mass.position_mm, y * mass.position_mm


def bare_wheel(reading: Reading) -> Sums:
    """The heavy side: what was called lies opposite; old weights come off."""
    sign = 1.0 if reading.reports == "unbalance" else -1.0
    off = [point(w, -1.0) for w in reading.old_weights]
    match reading:
        case TwoPlane(planes=masses) | PointMasses(masses=masses):
            return add(*(point(m, sign) for m in masses), *off)
        case Static(mass=mass):
            return add(point(mass, sign), *off)
        case StaticCouple(position_mm=z, static=s, couple=c):
            x, y = sign * s.real, sign * s.imag
            return add((x, y, sign * c.real + x * z, sign * c.imag + y * z), *off)


def piece_sums(p: Piece) -> Sums:
    """A line of mass bent along the wheel: its density added up over the arc."""
    half = math.radians(p.arc_deg) / 2
    along = math.radians(p.angle_deg) + half * NODES
    share = p.mass_g * WEIGHTS / 2  # the weights add up to 2
    x = float(share @ (p.radius_mm * np.cos(along)))
    y = float(share @ (p.radius_mm * np.sin(along)))
    return x, y, x * p.position_mm, y * p.position_mm


def left_on(request: PlanRequest, layout: Layout) -> Sums:
    """What stays on the wheel."""
    return add(bare_wheel(request.reading), *map(piece_sums, layout.pieces))


def judged(request: PlanRequest, layout: Layout) -> tuple[list[tuple[float, float]], float]:
    """The residual [g] in each judged plane, as x and y, and the size of the static sum [g]."""
    x, y, zx, zy = left_on(request, layout)
    planes = [vector.plane for vector in layout.residual.planes]
    if not planes:
        return [], math.hypot(x, y) / layout.residual.static_radius_mm
    a, b = planes
    found = []
    for this, other in ((a, b), (b, a)):
        arm = (this.position_mm - other.position_mm) * this.radius_mm
        found.append(((zx - x * other.position_mm) / arm, (zy - y * other.position_mm) / arm))
    return found, math.hypot(x, y) / ((a.radius_mm + b.radius_mm) / 2)


def kept_shares(request: PlanRequest, layout: Layout, acceptance: Acceptance, *, static_only: bool) -> list[float]:
    """What the residual takes of each limit: the static one, and unless only that counts, every plane's."""
    planes, static_g = judged(request, layout)
    per_plane = [] if static_only else [math.hypot(*p) / acceptance.per_plane_g for p in planes]
    return [static_g / acceptance.static_g, *per_plane]


def shelf(request: PlanRequest) -> list[ClipOn | Strip]:
    """All that is in stock."""
    return [*request.stock.clip_ons, *request.stock.strips]


def faults(request: PlanRequest, layout: Layout) -> list[str]:
    """All that is wrong with where the pieces are and what they are."""
    return [
        *(f"{p.sku}: {fault}" for p in layout.pieces for fault in _piece_faults(request, p)),
        *_overlaps(layout.pieces),
        *_taken(request, layout.pieces),
    ]


def _piece_faults(request: PlanRequest, p: Piece) -> Iterator[str]:
    item = next(i for i in shelf(request) if i.sku == p.sku)
    land = next((land for land in request.wheel.lands if land.name == p.place), None)
    flange = request.wheel.inboard if p.place == "inboard_flange" else request.wheel.outboard
    if isinstance(item, ClipOn):
        assert flange is not None
        yield from _clip_faults(request, p, item, flange)
    elif land is None:
        yield "a strip off every land"
    else:
        yield from _strip_faults(request, p, item, land)
    if not (0 <= p.angle_deg < 360 and p.mass_g > 0):
        yield "angle or mass"
    if (p.label, p.material, p.location) != (item.label, item.material, item.location):
        yield "label, material or location"
    x, y, *_ = piece_sums(p)
    if not math.isclose(p.effective_gmm, math.hypot(x, y), rel_tol=1e-9):
        yield "effective_gmm"
    for k in request.wheel.keep_out:
        if k.place == p.place and touches(p, k.arc):
            yield "touches a keep-out"


def _clip_faults(request: PlanRequest, p: Piece, clip: ClipOn, flange: Flange) -> Iterator[str]:
    if (p.style, p.segments, p.mass_g, p.length_mm) != ("clip_on", None, clip.mass_g, clip.length_mm):
        yield "not as on the shelf"
    if p.place != f"{p.side}_flange" or not flange.present:
        yield "no flange there"
    if differ(p.arc_deg, math.degrees((clip.length_mm or 0) / p.radius_mm)):
        yield "arc"
    if (flange.radius_mm or p.radius_mm) != p.radius_mm or flange.position_mm not in (None, p.position_mm):
        yield "not at the flange"
    room = _room(flange, flange.clearance_mm)
    if room < math.inf and (clip.height_mm or math.inf) > room:
        yield "too high"
    if not _holds(clip, flange):
        yield "does not hold on that lip"
    yield from _clip_bans(request.wheel, clip, flange)
    if p.hidden != (p.side == "inboard"):
        yield "hidden"


def _clip_bans(wheel: Wheel, clip: ClipOn, flange: Flange) -> Iterator[str]:
    if wheel.material not in (clip.for_materials or [wheel.material]):
        yield "for another material"
    if wheel.vehicle_class not in (clip.for_vehicle_classes or [wheel.vehicle_class]):
        yield "for another class of vehicle"
    if flange.lip_covered or flange.flange_condition == "damaged":
        yield "a lip that holds no clip"
    if clip.coated is False and wheel.finish not in (None, "bare"):
        yield "bare metal on a finished wheel"


def _holds(clip: ClipOn, flange: Flange) -> bool:
    named = clip.profiles is not None and flange.profile in clip.profiles
    if clip.thickness_mm is None or named:
        return True
    lip = flange.thickness_mm
    return lip is not None and clip.thickness_mm.min <= lip <= clip.thickness_mm.max


def _strip_faults(request: PlanRequest, p: Piece, strip: Strip, land: Land) -> Iterator[str]:
    n = p.segments or 0
    if p.style != "adhesive" or not 1 <= n <= strip.max_segments:
        yield "segments"
    if differ(p.mass_g, n * strip.segment_mass_g) or differ(p.length_mm, n * strip.segment_length_mm):
        yield "mass or length"
    if differ(p.arc_deg, math.degrees(n * strip.segment_length_mm / land.radius_mm)):
        yield "arc"
    if differ(p.radius_mm, land.radius_mm - strip.thickness_mm / 2):
        yield "not on the land"
    if (p.position_mm, p.side) != (land.position_mm, land.side):
        yield "beside the land"
    yield from _land_bans(request.wheel, p, strip, land)
    behind = land.behind_spokes and covered(p, request.wheel.spokes)
    if p.window is not None and not (behind and _is_named(p, request.wheel.spokes)):
        yield "not behind its spoke"
    if p.hidden != (not land.visible or behind):
        yield "hidden"


def _land_bans(wheel: Wheel, p: Piece, strip: Strip, land: Land) -> Iterator[str]:
    if strip.width_mm > land.width_mm:
        yield "too wide"
    free = land.clearance_mm
    if strip.thickness_mm > _room(land, {"fixed": 3, "moving": 5}[land.clearance_to] if free is None else free):
        yield "too high"
    if land.visible and not land.behind_spokes and wheel.finish in ("clad", "chrome", "polished"):
        yield "a strip on a face that it spoils"
    if _touches_stem(wheel, p, land):
        yield "touches the valve's stem"


def _room(where: Flange | Land, free_mm: float) -> float:
    """The height that clears [mm], infinite if any does."""
    gap = math.inf if where.gap_mm is None else where.gap_mm - free_mm
    return min(gap, math.inf if where.max_height_mm is None else where.max_height_mm)


def _touches_stem(wheel: Wheel, p: Piece, land: Land) -> bool:
    """15 mm to each side of the valve's middle, on lands that are within 40 mm of the outboard flange.

    On a motorcycle's that come within 15 mm of the rim's middle, too.
    """
    outer = wheel.outboard.position_mm if wheel.outboard else None
    if outer is None and wheel.rim_size is not None:
        rim = parse_marking(wheel.rim_size)
        offset = rim.offset_mm if wheel.offset_mm is None else wheel.offset_mm
        if offset is None and wheel.vehicle_class == "motorcycle" and wheel.inboard is None:
            offset = 0.0  # which has no mark: its middle is where positions begin
        outer = None if offset is None else rim.width_mm / 2 - offset
        if wheel.inboard and wheel.inboard.position_mm is not None:  # what is measured says where all is
            outer = wheel.inboard.position_mm + rim.width_mm
    near = land.side == "outboard" if outer is None else abs(land.position_mm - outer) < 40
    if wheel.vehicle_class == "motorcycle" and outer is not None:
        inner = wheel.inboard.position_mm if wheel.inboard else None
        if inner is None and wheel.rim_size is not None:
            inner = outer - parse_marking(wheel.rim_size).width_mm
        low, high = land.position_mm - land.width_mm / 2, land.position_mm + land.width_mm / 2
        near |= inner is not None and low - 15 < (inner + outer) / 2 < high + 15
    half_mm = math.radians(p.arc_deg / 2) * land.radius_mm
    if wheel.valve is None or not near:
        return False
    return math.radians(_apart_deg(p.angle_deg, wheel.valve.angle_deg)) * land.radius_mm < 15 + half_mm - 1e-4


def differ(one: float | None, other: float) -> bool:
    """Whether two numbers differ by more than rounding."""
    return one is None or not math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)


def _apart_deg(one: float, other: float) -> float:
    return abs((one - other + 180) % 360 - 180)


def touches(p: Piece, arc: Arc) -> bool:
    """Whether a piece covers any of an arc, ends not counted."""
    return _apart_deg(p.angle_deg, arc.start_deg + arc.width_deg / 2) < (p.arc_deg + arc.width_deg) / 2 - ROOM_DEG


def inside(p: Piece, arc: Arc) -> bool:
    """Whether a piece lies wholly within an arc."""
    off = _apart_deg(p.angle_deg, arc.start_deg + arc.width_deg / 2)
    return off + p.arc_deg / 2 <= arc.width_deg / 2 + ROOM_DEG


def room_deg(p: Piece) -> float:
    """What a piece takes of the circle: its arc, or of a clip-on of unknown length that of 25 mm."""
    return p.arc_deg if p.length_mm is not None else math.degrees(25 / p.radius_mm)


def covered(p: Piece, arcs: Sequence[Arc]) -> bool:
    """Whether arcs, which may touch, cover a piece: cut at their ends, each bit has its middle in one of them."""
    half = p.arc_deg / 2 - ROOM_DEG
    ends = [(e - p.angle_deg + 180) % 360 - 180 for a in arcs for e in (a.start_deg, a.start_deg + a.width_deg)]
    cuts = sorted({-half, half, *(e for e in ends if abs(e) < half)})
    bits = [p.angle_deg + (a + b) / 2 for a, b in pairwise(cuts) if b - a > 2 * ROOM_DEG]
    return all(
        any(_apart_deg(bit, a.start_deg + a.width_deg / 2) <= a.width_deg / 2 for a in arcs) for bit in bits
    )


def _is_named(p: Piece, arcs: Sequence[Arc]) -> bool:
    """Whether its window is named after an arc over it, or after two ends of a row of arcs."""
    over = {a.name for a in arcs if touches(p, a)}
    first, word, last = next(
        (w for w in map((p.window or "").partition, (" and ", " to ")) if w[1]), (p.window, "", "")
    )
    names = {a.name for a in arcs}
    return {first, last} <= names if word else first in over


def _overlaps(pieces: Sequence[Piece]) -> Iterator[str]:
    for one, other in combinations(pieces, 2):
        room = (one.arc_deg + other.arc_deg) / 2 - ROOM_DEG
        if one.place == other.place and _apart_deg(one.angle_deg, other.angle_deg) < room:
            yield f"{one.sku} and {other.sku} overlap"


def _taken(request: PlanRequest, pieces: Sequence[Piece]) -> Iterator[str]:
    on_hand = {i.sku: i.on_hand for i in shelf(request)}
    taken: Counter[str] = Counter()
    for p in pieces:
        taken[p.sku] += 1 if p.segments is None else p.segments
    for sku, count in taken.items():
        limit = on_hand[sku]
        if limit is not None and count > limit:
            yield f"{count} of {sku}, {limit} on hand"
    for place, count in Counter(p.place for p in pieces).items():
        if count > request.preferences.max_pieces_per_plane:
            yield f"{count} pieces on {place}"
