"""The plan in one sentence, by its decision."""

from __future__ import annotations

from ..messages.message import Message, message
from .fitting_steps import passes
from .models import Decision, Layout

WITHOUT_WEIGHTS = {
    Decision.REPAIR_FIRST: "headline_repair_first",
    Decision.ALREADY_WITHIN: "headline_already_within",
    Decision.FIND_CAUSE_FIRST: "headline_find_cause_first",
    Decision.NONE_POSSIBLE: "headline_none_possible",
}

HARDLY_EVER_PCT = 0.5
"""What passes less often [%] rounds to not even once in a hundred times."""


def headline(decision: Decision, best: Layout | None, *, couple_stays: bool = False) -> Message:
    """What to do, and with what chance.

    best: the first layout, if there is any; couple_stays: a couple was read that its one plane leaves, so that it
    passes a static check spin alone.
    """
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
    if best.within_acceptance:
        return message("headline_seldom_passes", count=count, **chance)
    if best.pass_chance_pct < HARDLY_EVER_PCT:
        return message("headline_hardly_passes", count=count, largest_residual_g=best.largest_residual_g)
    return message("headline_best_effort", count=count, largest_residual_g=best.largest_residual_g, **chance)
