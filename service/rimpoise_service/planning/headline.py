"""The plan in one sentence, by its decision."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from ..messages.message import Message, message
from ..model.stock import Stock
from .effort import PASSES
from .fitting_steps import HARDLY_EVER_PCT, passes
from .models import Decision, Layout, RuledOut

WITHOUT_WEIGHTS = {
    Decision.REPAIR_FIRST: "headline_repair_first",
    Decision.ALREADY_WITHIN: "headline_already_within",
    Decision.FIND_CAUSE_FIRST: "headline_find_cause_first",
}

NothingFound = Literal[
    "headline_none_possible",
    "headline_none_at_known_places",
    "headline_none_found",
    "headline_no_place",
    "headline_places_unknown",
]
"""Where none is possible: that is proven; proven of the places known so far; not proven, for the search was cut
short; no known place takes a weight; no place is known yet."""

FLANGE_STEPS = frozenset(
    ["look_at_flange", "ask_guide_then_gauge", "gauge_flange", "locate_flange", "measure_clip_height"]
)
"""What to find out so that a clip-on perhaps can go on a flange."""


def headline(
    decision: Decision,
    best: Layout | None,
    *,
    couple_stays: bool = False,
    nothing: NothingFound = "headline_none_found",
    off: bool = False,
    static_told: bool = False,
) -> Message:
    """What to do, and with what chance.

    best: the first layout, if there is any; couple_stays: its one plane leaves a couple, so that it passes
    a static check spin alone; nothing: what is known where none is possible; off: old weights come off first;
    static_told: it is judged in two planes, and its chance is that of a static check spin.
    """
    if decision is Decision.NONE_POSSIBLE:
        return message(nothing)
    if off and decision is Decision.ALREADY_WITHIN:
        return message("headline_within_without_old")
    if best is None or decision in WITHOUT_WEIGHTS:
        return message(WITHOUT_WEIGHTS[decision])
    count, chance = len(best.pieces), passes(best.pass_chance_pct)
    if decision is Decision.FIT:
        return message(
            "headline_fit_static" if couple_stays else "headline_fit",
            count=count,
            mass_g=best.total_mass_g,
            **chance,
        )
    static = "_static" if static_told and best.pass_chance_pct >= 100 * PASSES else ""
    if best.within_acceptance:
        return message(f"headline_seldom_passes{static}", count=count, **chance)
    if best.pass_chance_pct < HARDLY_EVER_PCT:
        return message("headline_hardly_passes", count=count, largest_residual_g=best.largest_residual_g)
    return message(
        f"headline_best_effort{static}", count=count, largest_residual_g=best.largest_residual_g, **chance
    )


def nothing_found(stock: Stock, ruled_out: Sequence[RuledOut], next_steps: Sequence[Message]) -> NothingFound:
    """How much is known where no layout was found.

    What was searched is ruled out under a layout's name, what takes no weight of the stock under a place's. A next
    step counts that finds out of a place for weights that are in stock.
    """
    steps = {step.code for step in next_steps}
    unknown = (stock.clip_ons and steps & FLANGE_STEPS) or (stock.strips and "look_for_lands" in steps)
    if all(out.named.way == "place" for out in ruled_out):
        return "headline_places_unknown" if unknown else "headline_no_place"
    if any(reason.code == "search_cut_short" for out in ruled_out for reason in out.reasons):
        return "headline_none_found"
    return "headline_none_at_known_places" if unknown else "headline_none_possible"
