"""Can a wheel be as it was described? Lands and measured flanges against each other and against the marking."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Protocol

from ..messages.message import Message, message
from ..model.geometry import flange_geometry, rim_of
from ..model.resolution import Flaw, Path
from ..model.wheel import SIDES, Land, Wheel
from ..physics.planes import MIN_PLANE_DISTANCE_MM
from ..physics.rim_sizes import Rim
from .plausibility_limits import (
    FAR_OFF_RIM_MM,
    FLANGES_DIFFER_MM,
    LAND_DEPTH,
    LAND_OUTSIDE_MM,
    OFF_PLACES_MM,
    OFFSET_DIFFERS_MM,
    RADIUS_DOUBTED,
    RADIUS_REFUSED,
)


def wheel_flaws(wheel: Wheel) -> Iterator[Flaw]:
    """What can't be of a wheel's lands and measured flanges."""
    rim_edges, rim = edges(wheel), rim_of(wheel)
    for index, land in enumerate(wheel.lands):
        at = ("lands", index)
        if rim_edges and outside_mm(land.position_mm, rim_edges) > LAND_OUTSIDE_MM:
            said = message("land_outside_rim", sent_mm=land.position_mm, **rounded(rim_edges))
            yield Flaw("lands_in_rim", (*at, "position_mm"), said)
        if rim and not LAND_DEPTH * rim.radius_mm <= land.radius_mm <= rim.radius_mm + rim.flange_height_mm:
            low, high = LAND_DEPTH * rim.radius_mm, rim.radius_mm + rim.flange_height_mm
            said = message("land_off_barrel", low_mm=round(low), high_mm=round(high), sent_mm=land.radius_mm)
            yield Flaw("lands_in_rim", (*at, "radius_mm"), said)
    yield from _lands_in_order(wheel.lands)
    yield from _flange_flaws(wheel, rim)


def _lands_in_order(lands: Sequence[Land]) -> Iterator[Flaw]:
    outer = [land for land in lands if land.side == "outboard"]
    for index, land in enumerate(lands):
        beyond = [o for o in outer if land.side == "inboard" and land.position_mm > o.position_mm]
        if beyond:
            said = message("land_not_inboard", called=beyond[0].name)
            yield Flaw("lands_in_order", ("lands", index, "position_mm"), said)


def _flange_flaws(wheel: Wheel, rim: Rim | None) -> Iterator[Flaw]:
    """Measured flanges that this rim can't have; without a marking the first one's radius stands for the rim's."""
    radii = _measured_radii(wheel)
    for side, radius in radii:
        if said := radius_flaw(radius, rim.radius_mm if rim else radii[0][1]):
            yield Flaw("flanges_on_rim", ("flanges", side, "radius_mm"), said)
    apart = _measured_apart_mm(wheel)
    if rim and apart is not None and abs(apart - rim.width_mm) > FAR_OFF_RIM_MM:
        said = message("flanges_off_rim", apart_mm=round(apart, 1), width_mm=round(rim.width_mm, 1))
        yield Flaw("flanges_on_rim", ("flanges", "outboard", "position_mm"), said)


def wheel_doubts(wheel: Wheel) -> Iterator[Message]:
    """What is unlikely of a wheel: lands wider than the rim, flanges or an offset that aren't the marking's."""
    rim_edges, rim = edges(wheel), rim_of(wheel)
    for land in wheel.lands:
        ends = (land.position_mm - land.width_mm / 2, land.position_mm + land.width_mm / 2)
        if rim_edges and max(outside_mm(end, rim_edges) for end in ends) > LAND_OUTSIDE_MM:
            yield message("land_wider_than_rim", place=land.name, width_mm=land.width_mm)
    if rim is None:
        return
    for _, radius in _measured_radii(wheel):
        yield from radius_doubts(radius, rim.radius_mm)
    apart = _measured_apart_mm(wheel)
    if apart is not None and abs(apart - rim.width_mm) > FLANGES_DIFFER_MM:
        yield message("flanges_differ", apart_mm=apart, width_mm=rim.width_mm)
    if rim.offset_mm is not None and wheel.offset_mm is not None:
        by = abs(rim.offset_mm - wheel.offset_mm)
        if by > OFFSET_DIFFERS_MM:
            yield message("offset_differs", offset_mm=wheel.offset_mm, marked_mm=rim.offset_mm, by_mm=by)


class OnWheel(Protocol):
    """Anything with a position along the axis and a radius [mm]."""

    @property
    def position_mm(self) -> float: ...
    @property
    def radius_mm(self) -> float: ...


def plane_flaws(plane: OnWheel, at: Path, wheel: Wheel) -> Iterator[Flaw]:
    """What can't be of where a plane or a weight, at a path of the request, is on a wheel."""
    paths = ((*at, "position_mm"), (*at, "radius_mm"))
    return located_flaws(plane.position_mm, plane.radius_mm, paths, wheel)


def located_flaws(
    position_mm: float, radius_mm: float | None, at: tuple[Path, Path], wheel: Wheel
) -> Iterator[Flaw]:
    """What can't be of a position and a radius [mm] on a wheel; ``at``: where each of them is."""
    rim_edges, rim_mm = edges(wheel), rim_radius_mm(wheel)
    if rim_edges and (off := outside_mm(position_mm, rim_edges)) > FAR_OFF_RIM_MM:
        off_by = {"sent_mm": round(position_mm, 1), "off_mm": round(off)}
        yield Flaw("planes_on_rim", at[0], message("plane_off_rim", **off_by, **rounded(rim_edges)))
    if rim_mm and radius_mm is not None and (said := radius_flaw(radius_mm, rim_mm)):
        yield Flaw("radius_on_rim", at[1], said)


def radius_flaw(radius_mm: float, rim_mm: float) -> Message | None:
    """What is said of a radius that can't be on a rim of that radius [mm]."""
    share = radius_mm / rim_mm
    if RADIUS_REFUSED[0] <= share <= RADIUS_REFUSED[1]:
        return None
    code = "radius_too_large" if share > RADIUS_REFUSED[1] else "radius_too_small"
    return message(code, share=round(share, 2), sent_mm=round(radius_mm, 1), rim_mm=round(rim_mm, 1))


def radius_doubts(radius_mm: float, rim_mm: float) -> Iterator[Message]:
    """What is said of a radius that is unlikely on a rim of that radius [mm]."""
    share = radius_mm / rim_mm
    if not RADIUS_DOUBTED[0] <= share <= RADIUS_DOUBTED[1]:
        yield message("radius_unlikely", radius_mm=radius_mm, rim_mm=rim_mm, share=share)


def weight_doubts(
    number: int, weight: OnWheel, wheel: Wheel | None, planes: Sequence[OnWheel]
) -> Iterator[Message]:
    """What is unlikely of where a fitted weight, by its number, is.

    Away from the places of its wheel; where those are not known, far from the reading's planes. A land has
    its own radius.
    """
    at_mm, radius_mm = weight.position_mm, weight.radius_mm
    by, most = off_places_mm(at_mm, wheel) if wheel else None, OFF_PLACES_MM
    if by is None and len(planes) == 2:
        inner, outer = sorted(plane.position_mm for plane in planes)
        by, most = outside_mm(at_mm, (inner, outer)), FAR_OFF_RIM_MM
    if by is not None and by > most:
        yield message("weight_off_places", number=number, position_mm=at_mm, by_mm=by)
    if wheel and any(abs(land.position_mm - at_mm) <= OFF_PLACES_MM for land in wheel.lands):
        return
    usual_mm, (low, high) = rim_radius_mm(wheel) if wheel else None, RADIUS_DOUBTED
    if usual_mm is None and planes:
        usual_mm, (low, high) = sum(plane.radius_mm for plane in planes) / len(planes), RADIUS_REFUSED
    if usual_mm and not low <= radius_mm / usual_mm <= high:
        yield message("weight_radius_unlikely", number=number, radius_mm=radius_mm, usual_mm=usual_mm)


def off_places_mm(position_mm: float, wheel: Wheel, *, between: bool = False) -> float | None:
    """How far a position is from the nearest flange or land [mm]; None unless both flanges' places are known.

    between: what is between the flanges is at a place, too.
    """
    flanges = [flange_geometry(wheel, side).position_mm for side in SIDES]
    known = [at for at in flanges if at is not None]
    if len(known) < len(flanges):
        return None
    if between and min(known) <= position_mm <= max(known):
        return 0.0
    return min(abs(at - position_mm) for at in (*known, *(land.position_mm for land in wheel.lands)))


def rim_radius_mm(wheel: Wheel) -> float | None:
    """The specified rim radius, or without a marking the mean of the flanges' measured ones [mm]."""
    rim, radii = rim_of(wheel), [radius for _, radius in _measured_radii(wheel)]
    return rim.radius_mm if rim else sum(radii) / len(radii) if radii else None


def _measured_radii(wheel: Wheel) -> list[tuple[str, float]]:
    flanges = [(side, wheel.flange(side)) for side in SIDES]
    return [(side, f.radius_mm) for side, f in flanges if f and f.radius_mm is not None]


def _measured_apart_mm(wheel: Wheel) -> float | None:
    """How far the flanges are apart [mm], if both were measured."""
    at = [f.position_mm for side in SIDES if (f := wheel.flange(side)) and f.position_mm is not None]
    return at[1] - at[0] if len(at) == 2 else None


def edges(wheel: Wheel) -> tuple[float, float] | None:
    """Where the flanges are [mm], inboard first; None unless both are known, one outboard of the other."""
    inner, outer = (flange_geometry(wheel, side).position_mm for side in SIDES)
    if inner is None or outer is None or outer - inner < MIN_PLANE_DISTANCE_MM:
        return None
    return inner, outer


def outside_mm(position_mm: float, rim_edges: tuple[float, float]) -> float:
    """How far a position is outside the rim [mm], negative within it."""
    return max(rim_edges[0] - position_mm, position_mm - rim_edges[1])


def rounded(rim_edges: tuple[float, float]) -> dict[str, float]:
    """A rim's edges [mm], as values of a message."""
    return {"low_mm": round(rim_edges[0], 1), "high_mm": round(rim_edges[1], 1)}
