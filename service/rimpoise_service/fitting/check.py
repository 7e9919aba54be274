"""The independent check of a layout, from its pieces and the job alone.

It shares nothing with the search: no runs, no windows, no residual of its. The wheel's unbalance and each
piece, as so many grams spread over its arc, are added up anew; every piece is looked for on the shelf, in its
spoke, off the keep-outs, within its clearance. A disagreement is a fault of ours and is never hidden.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from ..mechanics.readings import unbalance_of
from ..mechanics.vectors import PointMass, Unbalance
from .layouts import Job, Piece
from .stock import ClipOn, Strip
from .wheel import Land, Wheel
from .windows import Arc

ANGLE_ROOM_DEG = 1e-6
"""What rounding may add to an angle [deg]."""


class PlanFault(Exception):
    """A plan of ours that fails its own check; the message lists every fault."""


def unbalance_left(job: Job, pieces: Sequence[Piece]) -> Unbalance:
    """The wheel's own unbalance and all pieces, each as its mass spread evenly over its arc."""
    return unbalance_of(job.reading) + Unbalance.of(
        PointMass(p.position_mm, p.radius_mm * _centroid_share(p.arc_deg), p.mass_g, p.angle_deg) for p in pieces
    )


def _centroid_share(arc_deg: float) -> float:
    """Chord over arc: where the mass centre of an arc lies, as a share of its radius."""
    arc = math.radians(arc_deg)
    return 2 * math.sin(arc / 2) / arc if arc else 1.0


def verify(job: Job, pieces: Sequence[Piece]) -> None:
    """Raises PlanFault if any piece is not where and what it may be."""
    faults = [*_shelf_faults(job, pieces), *(f for p in pieces for f in _place_faults(job, p)), *_overlaps(pieces)]
    if faults:
        raise PlanFault("; ".join(faults))


def _shelf_faults(job: Job, pieces: Sequence[Piece]) -> Iterator[str]:
    shelf: dict[str, ClipOn | Strip] = {c.sku: c for c in job.stock.clip_ons}
    shelf |= {s.sku: s for s in job.stock.strips}
    taken: dict[str, int] = {}
    for p in pieces:
        taken[p.sku] = taken.get(p.sku, 0) + (p.segments or 1)
        match shelf.get(p.sku):
            case ClipOn(mass_g=mass) if p.segments is None and p.mass_g == mass:
                pass
            case Strip(segment_mass_g=mass, max_segments=most) if (
                p.segments and p.segments <= most and math.isclose(p.mass_g, p.segments * mass)
            ):
                pass
            case _:
                yield f"{p.sku} of {p.mass_g} g is not in stock"
    for sku, count in taken.items():
        on_hand = shelf[sku].on_hand if sku in shelf else None
        if on_hand is not None and count > on_hand:
            yield f"{count} of {sku} taken, {on_hand} on hand"


def _place_faults(job: Job, p: Piece) -> Iterator[str]:
    wheel = job.wheel
    piece = Arc.centred(p.angle_deg, p.arc_deg)
    for k in wheel.keep_out:
        if k.place == p.place and _gap_deg(piece, k.arc) < -ANGLE_ROOM_DEG:
            yield f"{p.sku} at {p.angle_deg}° touches {k.reason}"
    if p.window is not None:
        spoke = next(s for s in wheel.spokes if s.name == p.window)
        if abs(_signed(p.angle_deg - spoke.centre_deg)) + p.arc_deg / 2 > spoke.width_deg / 2 + ANGLE_ROOM_DEG:
            yield f"{p.sku} at {p.angle_deg}° sticks out from behind spoke {p.window}"
    room, depth = _clearance(wheel, p), _height(job, p)
    if room is not None and (depth is None or depth > room):
        yield f"{p.sku} is {depth} mm high where {room} mm clear"
    land = _land(wheel, p.place)
    if land is not None and _strip(job, p).width_mm > land.width_mm:
        yield f"{p.sku} is wider than {land.name}"


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


def _land(wheel: Wheel, name: str) -> Land | None:
    return next((land for land in wheel.lands if land.name == name), None)


def _strip(job: Job, p: Piece) -> Strip:
    return next(s for s in job.stock.strips if s.sku == p.sku)


def _clearance(wheel: Wheel, p: Piece) -> float | None:
    where = _land(wheel, p.place) or wheel.flange(p.side)
    return where.max_height_mm if where else None


def _height(job: Job, p: Piece) -> float | None:
    if p.style == "adhesive":
        return _strip(job, p).thickness_mm
    return next((c.height_mm for c in job.stock.clip_ons if c.sku == p.sku), None)
