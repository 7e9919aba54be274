"""Correcting weights whatever the cause: stock masses that cancel what the check spin shows.

They go where pieces of that plane already are: beside a clip-on another clip-on that fits the same flange, on a
strip's land more segments. In a plane without pieces they are clip-ons at the reading's plane. Angles are exact;
masses are the nearest in stock, a strip's in whole segments; without a stock they are steps of 5 g.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from ..model.stock import BUILTIN, ClipOn
from ..physics.planes import MIN_PLANE_DISTANCE_MM, Plane, PlaneVector, correct
from ..planning.models import Style
from .fitted_piece import FittedPiece
from .spin_comparison import SpinComparison


@dataclass(frozen=True, slots=True)
class AddedWeight:
    """A weight to add: mass_g [g] at position_mm, radius_mm [mm] and angle_deg [deg]; sku: from the stock sent."""

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    style: Style
    sku: str | None

    @property
    def piece(self) -> FittedPiece:
        """The same as a fitted piece."""
        return FittedPiece(self.position_mm, self.radius_mm, self.mass_g, self.angle_deg, self.style)


class _Place(NamedTuple):
    plane: Plane
    beside: FittedPiece | None

    @property
    def style(self) -> Style:
        return self.beside.style if self.beside else "clip_on"


def correcting_weights(seen: SpinComparison) -> tuple[AddedWeight, ...]:
    """One weight a plane, the nearest in stock; none where nothing in stock is nearer than no weight."""
    places = [_place(seen, plane) for plane in seen.planes]
    if len(places) == 2 and _distance_mm(places[0].plane, places[1].plane) < MIN_PLANE_DISTANCE_MM:
        places = [_Place(plane, None) for plane in seen.planes]
    called = correct(seen.measured, [place.plane for place in places])
    return tuple(w for vector, place in zip(called, places, strict=True) for w in _nearest(seen, vector, place))


def _nearest(seen: SpinComparison, called: PlaneVector, place: _Place) -> Iterator[AddedWeight]:
    offers = _offers(seen, place)
    mass_g, sku = min(offers, key=lambda offer: abs(offer[0] - called.mass_g), default=(0.0, None))
    if 0 < mass_g < 2 * called.mass_g:
        plane = called.plane
        yield AddedWeight(plane.position_mm, plane.radius_mm, mass_g, called.angle_deg, place.style, sku)


def _place(seen: SpinComparison, plane: Plane) -> _Place:
    """Where weights of a plane are: at its heaviest piece."""
    near = [p for p in seen.fitted if min(seen.planes, key=lambda q: _distance_mm(p, q)) is plane]
    if not near:
        return _Place(plane, None)
    heaviest = max(near, key=lambda p: p.mass_g)
    return _Place(Plane(plane.name, heaviest.position_mm, heaviest.radius_mm), heaviest)


def _distance_mm(a: Plane | FittedPiece, b: Plane) -> float:
    return abs(a.position_mm - b.position_mm)


def _offers(seen: SpinComparison, place: _Place) -> Iterator[tuple[float, str | None]]:
    """Masses [g] in stock for a place, each with its sku."""
    sent = seen.spin.stock
    stock = sent or BUILTIN["metric"]
    if place.style == "clip_on":
        beside = next((c for c in stock.clip_ons if place.beside and c.sku == place.beside.sku), None)
        for c in stock.clip_ons:
            if c.on_hand != 0 and (beside is None or _fits_like(c, beside)):
                yield c.mass_g, c.sku if sent else None
        return
    for s in stock.strips:
        most = s.max_segments if s.on_hand is None else min(s.max_segments, s.on_hand)
        yield from ((n * s.segment_mass_g, s.sku if sent else None) for n in range(1, most + 1))


def _fits_like(clip: ClipOn, other: ClipOn) -> bool:
    """Whether a clip-on fits the flanges that another one fits."""
    return (clip.thickness_mm, clip.profiles, clip.for_materials, clip.for_vehicle_classes) == (
        other.thickness_mm,
        other.profiles,
        other.for_materials,
        other.for_vehicle_classes,
    )
