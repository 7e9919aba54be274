"""Where a new weight may go beside what is on the wheel: what fits there, and the nearest angle that is free.

A weight keeps off the pieces that stay, and of a wheel that is known off its keep-outs and the valve's stem. Where
all strips of a land were hidden behind the spokes, a new one is too. What is not known is in nobody's way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..model.arcs import WHOLE_CIRCLE, Arc, merged, subtract
from ..model.geometry import flange_planes
from ..model.stock import ClipOn, Strip
from ..model.wheel import FLANGE_PLACE, SIDES, Land, Side, Wheel
from ..physics.planes import MIN_PLANE_DISTANCE_MM, Plane
from ..physics.unbalance import PointMass, signed_deg, wrap_deg
from ..planning.compatibility import flange_misfits, land_obstacles, strip_misfits, wheel_misfits
from ..planning.models import Style
from ..planning.places import kept_off
from .fitted_piece import FittedPiece
from .spin_comparison import SpinComparison

UNKNOWN = "flange_unmeasured"
"""What speaks against a clip-on in a plan, and not beside those that are on."""


def fits_wheel(seen: SpinComparison, item: ClipOn | Strip, position_mm: float) -> bool:
    """Whether a weight fits the wheel at a position [mm], as far as the wheel is known."""
    wheel = seen.spin.wheel
    if wheel is None:
        return item.on_hand != 0
    if isinstance(item, Strip):
        land = _land_at(wheel, position_mm)
        return (
            item.on_hand != 0 if land is None else not (strip_misfits(item, land) or land_obstacles(land, wheel))
        )
    side = _side_at(seen, wheel, position_mm)
    flange = None if side is None else wheel.flange(side)
    reasons = wheel_misfits(item, wheel) + (flange_misfits(item, flange) if flange else [])
    return all(reason.code == UNKNOWN for reason in reasons)


def nearest_free_deg(
    seen: SpinComparison, at: PointMass, width_deg: float, style: Style, stay: Sequence[FittedPiece]
) -> float | None:
    """The angle nearest to that of a weight [deg] where it is free, so wide [deg]; None if there is none."""
    here = [p for p in stay if abs(p.position_mm - at.position_mm) < MIN_PLANE_DISTANCE_MM]
    taken = [Arc.centred(p.angle_deg, p.arc_deg) for p in here if p.arc_deg]
    middles = [
        middle
        for window in _windows(seen, at.position_mm, style, taken)
        if (middle := _nearest_middle(window, width_deg, at.angle_deg)) is not None
    ]
    return min(middles, key=lambda x: abs(signed_deg(x - at.angle_deg)), default=None)


def _windows(seen: SpinComparison, position_mm: float, style: Style, taken: Sequence[Arc]) -> Iterator[Arc]:
    """The free stretches of the circle at a position [mm]."""
    wheel, off, cover = seen.spin.wheel, list(taken), tuple[Arc, ...]()
    side = _side_at(seen, wheel, position_mm) if wheel and style == "clip_on" else None
    land = _land_at(wheel, position_mm) if wheel and style == "adhesive" else None
    if wheel and side:
        off += kept_off(wheel, FLANGE_PLACE[side])
    if wheel and land:
        off += kept_off(wheel, land)
        cover = _cover(seen, wheel, land)
    for window in cover or (WHOLE_CIRCLE,):
        yield from subtract(window, off)


def _cover(seen: SpinComparison, wheel: Wheel, land: Land) -> tuple[Arc, ...]:
    """The spokes, where they hide all strips that were planned for a land; else nothing."""
    cover = merged(wheel.spokes) if land.behind_spokes and land.visible else ()
    strips = [Arc.centred(p.angle_deg, p.arc_deg) for p in seen.fitted if _is_on(p, land)]
    hidden = bool(strips) and all(any(c.contains(strip) for c in cover) for strip in strips)
    return cover if hidden else ()


def _is_on(p: FittedPiece, land: Land) -> bool:
    return p.style == "adhesive" and abs(p.position_mm - land.position_mm) <= land.width_mm / 2


def _nearest_middle(window: Arc, width_deg: float, wanted_deg: float) -> float | None:
    """The middle of a weight in a window that is nearest to where it is wanted [deg]; None if it is too wide."""
    if window.endless:
        return wanted_deg
    first, room = window.start_deg + width_deg / 2, window.width_deg - width_deg
    if room < 0:
        return None
    if wrap_deg(wanted_deg - first) <= room:
        return wanted_deg
    return min((wrap_deg(first), wrap_deg(first + room)), key=lambda x: abs(signed_deg(x - wanted_deg)))


def _land_at(wheel: Wheel, position_mm: float) -> Land | None:
    """The land that a strip at a position [mm] is on."""
    off_mm = {land.name: abs(land.position_mm - position_mm) for land in wheel.lands}
    near = [land for land in wheel.lands if off_mm[land.name] <= land.width_mm / 2]
    return min(near, key=lambda land: off_mm[land.name], default=None)


def _side_at(seen: SpinComparison, wheel: Wheel, position_mm: float) -> Side | None:
    """The side of the flange nearest to a position [mm]; of the plane nearest where the flanges are not known."""
    planes: Sequence[Plane] = flange_planes(wheel)[0] or sorted(seen.planes, key=lambda p: p.position_mm)
    if len(planes) < len(SIDES):
        return None
    inner, outer = planes
    near_outer = abs(outer.position_mm - position_mm) < abs(inner.position_mm - position_mm)
    return "outboard" if near_outer else "inboard"
