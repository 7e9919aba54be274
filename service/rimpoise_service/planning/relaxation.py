"""One thing relaxed at a time: what a request would be with finer stock, another piece, or more room."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from ..model.stock import ClipOn, Stock, Strip
from .models import PlanRequest

FINER = 5
"""Steps between two stock masses, and parts of a segment."""

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


def _finer(stock: Stock) -> Stock:
    """With masses between those of each family of clip-ons, and segments in parts; no shelf runs out."""
    families: dict[ClipOn, list[ClipOn]] = defaultdict(list)
    for clip in stock.clip_ons:
        same = replace(
            clip, sku="", label=None, mass_g=0.0, length_mm=None, on_hand=None, unit_price=None, location=None
        )
        families[same].append(clip)
    clips = [fine for family in families.values() for fine in _between(sorted(family, key=lambda c: c.mass_g))]
    return Stock(tuple(clips), tuple(_parted(strip) for strip in stock.strips))


def _between(family: Sequence[ClipOn]) -> list[ClipOn]:
    first = family[0]
    below = replace(first, mass_g=0.0, length_mm=None if first.length_mm is None else 0.0)
    found = []
    for light, heavy in pairwise([below, *family]):
        for step in range(1, FINER + 1):
            share = step / FINER
            length = None
            if light.length_mm is not None and heavy.length_mm is not None:
                length = light.length_mm + share * (heavy.length_mm - light.length_mm)
            mass = light.mass_g + share * (heavy.mass_g - light.mass_g)
            found.append(replace(heavy, sku=f"{heavy.sku} {step}", mass_g=mass, length_mm=length, on_hand=None))
    return found


def _parted(strip: Strip) -> Strip:
    return replace(
        strip,
        segment_mass_g=strip.segment_mass_g / FINER,
        segment_length_mm=strip.segment_length_mm / FINER,
        max_segments=strip.max_segments * FINER,
        on_hand=None,
    )
