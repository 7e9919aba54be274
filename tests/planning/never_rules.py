"""What no layout may ever be, read off its pieces: opposed or straying weights, a limit made worse, twins.

Rules of the trade (common practice, no source), in degrees and grams; nothing of the search is used.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from rimpoise_service.planning.models import Layout, Piece, Plan, PlanRequest
from rimpoise_service.planning.places import find_places
from tests.planning.wheel_physics import ROOM_DEG, room_deg, touches

WORSE_G = 0.05


def broken_rules(request: PlanRequest, plan: Plan) -> list[str]:
    """Every rule that a plan breaks."""
    smallest = {
        place.name: min(getattr(i, "segment_mass_g", 0) or getattr(i, "mass_g", 0) for i in place.items)
        for place in find_places(request.wheel, request.stock, request.preferences).places
    }
    found = [
        f"{layout.name}: {fault}"
        for layout in plan.layouts
        for fault in (
            *_directions(request, layout, smallest),
            *_made_worse(plan, layout),
            *_name(layout),
        )
    ]
    return found + [
        f"{one.name} is {other.name}" for one, other in combinations(plan.layouts, 2) if _same(one, other)
    ]


def _directions(request: PlanRequest, layout: Layout, smallest: dict[str, float]) -> Iterator[str]:
    for v in layout.required:
        pieces = [p for p in layout.pieces if p.place == v.plane.name]
        clips = [p for p in pieces if p.style == "clip_on"]
        beside = len(clips) == 2 and _keep_out_between(request, *clips)
        if len(clips) > 2:
            yield f"{len(clips)} clip-ons on {v.plane.name}"
        if len(clips) == 2 and _gap_deg(*clips) > (60 if beside else 30) + ROOM_DEG:
            yield f"{_gap_deg(*clips):.2f}° of free lip on {v.plane.name}"
        if v.mass_g <= smallest[v.plane.name] / 2 * (1 + 1e-9):
            continue  # no direction to keep
        for p in pieces:
            off = abs(math.remainder(p.angle_deg - v.angle_deg, 360))
            if p.style == "clip_on" and off > (45 if beside else 30) + ROOM_DEG:
                yield f"a clip-on {off:.2f}° from the exact correction"
            if p.style == "adhesive" and off > 90 + ROOM_DEG and not _may_stray(layout, p):
                yield f"a strip {off:.2f}° from the exact correction"


def _may_stray(layout: Layout, strip: Piece) -> bool:
    """Strips in windows may where nothing passes half of the time, and then a note says so."""
    said = any(n.code == "strip_far_from_correction" and n.values["place"] == strip.place for n in layout.notes)
    return said and layout.pieces != ()


def _facing(one: Piece, other: Piece) -> tuple[Piece, Piece]:
    """The two, the nearer way clockwise from the first to the second."""
    return (one, other) if (other.angle_deg - one.angle_deg) % 360 <= 180 else (other, one)


def _gap_deg(one: Piece, other: Piece) -> float:
    first, second = _facing(one, other)
    return (second.angle_deg - first.angle_deg) % 360 - (room_deg(first) + room_deg(second)) / 2


def _keep_out_between(request: PlanRequest, one: Piece, other: Piece) -> bool:
    first, second = _facing(one, other)
    way = (second.angle_deg - first.angle_deg) % 360
    for k in request.wheel.keep_out:
        middle = (k.arc.start_deg + k.arc.width_deg / 2 - first.angle_deg) % 360
        if k.place == one.place and middle < way and not touches(one, k.arc):
            return True
    return False


def _made_worse(plan: Plan, layout: Layout) -> Iterator[str]:
    evaluator, before = plan.evaluator, plan.before
    assert evaluator is not None
    assert before is not None
    judged = [("static", before.static_g, layout.residual.static_g, evaluator.static_limit_g)]
    for limit, was, now in zip(
        evaluator.plane_limits, before.planes, layout.residual.planes, strict=bool(evaluator.plane_limits)
    ):
        judged.append((limit.plane.name, was.mass_g, now.mass_g, limit.mass_g))
    for name, was_g, now_g, limit_g in judged:
        if now_g > limit_g * (1 + 2e-6) and now_g > was_g + WORSE_G + 1e-6:
            yield f"{name} was {was_g:.3f} g and is {now_g:.3f} g, over {limit_g:.3f} g"


def _name(layout: Layout) -> Iterator[str]:
    places = {p.place for p in layout.pieces}
    if len(places) != layout.name.count(" + ") + 1:
        yield f"weights on {sorted(places)} alone"


def _same(one: Layout, other: Layout) -> bool:
    return _spots(one.pieces) == _spots(other.pieces)


def _spots(pieces: Sequence[Piece]) -> list[tuple[str, str, int, float]]:
    return sorted((p.place, p.sku, p.segments or 0, round(p.angle_deg, 4)) for p in pieces)
