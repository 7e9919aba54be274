"""A wheel turned, mirrored, described from another datum, made larger, its planes in the other order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import ClipOn, Stock, Strip
from rimpoise_service.model.wheel import Flange, Land, Wheel
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.planning.models import PlanRequest


def with_angles(request: PlanRequest, turn: Callable[[float], float], mirrored: bool) -> PlanRequest:
    """Every direction of the request by another one."""

    def moved(arc: Arc) -> Arc:
        begin = arc.start_deg + arc.width_deg if mirrored else arc.start_deg
        return replace(arc, start_deg=turn(begin))

    assert isinstance(request.reading, TwoPlane)
    a, b = (replace(m, angle_deg=turn(m.angle_deg)) for m in request.reading.planes)
    wheel = replace(
        request.wheel,
        spokes=tuple(moved(s) for s in request.wheel.spokes),
        keep_out=tuple(replace(k, arc=moved(k.arc)) for k in request.wheel.keep_out),
    )
    return replace(request, reading=replace(request.reading, planes=(a, b)), wheel=wheel)


def rotated(request: PlanRequest, by_deg: float) -> PlanRequest:
    """Turned clockwise."""
    return with_angles(request, lambda angle: (angle + by_deg) % 360.0, mirrored=False)


def mirrored(request: PlanRequest) -> PlanRequest:
    """Seen in a mirror that stands along the axis."""
    return with_angles(request, lambda angle: -angle % 360.0, mirrored=True)


def swapped(request: PlanRequest) -> PlanRequest:
    """The reading's planes in the other order."""
    assert isinstance(request.reading, TwoPlane)
    return replace(request, reading=replace(request.reading, planes=request.reading.planes[::-1]))


def shifted(request: PlanRequest, by_mm: float) -> PlanRequest:
    """Every position from another datum."""
    assert isinstance(request.reading, TwoPlane)
    a, b = (replace(m, position_mm=m.position_mm + by_mm) for m in request.reading.planes)
    return replace(
        request,
        reading=replace(request.reading, planes=(a, b)),
        wheel=_with_places(request.wheel, lambda z: z + by_mm, lambda r: r),
    )


def scaled(request: PlanRequest, by: float) -> PlanRequest:
    """Every length larger: the wheel, the stock, the spread along the axis."""
    assert isinstance(request.reading, TwoPlane)
    a, b = (replace(m, position_mm=m.position_mm * by, radius_mm=m.radius_mm * by) for m in request.reading.planes)
    spread = request.spread
    return replace(
        request,
        reading=replace(request.reading, planes=(a, b)),
        wheel=_with_places(request.wheel, lambda z: z * by, lambda r: r * by),
        stock=Stock(
            tuple(_larger_clip(c, by) for c in request.stock.clip_ons),
            tuple(_larger_strip(s, by) for s in request.stock.strips),
        ),
        spread=replace(
            spread,
            clip_position_sd_mm=spread.clip_position_sd_mm * by,
            strip_position_sd_mm=spread.strip_position_sd_mm * by,
        ),
    )


def _larger_clip(clip: ClipOn, by: float) -> ClipOn:
    return replace(clip, length_mm=(clip.length_mm or 0.0) * by, height_mm=(clip.height_mm or 0.0) * by)


def _larger_strip(strip: Strip, by: float) -> Strip:
    return replace(
        strip,
        segment_length_mm=strip.segment_length_mm * by,
        width_mm=strip.width_mm * by,
        thickness_mm=strip.thickness_mm * by,
    )


def _with_places(wheel: Wheel, at: Callable[[float], float], radius: Callable[[float], float]) -> Wheel:
    def flange(f: Flange | None) -> Flange | None:
        if f is None or f.position_mm is None or f.radius_mm is None:
            return f
        return replace(f, position_mm=at(f.position_mm), radius_mm=radius(f.radius_mm))

    def land(x: Land) -> Land:
        return replace(
            x, position_mm=at(x.position_mm), radius_mm=radius(x.radius_mm), width_mm=radius(x.width_mm)
        )

    return replace(
        wheel, inboard=flange(wheel.inboard), outboard=flange(wheel.outboard), lands=tuple(map(land, wheel.lands))
    )
