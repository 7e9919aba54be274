"""A layout's problem set up from the request's nouns alone.

Nothing here comes from the solver: the rules are written again from their words.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence

import numpy as np

from rimpoise_service.model.geometry import flange_geometry
from rimpoise_service.model.stock import ClipOn, Strip
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.models import PlanRequest
from rimpoise_service.planning.places import Place
from tests.planning.own_problem import DEG, TINY, Body, OwnPlace, OwnProblem, Part
from tests.planning.wheel_physics import bare_wheel, shelf


def set_up(request: PlanRequest, places: Sequence[Place], wishes: int) -> OwnProblem:
    """The problem of one arrangement of a two-plane reading, judged in its planes or, if requested, statically."""
    assert isinstance(request.reading, TwoPlane)
    planes = sorted(request.reading.planes, key=lambda m: m.position_mm)
    static_only = request.preferences.correction == "static"
    sums = bare_wheel(request.reading)
    static, moment = complex(sums[0], sums[1]), complex(sums[2], sums[3])
    (z1, r1), (z2, r2) = ((m.position_mm, m.radius_mm) for m in planes)
    shown = np.array([(static * z2 - moment) / (z2 - z1), (moment - static * z1) / (z2 - z1)])
    limits_g = request.acceptance or Acceptance()
    assert isinstance(limits_g, Acceptance)
    radii = np.array([r1, r2, (r1 + r2) / 2])
    limits = np.array([limits_g.per_plane_g, limits_g.per_plane_g, limits_g.static_g]) * radii
    judged = np.array([*shown, static])
    spread, one = request.spread, slice(2, 3)
    sd = (spread.machine_sd_g if spread.machine_sd_g is not None else 0.7) * math.sqrt(2.0)
    machine = np.array([math.hypot(r1, r2)]) * sd if static_only else radii[:2] * sd
    pick = one if static_only else slice(0, 3)
    ceilings = np.maximum(limits, np.abs(judged) + 0.05 * radii)[pick]
    required = _required(places, static, moment)
    frame = cmath.exp(-1j * cmath.phase(max(required, key=abs)))
    called = sum(abs(v) / p.radius_mm for v, p in zip(required, places, strict=True))
    own = [
        _own_place(request, p, v * frame, frame, (z1, z2), static_only=static_only)
        for p, v in zip(places, required, strict=True)
    ]
    geometry = max(called - _at_flanges(request, static, moment), 0.0) * request.effort.geometry_min_per_g
    return OwnProblem(
        places=tuple(own),
        before=(judged[one] if static_only else judged[:2]) * frame,
        limits=limits[pick] * (1 + 1e-6),
        ceilings=ceilings * (1 + 1e-6),
        machine_sd=machine,
        angle_sd=spread.angle_sd_deg * DEG,
        mass_sd=spread.mass_sd_pct / 100,
        effort=request.effort,
        penalty=wishes * request.effort.wish_min + geometry,
        asked_g=called,
        on_hand={i.sku: i.on_hand for i in shelf(request) if i.on_hand is not None},
    )


def _required(places: Sequence[Place], static: complex, moment: complex) -> list[complex]:
    """The exact correction at one or two places."""
    if len(places) == 1:
        return [-static]
    a, b = (p.position_mm for p in places)
    return [-(static * b - moment) / (b - a), -(moment - static * a) / (b - a)]


def _at_flanges(request: PlanRequest, static: complex, moment: complex) -> float:
    """Grams called at both flanges; at the reading's planes where they are not known."""
    found = [flange_geometry(request.wheel, side) for side in ("inboard", "outboard")]
    planes = [(f.position_mm, f.radius_mm) for f in found if f.position_mm is not None and f.radius_mm is not None]
    if len(planes) < 2:
        assert isinstance(request.reading, TwoPlane)
        planes = [(m.position_mm, m.radius_mm) for m in request.reading.planes]
    (a, ra), (b, rb) = planes
    return abs((static * b - moment) / (b - a)) / ra + abs((moment - static * a) / (b - a)) / rb


def _own_place(
    request: PlanRequest,
    place: Place,
    required: complex,
    frame: complex,
    planes: tuple[float, float],
    *,
    static_only: bool,
) -> OwnPlace:
    z1, z2 = planes
    z, spread = place.position_mm, request.spread
    clips = place.style == "clip_on"
    shapes = list(_shapes(request, place))
    limit = 30 * DEG if clips else 90 * DEG
    if abs(required) <= min((m for *_, m, _ in shapes), default=0.0) * place.radius_mm / 2:
        limit = math.pi
    turned = cmath.phase(required) - cmath.phase(frame)

    def bodies(room: float) -> tuple[Body, ...]:
        return tuple(b for shape in shapes for b in _placed(shape, place, turned, room))

    return OwnPlace(
        name=place.name,
        required=required,
        gain=np.ones(1) if static_only else np.array([(z2 - z) / (z2 - z1), (z - z1) / (z2 - z1)]),
        gain_per_mm=np.zeros(1) if static_only else np.array([-1.0, 1.0]) / (z2 - z1),
        axial_sd=spread.clip_position_sd_mm if clips else spread.strip_position_sd_mm,
        bodies=bodies(limit),
        beside=bodies(max(limit, 45 * DEG)) if clips else bodies(limit),
        anywhere=() if clips or all(a.endless for a in place.circle.arcs) else bodies(math.pi),
        clips=clips,
        max_pieces=min(place.max_pieces, 2),
    )


Shape = tuple[tuple[Part, ...], float, float, float, float]
"""Parts, what they cover behind and ahead [rad], mass [g] and minutes."""


def _shapes(request: PlanRequest, place: Place) -> Iterator[Shape]:
    """Every weight, and every two that touch (of strips only what is longer than one may be)."""
    per, radius = request.effort, place.circle.radius_mm
    for item in place.items:
        if isinstance(item, Strip):
            at = radius - item.thickness_mm / 2
            for n in range(1, item.max_segments * min(place.max_pieces, 2) + 1):
                cut = [n] if n <= item.max_segments else [n - n // 2, n // 2]
                lengths = [m * item.segment_length_mm / radius for m in cut]
                masses = [m * item.segment_mass_g for m in cut]
                minutes = len(cut) * per.strip_min + per.clean_min
                yield _joined(
                    [(item.sku, m, at, x, k) for m, x, k in zip(masses, lengths, cut, strict=True)], minutes
                )
    clips = [i for i in place.items if isinstance(i, ClipOn)]
    units = [(c.sku, c.mass_g, radius, (c.length_mm or 0.0) / radius, 1) for c in clips]
    yield from (_joined([u], per.clip_on_min) for u in units)
    if place.max_pieces > 1:
        yield from (_joined([u, v], 2 * per.clip_on_min) for u in units for v in units)


def _joined(units: Sequence[tuple[str, float, float, float, int]], minutes: float) -> Shape:
    """One or two weights end to end: (sku, mass [g], radius [mm], arc [rad], taken) each."""
    begin, parts, total = 0.0, [], 0j
    for sku, mass, radius, arc, taken in units:
        size = mass * radius * (math.sin(arc / 2) / (arc / 2) if arc else 1.0)
        parts.append(Part(size, begin + arc / 2, sku, taken))
        total += size * cmath.exp(1j * (begin + arc / 2))
        begin += arc
    middle = cmath.phase(total)
    centred = tuple(Part(p.size, p.offset - middle, p.sku, p.taken) for p in parts)
    return centred, middle, begin - middle, sum(u[1] for u in units), minutes


def _placed(shape: Shape, place: Place, turned: float, limit: float) -> Iterator[Body]:
    """A shape in every free arc, as far as each of its pieces keeps within a limit of the exact correction."""
    parts, behind, ahead, mass, minutes = shape
    size = abs(sum(p.size * cmath.exp(1j * p.offset) for p in parts))
    low_room, high_room = -limit - min(p.offset for p in parts), limit - max(p.offset for p in parts)
    for number, arc in enumerate(place.circle.arcs):
        begin, end = arc.start_deg * DEG + behind, (arc.start_deg + arc.width_deg) * DEG - ahead
        for turn in (0,) if arc.endless else (-2, -1, 0, 1):
            low, high = (-math.pi, math.pi) if arc.endless else (begin - turned, end - turned)
            if not arc.endless:
                low, high = low + 2 * math.pi * turn, high + 2 * math.pi * turn
            low, high = max(low, low_room), min(high, high_room)
            if high >= low - TINY:
                yield Body(size, parts, low, max(low, high), behind, ahead, mass, minutes, (number, turn))
