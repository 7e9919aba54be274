"""The places on a wheel where a weight could go: where they are, what fits there, and why nothing does.

A flange takes clip-ons, a land takes adhesive strips. Measured positions and radii win over those derived
from the rim marking; what was derived is reported.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from ..messages.message import Message, message
from ..model.arcs import WHOLE_CIRCLE, Arc, merged, subtract
from ..model.geometry import flange_geometry, flange_planes
from ..model.stock import ClipOn, Stock, Strip
from ..model.wheel import FLANGE_PLACE, SIDES, VALVE_HALF_MM, VALVE_REACH_MM, Flange, Land, Side, Wheel
from ..physics.planes import Plane
from .acceptance import mean_position_mm
from .compatibility import UNKNOWN, flange_misfits, flange_obstacles, land_obstacles, strip_misfits, wheel_misfits
from .layout_name import LayoutName, StyleAt
from .models import Preferences, RuledOut, Style
from .placements import Circle

MOST_CLIP_ONS = 2
"""On one flange, however many pieces are allowed (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place: the circle that weights would sit on, with the stock that fits it and the arcs left free there.

    position_mm [mm] of its plane. seen: whether a piece there can be seen from outboard; cover: the arcs behind
    which it can't, no two of which touch. behind_spokes: only those arcs may be used.
    """

    name: str
    side: Side
    style: Style
    position_mm: float
    circle: Circle
    seen: bool
    cover: tuple[Arc, ...] = ()
    behind_spokes: bool = False

    @property
    def radius_mm(self) -> float:
        """Of its circle [mm]."""
        return self.circle.radius_mm

    @property
    def items(self) -> tuple[ClipOn, ...] | tuple[Strip, ...]:
        """The stock that fits."""
        return self.circle.items

    @property
    def max_pieces(self) -> int:
        """How many may go there."""
        return self.circle.max_pieces

    @property
    def for_one_piece(self) -> Place:
        """The same place, where one piece may go."""
        return replace(self, circle=replace(self.circle, max_pieces=1))

    @property
    def plane(self) -> Plane:
        """Its correction plane."""
        return Plane(self.name, self.position_mm, self.radius_mm)

    @property
    def hidden(self) -> bool:
        """Whether every piece here is out of sight."""
        return not self.seen or self.behind_spokes

    @property
    def style_at(self) -> StyleAt:
        """Its part of a layout's name."""
        on_spokes = any(isinstance(item, ClipOn) and item.wire_spokes for item in self.items)
        return StyleAt(self.style, self.name, self.behind_spokes, "spoke_weight" if on_spokes else None)

    def hides(self, centre_deg: float, width_deg: float) -> bool:
        """Whether a piece there, that wide [deg], can't be seen from outboard."""
        return not self.seen or any(c.contains(Arc.centred(centre_deg, width_deg)) for c in self.cover)


@dataclass(frozen=True, slots=True)
class NoPlace:
    """A style at a place that can't be, and why.

    known_to_misfit: every weight in stock has a reason against it that nothing more to be known could lift.
    """

    name: str
    side: Side
    style: Style
    reasons: tuple[Message, ...]
    behind_spokes: bool = False
    known_to_misfit: bool = False

    @property
    def ruled_out(self) -> RuledOut:
        """The same as an answer has it."""
        return RuledOut(LayoutName("place", (StyleAt(self.style, self.name, self.behind_spokes),)), self.reasons)


@dataclass(frozen=True, slots=True)
class AvailablePlaces:
    """All places of a wheel for some stock: those that can be used, those that can't, what was derived.

    warnings: what was asked for and can't apply.
    """

    places: tuple[Place, ...]
    ruled_out: tuple[NoPlace, ...]
    derived: tuple[Message, ...]
    warnings: tuple[Message, ...] = ()


def find_places(wheel: Wheel, stock: Stock, preferences: Preferences) -> AvailablePlaces:
    """Look at both flanges and every land; inboard first, flanges before lands."""
    collector = _Collector(wheel, stock, preferences)
    found = [place for side in SIDES for place in (collector.flange(side), *collector.lands(side))]
    return AvailablePlaces(
        places=tuple(p for p in found if isinstance(p, Place)),
        ruled_out=tuple(p for p in found if isinstance(p, NoPlace)),
        derived=tuple(collector.derived),
        warnings=tuple(_not_so_many(preferences, found)),
    )


def _not_so_many(preferences: Preferences, found: Sequence[Place | NoPlace]) -> Iterator[Message]:
    """More pieces a plane than a flange takes were asked for."""
    asked = preferences.max_pieces_per_plane
    if any(isinstance(p, Place) and p.style == "clip_on" and p.max_pieces < asked for p in found):
        yield message("two_clip_ons_at_most", asked=asked, most=MOST_CLIP_ONS)


class _Collector:
    """Looks at a wheel with some stock in hand."""

    def __init__(self, wheel: Wheel, stock: Stock, preferences: Preferences) -> None:
        self.wheel, self.stock, self.preferences = wheel, stock, preferences
        self.derived: list[Message] = []
        self._clips = [clip for clip in stock.clip_ons if not wheel_misfits(clip, wheel)]
        self._flange_circle: Circle | None = None

    def flange(self, side: Side) -> Place | NoPlace:
        """The flange of a side as a place, or why it is none."""
        name, where = FLANGE_PLACE[side], flange_geometry(self.wheel, side)
        flange = self.wheel.flange(side) or (Flange(True) if self.wheel.wire_spokes else None)

        def no(*reasons: Message) -> NoPlace:
            return NoPlace(name, side, "clip_on", reasons)

        if "clip_on" not in self.preferences.styles:
            return no(message("style_not_wanted", style="clip_on"))
        if flange is None:
            return no(message("flange_unknown", side=side))
        if obstacles := flange_obstacles(flange, side, self.wheel):
            return no(*obstacles)
        if flange.room_mm == 0:
            return no(message("nothing_clears", place=name))
        fitting = tuple(clip for clip in self._clips if not flange_misfits(clip, flange))
        if not fitting:
            # Those for other wheels are no reason if some are for this one.
            nearest = self._clips or self.stock.clip_ons
            misfits = [wheel_misfits(c, self.wheel) + flange_misfits(c, flange) for c in nearest]
            known = all(any(r.code not in UNKNOWN for r in reasons) for reasons in misfits)
            return replace(no(*_nearest_misses(misfits, message("no_clip_ons"))), known_to_misfit=known)
        if where.position_mm is None or where.radius_mm is None:
            return no(message("flange_place_unknown", side=side))
        most = min(self.preferences.max_pieces_per_plane, MOST_CLIP_ONS)
        circle = Circle(where.radius_mm, subtract(WHOLE_CIRCLE, kept_off(self.wheel, name)), fitting, most)
        if not circle.has_room:
            return no(message("nowhere_free", place=name))
        if circle == self._flange_circle:  # flanges are mostly alike: what can be made there is made once
            circle = self._flange_circle
        self._flange_circle = circle
        self.derived += where.derived
        return Place(name, side, "clip_on", where.position_mm, circle, seen=side == "outboard")

    def lands(self, side: Side) -> Iterator[Place | NoPlace]:
        """The lands of a side."""
        for land in self.wheel.lands:
            if land.side == side:
                yield from self._land(land)

    def _land(self, land: Land) -> Iterator[Place | NoPlace]:
        """A land as a place; as two where it can be seen between spokes: anywhere, and behind the spokes only."""

        def no(*reasons: Message, behind_spokes: bool = False) -> NoPlace:
            return NoPlace(land.name, land.side, "adhesive", reasons, behind_spokes)

        full = message("nowhere_free", place=land.name)
        fitting = tuple(strip for strip in self.stock.strips if not strip_misfits(strip, land))
        if "adhesive" not in self.preferences.styles:
            yield no(message("style_not_wanted", style="adhesive"))
        elif obstacles := land_obstacles(land, self.wheel):
            yield no(*obstacles)
        elif land.room_mm == 0:
            yield no(message("nothing_clears", place=land.name))
        elif not fitting:
            misfits = [strip_misfits(s, land) for s in self.stock.strips]
            yield no(*_nearest_misses(misfits, message("no_strips")))
        else:
            off = kept_off(self.wheel, land)
            cover = merged(self.wheel.spokes) if land.behind_spokes else ()
            for behind in _behind_spokes(land, cover):
                arcs = tuple(arc for c in (cover if behind else [WHOLE_CIRCLE]) for arc in subtract(c, off))
                circle = Circle(land.radius_mm, arcs, fitting, self.preferences.max_pieces_per_plane)
                at = land.position_mm
                place = Place(land.name, land.side, "adhesive", at, circle, land.visible, cover, behind)
                yield place if circle.has_room else no(full, behind_spokes=behind)


def kept_off(wheel: Wheel, place: str | Land) -> list[Arc]:
    """The arcs of a flange, by its name, or of a land that no piece may touch: keep-outs, and the valve's stem."""
    name, stem = (place.name, _stem(wheel, place)) if isinstance(place, Land) else (place, iter(()))
    return [*(k.arc for k in wheel.keep_out if k.place == name), *stem]


def _stem(wheel: Wheel, land: Land) -> Iterator[Arc]:
    """The arc of a land that the valve's stem takes, if it comes there."""
    valve = wheel.valve
    if valve is not None and (_near_outboard(wheel, land) or _in_the_middle(wheel, land)):
        yield Arc.centred(valve.angle_deg, 2 * math.degrees(VALVE_HALF_MM / land.radius_mm))


def _near_outboard(wheel: Wheel, land: Land) -> bool:
    """Where a stem comes out."""
    outer = flange_geometry(wheel, "outboard").position_mm
    return land.side == "outboard" if outer is None else abs(outer - land.position_mm) < VALVE_REACH_MM


def _in_the_middle(wheel: Wheel, land: Land) -> bool:
    """Where a motorcycle's stem comes out."""
    flanges, _ = flange_planes(wheel)
    if wheel.vehicle_class != "motorcycle" or not flanges:
        return False
    off = abs(land.position_mm - mean_position_mm(flanges))
    return off < land.width_mm / 2 + VALVE_HALF_MM


def _behind_spokes(land: Land, cover: Sequence[Arc]) -> list[bool]:
    """Of each place that a land is, whether it is behind the spokes only; cover: what they make, merged."""
    if not (land.visible and cover):
        return [False]
    return [True] if cover[0].endless else [False, True]  # spokes that touch all round cover every place


def _nearest_misses(misfits: Sequence[Sequence[Message]], otherwise: Message) -> list[Message]:
    """The reasons of the weights that fail by the fewest, each once; the other one if there are no weights."""
    fewest = min(map(len, misfits), default=0)
    once: list[Message] = []
    for reasons in misfits:
        once += [r for r in reasons if len(reasons) == fewest and r not in once]
    return once or [otherwise]


PlaceFinder = Callable[[Wheel, Stock, Preferences], AvailablePlaces]

KEPT = 16
"""Results kept; that of a large shelf holds megabytes of blocks."""


class PlaceCache:
    """Finds the places of a wheel and a shelf once, as long as the very same objects come again.

    By identity, because comparing a large shelf costs as much as it saves; so each result keeps its objects alive.
    """

    def __init__(self) -> None:
        self._made: OrderedDict[tuple[int, int, Preferences], tuple[AvailablePlaces, Wheel, Stock]] = OrderedDict()

    def __call__(self, wheel: Wheel, stock: Stock, preferences: Preferences) -> AvailablePlaces:
        """The places, found now or earlier."""
        key = (id(wheel), id(stock), preferences)
        if key not in self._made:
            self._made[key] = (find_places(wheel, stock, preferences), wheel, stock)
            if len(self._made) > KEPT:
                self._made.popitem(last=False)
        self._made.move_to_end(key)
        return self._made[key][0]
