"""The places on a wheel where a weight could go: where they are, what fits there, and why nothing does.

A flange takes clip-ons, a land takes adhesive strips. Measured positions and radii win over those derived
from the rim marking; what was derived is said.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

from ..mechanics.planes import Plane
from ..mechanics.rims import parse_marking
from .fits import flange_misfits, strip_misfits, wheel_misfits
from .layouts import Preferences, Style
from .remarks import Remark, remark
from .runs import ASSUMED_CLIP_MM, ClipOptions, Options, StripOptions, Touching, touching
from .stock import ClipOn, Stock, Strip
from .wheel import FLANGE_PLACE, SIDES, Land, Side, Wheel
from .windows import WHOLE_CIRCLE, Arc, subtract

Made = TypeVar("Made")

MOST_CLIP_ONS = 2
"""On one flange, however many pieces are allowed (common practice, no source)."""


class _Once(dict[int, Made]):
    """What is made of a number, made once."""

    def __init__(self, make: Callable[[int], Made]) -> None:
        super().__init__()
        self._make = make

    def __missing__(self, number: int) -> Made:
        self[number] = made = self._make(number)
        return made


@dataclass(frozen=True)
class Place:
    """A place, the stock that fits it and the arcs left free there.

    position_mm, radius_mm [mm]: the plane it corrects in. max_pieces: how many may go there. seen: whether
    a piece there can be seen from outboard; cover: the arcs behind which it can't. behind_spokes: only those
    arcs may be used.
    """

    name: str
    side: Side
    style: Style
    position_mm: float
    radius_mm: float
    items: tuple[ClipOn, ...] | tuple[Strip, ...]
    arcs: tuple[Arc, ...]
    max_pieces: int
    seen: bool
    cover: tuple[Arc, ...] = ()
    behind_spokes: bool = False

    @property
    def plane(self) -> Plane:
        """Its correction plane."""
        return Plane(self.name, self.position_mm, self.radius_mm)

    @property
    def hidden(self) -> bool:
        """Whether every piece here is out of sight."""
        return not self.seen or self.behind_spokes

    @property
    def label(self) -> str:
        """In words, as part of a layout's name."""
        return _label(self.style, self.name, behind_spokes=self.behind_spokes)

    def hides(self, centre_deg: float, width_deg: float) -> bool:
        """Whether a piece there, that wide [deg], can't be seen from outboard."""
        return not self.seen or any(c.contains(Arc.centred(centre_deg, width_deg)) for c in self.cover)

    @property
    def has_room(self) -> bool:
        """Whether the shortest weight finds a free arc that is long enough."""
        lengths = [
            (i.length_mm or ASSUMED_CLIP_MM) if isinstance(i, ClipOn) else i.segment_length_mm for i in self.items
        ]
        widest = math.radians(max((arc.width_deg for arc in self.arcs), default=0.0))
        return bool(self.arcs) and min(lengths) <= widest * self.radius_mm

    @cached_property
    def options(self) -> Mapping[int, list[Options]]:
        """The runs of up to so many weights: all clip-ons together, each strip for itself, for strips don't mix.

        Formed when first asked for: most jobs need one weight in a place, and never the runs of more.
        """
        return _Once(self._options)

    @cached_property
    def touching(self) -> Mapping[int, Touching]:
        """The runs of exactly so many weights, of all options."""
        return _Once(lambda pieces: touching(self.options[pieces], pieces))

    def _options(self, pieces: int) -> list[Options]:
        clips = [i for i in self.items if isinstance(i, ClipOn)]
        strips = [i for i in self.items if isinstance(i, Strip)]
        if clips:
            return [ClipOptions.on_flange(clips, self.radius_mm, self.arcs, pieces)]
        return [StripOptions.on_land(s, self.radius_mm, self.arcs, pieces) for s in strips]


@dataclass(frozen=True, slots=True)
class NoPlace:
    """A style at a place that can't be, and why."""

    name: str
    side: Side
    style: Style
    reasons: tuple[Remark, ...]
    behind_spokes: bool = False

    @property
    def label(self) -> str:
        """In words."""
        return _label(self.style, self.name, behind_spokes=self.behind_spokes)


def _label(style: Style, name: str, *, behind_spokes: bool) -> str:
    words = f"{'clip-on' if style == 'clip_on' else 'adhesive'} on {name.replace('_', ' ')}"
    return f"{words} behind the spokes" if behind_spokes else words


@dataclass(frozen=True, slots=True)
class Survey:
    """All places of a wheel for some stock: those that can be used, those that can't, what was derived."""

    places: tuple[Place, ...]
    ruled_out: tuple[NoPlace, ...]
    derived: tuple[Remark, ...]


def survey(wheel: Wheel, stock: Stock, preferences: Preferences) -> Survey:
    """Look at both flanges and every land; inboard first, flanges before lands."""
    found: list[Place | NoPlace] = []
    derived: list[Remark] = []
    clips = [clip for clip in stock.clip_ons if not wheel_misfits(clip, wheel)]
    for side in SIDES:
        where = flange_geometry(wheel, side)
        flange = _flange_place(wheel, side, where, clips, stock, preferences)
        derived += where.derived if isinstance(flange, Place) else ()
        found.append(flange)
        for land in wheel.lands:
            if land.side == side:
                found += _land_places(wheel, land, stock.strips, preferences)
    return Survey(
        places=tuple(p for p in found if isinstance(p, Place)),
        ruled_out=tuple(p for p in found if isinstance(p, NoPlace)),
        derived=tuple(derived),
    )


@dataclass(frozen=True, slots=True)
class FlangeGeometry:
    """Where a flange is [mm], None for what is neither measured nor marked, and what was derived."""

    position_mm: float | None
    radius_mm: float | None
    derived: tuple[Remark, ...] = ()


def flange_geometry(wheel: Wheel, side: Side) -> FlangeGeometry:
    """Position and radius of a flange: measured, or derived from the marking.

    Derived, the datum is the mounting face, and a clip-on's mass centre is taken at the specified rim
    radius: it hangs from the flange's edge down to about the bead seat (common practice, no source).
    """
    flange = wheel.flange(side)
    position, radius = (flange.position_mm, flange.radius_mm) if flange else (None, None)
    if wheel.rim_size is None:
        return FlangeGeometry(position, radius)
    rim, derived = parse_marking(wheel.rim_size), []
    offset = rim.offset_mm if wheel.offset_mm is None else wheel.offset_mm
    if position is None and offset is not None:
        position = rim.flange_positions_mm(offset)[SIDES.index(side)]
        derived.append(remark("flange_position_derived", side=side, position_mm=position, rim=wheel.rim_size))
    if radius is None:
        radius = rim.radius_mm
        derived.append(remark("flange_radius_derived", side=side, radius_mm=radius, rim=wheel.rim_size))
    return FlangeGeometry(position, radius, tuple(derived))


def _flange_place(
    wheel: Wheel,
    side: Side,
    where: FlangeGeometry,
    clips: Sequence[ClipOn],
    stock: Stock,
    preferences: Preferences,
) -> Place | NoPlace:
    """A flange; clips: those of the stock that may fit the wheel at all."""
    name, flange = FLANGE_PLACE[side], wheel.flange(side)

    def no(*reasons: Remark) -> NoPlace:
        return NoPlace(name, side, "clip_on", reasons)

    if "clip_on" not in preferences.styles:
        return no(remark("style_not_wanted", style="clip-on weights"))
    if flange is None:
        return no(remark("flange_unknown", side=side))
    if not flange.present:
        return no(remark("flange_absent", side=side))
    if flange.max_height_mm == 0:
        return no(remark("nothing_clears", place=name))
    fitting = tuple(clip for clip in clips if not flange_misfits(clip, flange))
    if not fitting:
        misfits = [wheel_misfits(c, wheel) + flange_misfits(c, flange) for c in stock.clip_ons]
        return no(*_nearest_misses(misfits, remark("no_clip_ons")))
    if where.position_mm is None or where.radius_mm is None:
        return no(remark("flange_place_unknown", side=side))
    arcs = subtract(WHOLE_CIRCLE, (k.arc for k in wheel.keep_out if k.place == name))
    seen = side == "outboard"
    most = min(preferences.max_pieces_per_plane, MOST_CLIP_ONS)
    place = Place(name, side, "clip_on", where.position_mm, where.radius_mm, fitting, arcs, most, seen)
    return place if place.has_room else no(remark("nowhere_free", place=name))


def _land_places(
    wheel: Wheel, land: Land, strips: Sequence[Strip], preferences: Preferences
) -> list[Place | NoPlace]:
    """A land as one place; as two where it can be seen between spokes: anywhere, and behind the spokes only."""

    def no(*reasons: Remark, behind_spokes: bool = False) -> NoPlace:
        return NoPlace(land.name, land.side, "adhesive", reasons, behind_spokes)

    if "adhesive" not in preferences.styles:
        return [no(remark("style_not_wanted", style="adhesive weights"))]
    if land.max_height_mm == 0:
        return [no(remark("nothing_clears", place=land.name))]
    fitting = tuple(strip for strip in strips if not strip_misfits(strip, land))
    if not fitting:
        return [no(*_nearest_misses([strip_misfits(s, land) for s in strips], remark("no_strips")))]
    off = [k.arc for k in wheel.keep_out if k.place == land.name]
    cover = wheel.spokes if land.behind_spokes else ()
    anywhere = Place(
        name=land.name,
        side=land.side,
        style="adhesive",
        position_mm=land.position_mm,
        radius_mm=land.radius_mm,
        items=fitting,
        arcs=subtract(WHOLE_CIRCLE, off),
        max_pieces=preferences.max_pieces_per_plane,
        seen=land.visible,
        cover=cover,
    )
    places = [anywhere]
    if land.visible and cover:
        behind = tuple(free for spoke in cover for free in subtract(spoke, off))
        places.append(replace(anywhere, arcs=behind, behind_spokes=True))
    full = remark("nowhere_free", place=land.name)
    return [p if p.has_room else no(full, behind_spokes=p.behind_spokes) for p in places]


def _nearest_misses(misfits: Sequence[Sequence[Remark]], otherwise: Remark) -> list[Remark]:
    """The reasons of the weights that fail by the fewest, each once; the other one if there are no weights."""
    fewest = min(map(len, misfits), default=0)
    once: list[Remark] = []
    for reasons in misfits:
        once += [r for r in reasons if len(reasons) == fewest and r not in once]
    return once or [otherwise]
