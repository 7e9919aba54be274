"""The independent check of a layout, from its pieces and the job alone.

It shares nothing with the search, and works everything out again on purpose: the wheel's unbalance and each piece,
its mass spread over its arc, are summed again, and every piece is looked up on the shelf, behind its spoke, off
the keep-outs, within its clearance, and in the shape that its weight takes on there. A disagreement is a fault of
ours and is never hidden.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import combinations

from ..model.arcs import Arc
from ..model.stock import ClipOn, Strip
from ..model.wheel import SIDES, Flange, Land, Side, Wheel
from ..physics.readings import unbalance_of
from ..physics.rim_sizes import parse_marking
from ..physics.unbalance import PointMass, Unbalance
from .models import Piece, PlanRequest
from .tolerance_check import ToleranceEvaluator

ANGLE_ROOM_DEG = 1e-6
"""What rounding may add to an angle [deg]."""

SAME = 1e-9
"""How far two ways to the same length, arc or effect may differ, in shares of it."""


AGREEMENT = 1e-6
"""How far the search and the check may differ, in shares of the limits, where no weight is larger than these."""


class PlanFault(Exception):
    """A plan of ours that fails its own check; the message lists every fault."""


def unbalance_left(request: PlanRequest, pieces: Sequence[Piece]) -> Unbalance:
    """The wheel's own unbalance and all pieces, each as its mass spread evenly over its arc."""
    return unbalance_of(request.reading) + Unbalance.of(
        PointMass(p.position_mm, p.radius_mm * _centroid_share(p.arc_deg), p.mass_g, p.angle_deg) for p in pieces
    )


def _centroid_share(arc_deg: float) -> float:
    """Chord over arc: where the mass centre of an arc lies, as a share of its radius."""
    arc = math.radians(arc_deg)
    return 2 * math.sin(arc / 2) / arc if arc else 1.0


def agree(
    one: float, other: float, unbalance: Unbalance, pieces: Sequence[Piece], evaluator: ToleranceEvaluator
) -> bool:
    """Whether two ways to what is left, in shares of the limits, differ by no more than floating point makes them.

    A sum is rounded as its largest part is: where a limit is a millionth of the weights, so is the agreement.
    """
    summed = evaluator.limit_ratio(unbalance) + sum(evaluator.limit_ratio(p.unbalance) for p in pieces)
    return math.isclose(one, other, rel_tol=SAME, abs_tol=AGREEMENT + SAME * summed)


def verify(request: PlanRequest, pieces: Sequence[Piece]) -> None:
    """Raises PlanFault if any piece is not where and what it may be."""
    faults = [
        *_shelf_faults(request, pieces),
        *(f for p in pieces for f in _piece_faults(request, p)),
        *_overlaps(pieces),
    ]
    if faults:
        raise PlanFault("; ".join(faults))


def _shelf_faults(request: PlanRequest, pieces: Sequence[Piece]) -> Iterator[str]:
    taken: Counter[str] = Counter()
    for p in pieces:
        taken[p.sku] += p.segments or 1
        match _item(request, p):
            case ClipOn(mass_g=mass) if p.segments is None and p.mass_g == mass:
                pass
            case Strip(segment_mass_g=mass, max_segments=most) if (
                p.segments and p.segments <= most and math.isclose(p.mass_g, p.segments * mass)
            ):
                pass
            case _:
                yield f"{p.sku} of {p.mass_g} g is not in stock"
    shelf: list[ClipOn | Strip] = [*request.stock.clip_ons, *request.stock.strips]
    for item in shelf:
        if item.on_hand is not None and taken[item.sku] > item.on_hand:
            yield f"{taken[item.sku]} of {item.sku} taken, {item.on_hand} on hand"


def _piece_faults(request: PlanRequest, p: Piece) -> Iterator[str]:
    """What holds for any piece, then what its style must keep; _shelf_faults reports what is not in stock."""
    wheel, land = request.wheel, _land(request.wheel, p.place)
    piece = Arc.centred(p.angle_deg, p.arc_deg)
    for k in wheel.keep_out:
        if k.place == p.place and _gap_deg(piece, k.arc) < -ANGLE_ROOM_DEG:
            yield f"{p.sku} at {p.angle_deg}° touches {k.reason}"
    covered = p.window is not None or (land is not None and land.behind_spokes)
    behind = _behind(p, wheel.spokes) if covered else set()
    if p.window is not None and p.window not in behind:
        yield f"{p.sku} at {p.angle_deg}° sticks out from behind spoke {p.window}"
    seen = (land.visible and not (land.behind_spokes and behind)) if land else p.side == "outboard"
    if p.hidden == seen:
        yield f"{p.sku} at {p.angle_deg}° on {p.place} is {'visible' if seen else 'hidden'}"
    match _item(request, p):
        case ClipOn() as clip:
            yield from _clip_on_faults(wheel, p, clip)
        case Strip() as strip:
            yield from _strip_faults(wheel, p, strip, land)


def _clip_on_faults(wheel: Wheel, p: Piece, clip: ClipOn) -> Iterator[str]:
    """A clip-on hangs from its side's flange, as high as clears there, its mass centre at the flange's radius.

    A nipple weight hangs from the spokes there, whether or not anything is known of a lip.
    """
    here = p.place == f"{p.side}_flange"
    flange = wheel.flange(p.side) if here else None
    yield from _height_faults(p, clip.height_mm, flange)
    surface = _flange_at(wheel, p.side) if flange or (here and wheel.wire_spokes) else (None, None)
    yield from _shape_faults(p, surface, length_mm=clip.length_mm or 0.0, inset_mm=0.0)


def _strip_faults(wheel: Wheel, p: Piece, strip: Strip, land: Land | None) -> Iterator[str]:
    """A strip lies inside its land, no wider than it and off the valve's stem, its mass centre halfway through."""
    yield from _height_faults(p, strip.thickness_mm, land)
    if land is not None:
        if strip.width_mm > land.width_mm:
            yield f"{p.sku} is wider than {land.name}"
        if wheel.valve is not None and _stem_reaches(wheel, land):
            stem = Arc.centred(wheel.valve.angle_deg, math.degrees(30.0 / land.radius_mm))
            if _gap_deg(Arc.centred(p.angle_deg, p.arc_deg), stem) < -ANGLE_ROOM_DEG:
                yield f"{p.sku} at {p.angle_deg}° touches the valve"
    surface = (land.position_mm, land.radius_mm) if land else (None, None)
    length_mm = strip.segment_length_mm * (p.segments or 0)
    yield from _shape_faults(p, surface, length_mm=length_mm, inset_mm=strip.thickness_mm / 2)


def _height_faults(p: Piece, height_mm: float | None, where: Flange | Land | None) -> Iterator[str]:
    room = _room(where) if where else None
    if room is not None and (height_mm is None or height_mm > room):
        yield f"{p.sku} is {height_mm} mm high where {room} mm clear"


def _room(where: Flange | Land) -> float | None:
    """The height that clears there [mm], None if any does."""
    free = where.clearance_mm
    if isinstance(where, Land) and free is None:
        free = 5.0 if where.clearance_to == "moving" else 3.0
    heights = [where.max_height_mm, None if where.gap_mm is None or free is None else where.gap_mm - free]
    return min((h for h in heights if h is not None), default=None)


def _stem_reaches(wheel: Wheel, land: Land) -> bool:
    """Whether the valve's stem comes to a land: one within 40 mm of the outboard flange, wherever that is.

    A motorcycle's comes to one within 15 mm of the rim's middle, too.
    """
    inner, edge = (_flange_at(wheel, side)[0] for side in SIDES)
    if wheel.vehicle_class == "motorcycle" and inner is not None and edge is not None:
        to_middle = abs(land.position_mm - inner - (edge - inner) / 2) - land.width_mm / 2
        if to_middle < 15.0:
            return True
    return land.side == "outboard" if edge is None else abs(edge - land.position_mm) < 40.0


def _shape_faults(
    p: Piece, surface: tuple[float | None, float | None], *, length_mm: float, inset_mm: float
) -> Iterator[str]:
    """Whether a piece has the shape that its weight takes on, on a surface at a position and a radius [mm].

    length_mm [mm] along the surface; inset_mm [mm] of the mass centre.
    """
    position, radius = surface
    if position is None or radius is None or p.position_mm != position:
        yield f"{p.sku} at {p.position_mm} mm is not in the plane of {p.place}"
        return
    as_point = p.mass_g * p.radius_mm
    expected = (
        ("length_mm", p.length_mm or 0.0, length_mm, 1.0),
        ("arc_deg", p.arc_deg, math.degrees(length_mm / radius), 1.0),
        ("radius_mm", p.radius_mm, radius - inset_mm, 1.0),
        ("effective_gmm", p.effective_gmm, as_point * _centroid_share(p.arc_deg), as_point),
    )
    for name, stated, meant, scale in expected:
        if not math.isclose(stated, meant, rel_tol=SAME, abs_tol=SAME * scale):
            yield f"{name} of {p.sku} on {p.place} is {stated}, not {meant}"


def _flange_at(wheel: Wheel, side: Side) -> tuple[float | None, float | None]:
    """Position and radius [mm] of a flange: measured, or as the marking and the other flange say."""
    flange, other = wheel.flange(side), wheel.flange("inboard" if side == "outboard" else "outboard")
    position, radius = (flange.position_mm, flange.radius_mm) if flange else (None, None)
    if wheel.rim_size is None:
        return position, radius
    rim, sign = parse_marking(wheel.rim_size), 1 if side == "outboard" else -1
    offset = rim.offset_mm if wheel.offset_mm is None else wheel.offset_mm
    if offset is None and wheel.vehicle_class == "motorcycle":
        offset = 0.0
    if position is None and other and other.position_mm is not None:
        position = other.position_mm + sign * rim.width_mm
    elif position is None and offset is not None:
        position = sign * rim.width_mm / 2 - offset
    return position, rim.radius_mm if radius is None else radius


def _overlaps(pieces: Sequence[Piece]) -> Iterator[str]:
    for a, b in combinations(pieces, 2):
        if a.place == b.place:
            apart = abs(_signed(a.angle_deg - b.angle_deg))
            if apart < (a.arc_deg + b.arc_deg) / 2 - ANGLE_ROOM_DEG:
                yield f"{a.sku} at {a.angle_deg}° and {b.sku} at {b.angle_deg}° overlap"


def _gap_deg(piece: Arc, other: Arc) -> float:
    """How far apart two arcs are [deg]; negative where they overlap."""
    between_centres = abs(_signed(piece.centre_deg - other.centre_deg))
    return between_centres - (piece.width_deg + other.width_deg) / 2


def _signed(angle_deg: float) -> float:
    return math.remainder(angle_deg, 360.0)


def _behind(p: Piece, spokes: Sequence[Arc]) -> set[str | None]:
    """What the cover that a piece lies behind may be called: by its spokes, from one to another.

    Empty if it sticks out. Spokes that touch are one cover.
    """
    reaches = [_reach(p.angle_deg, spokes, way) for way in (-1, 1)]
    if min(covered for covered, _ in reaches) < p.arc_deg / 2 - ANGLE_ROOM_DEG:
        return set()
    met = [*reaches[0][1], *reaches[1][1]]
    return {s.name for s in met} | {
        f"{a.name} {word} {b.name}" for a in met for b in met for word in ("and", "to")
    }


def _reach(angle_deg: float, spokes: Sequence[Arc], way: int) -> tuple[float, list[Arc]]:
    """How far from a direction on, clockwise (1) or not (−1), spokes cover without a gap [deg]; and which.

    Less than 0 where none covers the direction itself.
    """
    covered, met = -math.inf, list[Arc]()
    while covered < 360:
        at = angle_deg + way * max(covered, 0.0)
        off = {id(s): _signed(at - s.centre_deg) for s in spokes}
        over = [s for s in spokes if abs(off[id(s)]) <= s.width_deg / 2 + ANGLE_ROOM_DEG]
        met += [s for s in over if s not in met]
        if any(s.width_deg >= 360 - ANGLE_ROOM_DEG for s in over):
            return 360.0, met
        further = max((s.width_deg / 2 - way * off[id(s)] for s in over), default=0.0)
        if not over or (covered >= 0 and further <= ANGLE_ROOM_DEG):
            break
        covered = max(covered, 0.0) + max(further, 0.0)
    return covered, met


def _land(wheel: Wheel, name: str) -> Land | None:
    return next((land for land in wheel.lands if land.name == name), None)


def _item(request: PlanRequest, p: Piece) -> ClipOn | Strip | None:
    shelf: tuple[ClipOn | Strip, ...] = request.stock.clip_ons if p.style == "clip_on" else request.stock.strips
    return next((item for item in shelf if item.sku == p.sku), None)
