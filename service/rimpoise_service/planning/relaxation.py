"""One thing relaxed at a time: what a request would be with finer stock, another piece, or more room."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import replace
from itertools import pairwise

from ..model.stock import BUILTIN, ClipOn, Stock, Strip
from ..model.wheel import Wheel
from .compatibility import wheel_misfits
from .models import PlanRequest

FINER = 5
"""Steps between two stock masses, and parts of a segment."""

USUAL_SEGMENTS = 12
"""In a strip as it is sold; common practice, no source."""

MOST_PIECES = 4


def relaxations(request: PlanRequest) -> dict[str, PlanRequest]:
    """The request with each thing relaxed that can be, by the reason that it would be."""
    found = {"stock_too_coarse": replace(request, stock=_finer(request.stock))}
    wishes = request.preferences
    if wishes.max_pieces_per_plane < MOST_PIECES:
        more = replace(wishes, max_pieces_per_plane=wishes.max_pieces_per_plane + 1)
        found["too_few_pieces"] = replace(request, preferences=more)
    if request.wheel.keep_out or request.wheel.spokes:
        found["no_room"] = replace(request, wheel=replace(request.wheel, keep_out=(), spokes=()))
    return found


def heaviest_g(wheel: Wheel) -> float:
    """The heaviest clip-on that is made for such a wheel [g], as far as the generic stock goes.

    >>> heaviest_g(Wheel("steel", "factory", "car")), heaviest_g(Wheel("steel", "factory", "bus"))
    (60.0, 400.0)
    """
    return max((c.mass_g for c in BUILTIN["metric"].clip_ons if not wheel_misfits(c, wheel)), default=0.0)


def with_masses(stock: Stock, masses_g: Collection[float], most_g: float = 0.0) -> Stock:
    """With clip-ons of exactly these masses [g], and segments in parts.

    None is heavier than its family has, or strip longer; unless up to ``most_g`` [g], and strips as usual, are
    made too. Few masses are searched thoroughly where the many of a finer stock are not.
    """
    clips = [
        _at_share(light, heavy, (mass - light.mass_g) / (heavy.mass_g - light.mass_g), str(mass))
        for family in _families(stock)
        for light, heavy in family
        for mass in masses_g
        if light.mass_g < mass <= (max(heavy.mass_g, most_g) if heavy is family[-1][1] else heavy.mass_g)
    ]
    return Stock(tuple(clips), tuple(_parted(strip, USUAL_SEGMENTS if most_g else 0) for strip in stock.strips))


def _finer(stock: Stock) -> Stock:
    """With masses between those of each family of clip-ons, and segments in parts; no shelf runs out."""
    clips = [
        _at_share(light, heavy, step / FINER, str(step))
        for family in _families(stock)
        for light, heavy in family
        for step in range(1, FINER + 1)
    ]
    return Stock(tuple(clips), tuple(_parted(strip) for strip in stock.strips))


def _families(stock: Stock) -> Iterator[list[tuple[ClipOn, ClipOn]]]:
    """The steps of each family of clip-ons that differ by mass alone, from nothing on."""
    families: dict[ClipOn, dict[float, ClipOn]] = defaultdict(dict)
    for clip in stock.clip_ons:
        same = replace(
            clip, sku="", label=None, mass_g=0.0, length_mm=None, on_hand=None, unit_price=None, location=None
        )
        families[same].setdefault(clip.mass_g, clip)
    for by_mass in families.values():
        family = [by_mass[mass] for mass in sorted(by_mass)]
        below = replace(family[0], mass_g=0.0, length_mm=None if family[0].length_mm is None else 0.0)
        yield list(pairwise([below, *family]))


def _at_share(light: ClipOn, heavy: ClipOn, share: float, name: str) -> ClipOn:
    """A clip-on between two of a family, as long as it would be."""
    length = None
    if light.length_mm is not None and heavy.length_mm is not None:
        length = light.length_mm + share * (heavy.length_mm - light.length_mm)
    mass = light.mass_g + share * (heavy.mass_g - light.mass_g)
    return replace(heavy, sku=f"{heavy.sku} {name}", mass_g=mass, length_mm=length, on_hand=None)


def _parted(strip: Strip, least: int = 0) -> Strip:
    return replace(
        strip,
        segment_mass_g=strip.segment_mass_g / FINER,
        segment_length_mm=strip.segment_length_mm / FINER,
        max_segments=max(strip.max_segments, least) * FINER,
        on_hand=None,
    )
