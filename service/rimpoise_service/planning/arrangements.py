"""Which styles of weight can correct a wheel together, and what to do next where nobody can say yet.

The rules (common practice, no source):
1. Flanges on both sides and no objection: clip-on on both. The most common way, so it comes first.
2. No flange, or no clip-ons wanted: adhesive on an inner and an outer land.
3. Something too close on one side: the style that clears on that side, so the sides may differ.
4. Out of sight: clip-on on the inboard flange with adhesive inside the barrel, adhesive on both, behind the
   spokes; only inside the barrel hides most.
5. A flange nobody has measured is a next step, not a guess.
6. One plane only: a static correction; on two flanges, or on a land of either side, it may be split in halves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from ..messages.message import Message, message
from ..model.stock import Stock
from ..model.wheel import FLANGE_PLACE, SIDES, Side, Wheel
from ..physics.planes import PlaneVector, correct
from ..physics.unbalance import Unbalance
from .compatibility import UNKNOWN
from .layout_name import LayoutName, Named
from .models import Preferences, RuledOut, Style
from .places import AvailablePlaces, Place, find_places

MIN_SPACING_MM = 20.0
"""Places nearer to each other than this along the axis don't make a couple [mm]; common practice, no source."""


NEXT_STEP = {
    "flange_unknown": "look_at_flange",
    "flange_unmeasured": "gauge_flange",
    "flange_place_unknown": "locate_flange",
    "height_unknown": "measure_clip_height",
    "flange_damaged": "have_flange_checked",
    "not_coated": "get_coated_clips",
    "no_strip_on_finish": "look_for_other_places",
}
"""Reasons that more knowledge could lift, and the step that gets it."""

OF_A_FLANGE = frozenset(NEXT_STEP.values()) - {"look_for_other_places"} | {
    "ask_guide_then_gauge",
    "clean_corroded_flange",
}
"""Steps at a flange, which are the same at the other one."""

STOCK_MISFITS = frozenset(
    [
        "no_clip_ons",
        "no_strips",
        "out_of_stock",
        "thickness_misfit",
        "profile_misfit",
        "too_wide",
        "too_high",
        "not_for_material",
        "not_for_vehicle_class",
        "not_for_wire_spokes",
    ]
)
"""Reasons that other weights could lift: said where nothing helps."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """One or two places that correct a wheel: in two planes, in one, or half the static sum on each."""

    places: tuple[Place, ...]
    way: Literal["two_planes", "one_plane", "halves"]

    @property
    def named(self) -> LayoutName:
        """What it is called."""
        return LayoutName(self.way, tuple(p.style_at for p in self.places))

    @property
    def used(self) -> list[tuple[str, bool]]:
        """Its places by name, and whether every weight there is out of sight."""
        return [(p.name, p.hidden) for p in self.places]

    def required(self, unbalance: Unbalance) -> tuple[PlaneVector, ...]:
        """The exact weights at its planes."""
        planes = [p.plane for p in self.places]
        if self.way == "halves":
            return tuple(PlaneVector(p, -unbalance.static / 2) for p in planes)
        return correct(unbalance, planes)


@dataclass(frozen=True, slots=True)
class PlaceChoice:
    """A style at a place [mm] and the stock that fits there; behind_spokes: only behind the spokes."""

    place: str
    side: Side
    style: Style
    position_mm: float
    radius_mm: float
    skus: tuple[str, ...]
    behind_spokes: bool
    hidden: bool


@dataclass(frozen=True, slots=True)
class Choice(Named):
    """One or two places that can correct the wheel; notes: wishes it can't meet."""

    named: LayoutName
    places: tuple[PlaceChoice, ...]
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class StyleChoices:
    """Ranked choices, what is ruled out and why, next steps, and what was derived."""

    choices: tuple[Choice, ...]
    ruled_out: tuple[RuledOut, ...]
    next_steps: tuple[Message, ...]
    derived: tuple[Message, ...]


def arrangements(places: Sequence[Place], *, static: bool) -> tuple[list[Arrangement], list[RuledOut]]:
    """All that can be made of the places, in the order of the rules; and pairs that lie too close together.

    Two planes are one place inboard and one outboard, or two lands; static: one plane, or halves on both flanges
    or on a land of either side.
    """
    singles = [Arrangement((p,), "one_plane") for p in places]
    if static:
        alike = [(a, b) for a, b in combinations(places, 2) if a.style == b.style and a.side != b.side]
        return singles + [Arrangement(pair, "halves") for pair in alike if pair[0].name != pair[1].name], []
    pairs, too_close = [], []
    for a, b in combinations(places, 2):
        if a.name == b.name or (a.side == b.side and "clip_on" in (a.style, b.style)):
            continue
        pair = Arrangement((a, b), "two_planes")
        if abs(a.position_mm - b.position_mm) >= MIN_SPACING_MM:
            pairs.append(pair)
        else:
            too_close.append(RuledOut(pair.named, (message("too_close_for_couple", min_mm=MIN_SPACING_MM),)))
    return pairs + singles, too_close


def choose_styles(wheel: Wheel, stock: Stock, preferences: Preferences) -> StyleChoices:
    """Every admissible layout of styles, those that meet the wishes first.

    One plane alone is offered only where a static correction was asked for or no two planes are to be had.
    """
    seen = find_places(wheel, stock, preferences)
    possible, too_close = arrangements(seen.places, static=preferences.correction == "static")
    if any(a.way == "two_planes" for a in possible):
        possible = [a for a in possible if a.way == "two_planes"]
    choices = [_choice(a, preferences) for a in possible]
    return StyleChoices(
        choices=tuple(sorted(choices, key=lambda c: len(c.notes))),
        ruled_out=(*(n.ruled_out for n in seen.ruled_out), *too_close),
        next_steps=next_steps(wheel, seen, preferences),
        derived=seen.derived,
    )


def _choice(arrangement: Arrangement, preferences: Preferences) -> Choice:
    unmet = unmet_wishes(preferences, arrangement.used)
    return Choice(arrangement.named, tuple(map(_place_choice, arrangement.places)), unmet)


def _place_choice(place: Place) -> PlaceChoice:
    return PlaceChoice(
        place=place.name,
        side=place.side,
        style=place.style,
        position_mm=place.position_mm,
        radius_mm=place.radius_mm,
        skus=tuple(i.sku for i in place.items),
        behind_spokes=place.behind_spokes,
        hidden=place.hidden,
    )


def unmet_wishes(preferences: Preferences, used: Sequence[tuple[str, bool]]) -> tuple[Message, ...]:
    """What a wish on appearance says against places in use: their names, and whether weights are hidden there."""
    match preferences.appearance:
        case "clean_face" if FLANGE_PLACE["outboard"] in [name for name, _ in used]:
            return (message("face_not_clean"),)
        case "out_of_sight":
            return tuple(
                message("can_be_seen", place=n) for n in dict.fromkeys(n for n, hidden in used if not hidden)
            )
    return ()


def next_steps(
    wheel: Wheel, seen: AvailablePlaces, preferences: Preferences, *, none_helps: bool = False
) -> tuple[Message, ...]:
    """What to find out so that a place that can't be used now perhaps can; none_helps: of those that can be."""
    factory_alloy = (wheel.material, wheel.origin) == ("alloy", "factory")
    steps = [
        message("ask_guide_then_gauge" if factory_alloy and step == "gauge_flange" else step, side=place.side)
        for place in seen.ruled_out
        for reason in place.reasons
        if (step := NEXT_STEP.get(reason.code)) and not (place.known_to_misfit and reason.code in UNKNOWN)
    ]
    steps += [
        message("clean_corroded_flange", side=side)
        for side in SIDES
        if (flange := wheel.flange(side)) and flange.present and flange.flange_condition == "corroded"
    ]
    steps = list(_of_both_sides(steps))
    if none_helps:
        misfit = [p.name for p in seen.ruled_out if STOCK_MISFITS & {reason.code for reason in p.reasons}]
        steps += [message("get_fitting_weights", places=tuple(dict.fromkeys(misfit)))] if misfit else []
    as_wished = {p.side for p in seen.places if not unmet_wishes(preferences, [(p.name, p.hidden)])}
    strips = "adhesive" in preferences.styles and not wheel.wire_spokes
    look = strips and not wheel.lands and (none_helps or len(as_wished) < len(SIDES))
    return (*steps, *([message("look_for_lands")] if look else []))


def _of_both_sides(steps: Sequence[Message]) -> Iterator[Message]:
    """Steps that are the same for either flange as one."""
    seen = set[str]()
    for step in steps:
        both = sum(other.code == step.code for other in steps) == len(SIDES) and step.code in OF_A_FLANGE
        if step.code not in seen:
            yield message(step.code, flanges=len(SIDES)) if both else step
        if both:
            seen.add(step.code)
