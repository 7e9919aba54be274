"""Correcting weights whatever the cause: stock masses that cancel what the check spin shows.

They go where pieces of that plane already are: beside a clip-on another clip-on that fits the same flange, on a
strip's land more segments. In a plane without pieces they are clip-ons at the reading's plane, or strips on the
nearest land of a wheel that is known to take no clip there. Angles are the nearest ones that are free
(``clear_spots``); masses those in stock that act most like what is wanted, a strip's in whole segments; without a
stock they are steps of 5 g.

``fits_in`` says whether a plan could look like that: weights that fight each other on one flange are no craft.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ..model.stock import BUILTIN, ClipOn
from ..model.wheel import SIDES, Flange, Land, Side, Wheel
from ..physics.distributed_mass import arc_factor, half_arc_rad
from ..physics.planes import MIN_PLANE_DISTANCE_MM, Plane, PlaneVector, correct
from ..physics.readings import unbalance_of
from ..physics.unbalance import PointMass, signed_deg
from ..planning.candidates import CLIP_LIMIT, FREE_LIP, STRIP_LIMIT
from ..planning.models import Style
from ..planning.places import MOST_CLIP_ONS
from ..search.block_catalogue import ASSUMED_CLIP_MM
from .clear_spots import fits_wheel, nearest_free_deg
from .fitted_piece import FittedPiece
from .spin_comparison import SpinComparison


@dataclass(frozen=True, slots=True)
class AddedWeight:
    """A weight to add: mass_g [g] at position_mm, radius_mm [mm] and angle_deg [deg]; sku: from the stock sent.

    arc_deg: what it covers of the circle [deg].
    """

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    style: Style
    sku: str | None
    arc_deg: float = 0.0

    @property
    def piece(self) -> FittedPiece:
        """The same as a fitted piece."""
        place = self.position_mm, self.radius_mm, self.mass_g, self.angle_deg
        return FittedPiece(*place, self.style, self.arc_deg)


class WeightPlane(NamedTuple):
    """A plane for weights, the piece that is there, and what fits where none is."""

    plane: Plane
    beside: FittedPiece | None
    without: Style = "clip_on"

    @property
    def style(self) -> Style:
        """What fits beside it."""
        return self.beside.style if self.beside else self.without


def correcting_weights(seen: SpinComparison) -> tuple[AddedWeight, ...]:
    """One weight a plane, the nearest in stock; none where nothing in stock is nearer than no weight."""
    places = [place for plane in seen.planes for place in _places(seen, plane)]
    if len(places) == 2 and _distance_mm(places[0].plane, places[1].plane) < MIN_PLANE_DISTANCE_MM:
        places = [WeightPlane(plane, None) for plane in seen.planes]
    if not places:
        return ()
    called = correct(seen.measured, [place.plane for place in places])
    wanted = zip(called, places, strict=True)
    return tuple(w for v, place in wanted for w in nearest_weight(seen, place, v.mass_g, v.angle_deg, seen.fitted))


def nearest_weight(
    seen: SpinComparison, place: WeightPlane, wanted_g: float, angle_deg: float, stay: Sequence[FittedPiece]
) -> Iterator[AddedWeight]:
    """The weight in stock for a place that acts most like a point [g], at the free angle nearest to one [deg].

    stay: the pieces that it must keep off. None if none is nearer than no weight, or no angle near is free.
    """
    z, r = place.plane.position_mm, place.plane.radius_mm
    found = min(_offers(seen, place), key=lambda offer: abs(offer.acts_as_g - wanted_g), default=None)
    if found is None or not 0 < found.acts_as_g < 2 * wanted_g:
        return
    wanted = PointMass(z, r, found.mass_g, angle_deg)
    free_deg = nearest_free_deg(seen, wanted, found.room_deg, place.style, stay)
    most = CLIP_LIMIT if place.style == "clip_on" else STRIP_LIMIT
    if free_deg is not None and abs(signed_deg(free_deg - angle_deg)) <= math.degrees(most):
        yield AddedWeight(z, r, found.mass_g, free_deg, place.style, found.sku, found.arc_deg)


def are_on_hand(seen: SpinComparison, weights: Sequence[AddedWeight]) -> bool:
    """Whether there are as many in stock as all of them take: pieces of clip-ons, segments of strips."""
    stock = seen.spin.stock
    if stock is None:
        return True
    left = {c.sku: (c.on_hand, c.mass_g) for c in stock.clip_ons}
    left |= {s.sku: (s.on_hand, s.segment_mass_g) for s in stock.strips}
    for sku, (on_hand, each_g) in left.items():
        taken = sum(round(w.mass_g / each_g) for w in weights if w.sku == sku)
        if on_hand is not None and taken > on_hand:
            return False
    return True


def fits_in(seen: SpinComparison, w: AddedWeight) -> bool:
    """Whether a plan could have that weight beside what is there.

    No third clip-on of a flange, none far from the other one, and no weight far from where the reading before
    called for one: 30° for clip-ons, 90° for strips.
    """
    here = [p for p in seen.fitted if _distance_mm(p, w.piece) < MIN_PLANE_DISTANCE_MM]
    if w.style == "clip_on" and not _are_neighbours(w, here):
        return False
    limit_deg = math.degrees(CLIP_LIMIT if w.style == "clip_on" else STRIP_LIMIT)
    called = _called_before(seen, w)
    return (
        called is None
        or called.mass_g < w.mass_g / 2
        or abs(signed_deg(called.angle_deg - w.angle_deg)) <= limit_deg
    )


def _are_neighbours(w: AddedWeight, here: Sequence[FittedPiece]) -> bool:
    free_deg = math.degrees(FREE_LIP)
    return len(here) < MOST_CLIP_ONS and all(
        abs(signed_deg(p.angle_deg - w.angle_deg)) <= free_deg + p.arc_deg / 2 for p in here
    )


def _called_before(seen: SpinComparison, w: AddedWeight) -> PlaneVector | None:
    """What the reading before called for at the place of a weight; None where places are too close to tell."""
    here = Plane("", w.position_mm, w.radius_mm)
    nearest = min(seen.planes, key=lambda p: _distance_mm(p, here))
    others = [p for p in seen.planes if p is not nearest]
    if any(_distance_mm(p, here) < MIN_PLANE_DISTANCE_MM for p in others):
        return None
    return correct(unbalance_of(seen.spin.before), [here, *others])[0]


def _places(seen: SpinComparison, plane: Plane) -> Iterator[WeightPlane]:
    """Where weights of a plane are: at its heaviest piece; without any where the wheel lets one go, if it does."""
    near = [p for p in seen.fitted if _nearest_plane(seen, p) is plane]
    wheel = seen.spin.wheel
    if near:
        heaviest = max(near, key=lambda p: p.mass_g)
        yield WeightPlane(Plane(plane.name, heaviest.position_mm, heaviest.radius_mm), heaviest)
    elif wheel is None or _takes_clips(wheel, seen.planes, plane):
        yield WeightPlane(plane, None)
    elif lands := [land for land in wheel.lands if _nearest_plane(seen, land) is plane]:
        land = min(lands, key=lambda land: _distance_mm(land, plane))
        yield WeightPlane(Plane(plane.name, land.position_mm, land.radius_mm), None, "adhesive")


def _takes_clips(wheel: Wheel, planes: Sequence[Plane], plane: Plane) -> bool:
    """Whether a clip-on may hold on the flange of a plane's side, as far as is known of it."""
    outer = max(planes, key=lambda p: p.position_mm) is plane
    sides: tuple[Side, ...] = SIDES if len(planes) == 1 else ("outboard" if outer else "inboard",)
    return any(flange is None or _may_hold(flange) for flange in map(wheel.flange, sides))


def _may_hold(flange: Flange) -> bool:
    clear = flange.room_mm is None or flange.room_mm > 0
    return flange.present and clear and not flange.lip_covered and flange.flange_condition != "damaged"


def _nearest_plane(seen: SpinComparison, at: FittedPiece | Land) -> Plane:
    return min(seen.planes, key=lambda q: _distance_mm(at, q))


def _distance_mm(a: Plane | FittedPiece | Land, b: Plane | FittedPiece) -> float:
    return abs(a.position_mm - b.position_mm)


class _Offer(NamedTuple):
    """A mass in stock [g] for a place, what it covers there and what room it takes [deg]."""

    mass_g: float
    sku: str | None
    arc_deg: float
    room_deg: float

    @property
    def acts_as_g(self) -> float:
        """The point [g] at its radius that does the same."""
        return self.mass_g * arc_factor(math.radians(self.arc_deg) / 2)


def _offers(seen: SpinComparison, place: WeightPlane) -> Iterator[_Offer]:
    """What in stock fits a place."""
    sent, here, beside = seen.spin.stock, place.plane, place.beside
    stock = sent or BUILTIN["metric"]

    def offer(mass_g: float, sku: str, length_mm: float, room_mm: float) -> _Offer:
        arc, room = (2 * math.degrees(half_arc_rad(mm, here.radius_mm)) for mm in (length_mm, room_mm))
        return _Offer(mass_g, sku if sent else None, arc, room)

    if place.style == "clip_on":
        like = next((c for c in stock.clip_ons if beside and c.sku == beside.sku), None)
        for c in stock.clip_ons:
            if fits_wheel(seen, c, here.position_mm) and (like is None or _fits_like(c, like)):
                yield offer(c.mass_g, c.sku, c.length_mm or 0.0, c.length_mm or ASSUMED_CLIP_MM)
        return
    for s in stock.strips:
        most = s.max_segments if s.on_hand is None else min(s.max_segments, s.on_hand)
        if fits_wheel(seen, s, here.position_mm):
            lengths = ((n, n * s.segment_length_mm) for n in range(1, most + 1))
            yield from (offer(n * s.segment_mass_g, s.sku, length, length) for n, length in lengths)


def _fits_like(clip: ClipOn, other: ClipOn) -> bool:
    """Whether a clip-on fits the flanges that another one fits."""
    return (clip.thickness_mm, clip.profiles, clip.for_materials, clip.for_vehicle_classes) == (
        other.thickness_mm,
        other.profiles,
        other.for_materials,
        other.for_vehicle_classes,
    )
