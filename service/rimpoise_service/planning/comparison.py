"""What each choice costs: an alternative beside the recommended layout."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from ..messages.message import Message, message
from .effort import LEAST_PROBABILITY
from .models import Layout

FELT_G = 0.05
"""Differences of mass below this are none [g]: they would read as 0.0."""

FELT_MIN = 0.05
"""Differences of effort below this are none [min]."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """An alternative less the recommended layout.

    effort_min [min]; largest_residual_g, total_mass_g [g]; pass_chance_pct in points; price None where either has
    none. said: the differences worth saying, a phrase each.
    """

    effort_min: float
    largest_residual_g: float
    pass_chance_pct: float
    pieces: int
    visible_pieces: int
    total_mass_g: float
    price: Decimal | None
    said: tuple[Message, ...]


def compare(layout: Layout, recommended: Layout) -> Comparison:
    """What an alternative gains and costs. Where nothing is recommended, the first one is compared with itself.

    The minutes of what passes not even once in a hundred times are no time that anybody waits: they aren't said.
    """
    priced = layout.price is not None and recommended.price is not None
    residual = layout.largest_residual_g - recommended.largest_residual_g
    chance = layout.pass_chance_pct - recommended.pass_chance_pct
    pieces = len(layout.pieces) - len(recommended.pieces)
    visible = layout.visible_pieces - recommended.visible_pieces
    mass = layout.total_mass_g - recommended.total_mass_g
    price = (layout.price or Decimal()) - (recommended.price or Decimal()) if priced else None
    effort = layout.effort_min - recommended.effort_min
    lasting = min(layout.probability, recommended.probability) >= LEAST_PROBABILITY
    said = [
        *(_minutes(effort) if lasting else ()),
        *_phrase("leaves", residual, FELT_G, "by_g"),
        *_chances(layout, recommended),
        *_phrase("pieces", pieces, 1),
        *_phrase("in_sight", visible, 1),
        *_phrase("weighs", mass, FELT_G, "by_g"),
        *_phrase("costs", float(price or 0), 0.005),
    ]
    same = message("comes_first" if layout is recommended else "no_difference")
    return Comparison(effort, residual, chance, pieces, visible, mass, price, tuple(said) or (same,))


def _minutes(difference: float) -> Iterator[Message]:
    """How much longer it takes, in whole minutes, or in seconds where it is less than one."""
    longer, size = difference > 0, abs(difference)
    if size >= 1:
        yield message("minutes_longer" if longer else "minutes_shorter", by_min=round(size))
    elif size >= FELT_MIN:
        yield message("seconds_longer" if longer else "seconds_shorter", by_s=max(round(size * 6), 1) * 10)


def _chances(layout: Layout, recommended: Layout) -> Iterator[Message]:
    """How often each passes, where whole times in a hundred differ."""
    times, instead = (min(max(round(x.pass_chance_pct), 1), 99) for x in (layout, recommended))
    if times != instead:
        yield message("passes_instead", passes=times, instead=instead)


def _phrase(what: str, difference: float, felt: float, name: str = "by") -> Iterator[Message]:
    if abs(difference) >= felt:
        yield message(f"{what}_{'more' if difference > 0 else 'less'}", **{name: abs(difference)})
