"""What is to be done: fit, look for a cause first, or nothing; and the plan in one sentence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from ..messages.message import Message, message
from ..model.stock import Stock
from ..physics.readings import reading_planes
from .context import PlanContext
from .correction import couple_warning, gain_warning
from .effort import PASSES
from .fitting_steps import HARDLY_EVER_PCT, passes
from .models import CauseFirst, Decision, Layout, RuledOut

CAUSE_STEPS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "look_at_dialled": ("/v1/plans", ("reading",)),
    "look_inside": ("/v1/centring-checks", ("repeats",)),
    "clamp_half_a_turn_on": ("/v1/centring-checks", ("readings",)),
    "look_at_tyre": ("/v1/plans", ("reading",)),
    "measure_run_out": ("/v1/run-outs", ("traces",)),
    "try_tyre_turn": ("/v1/tyre-turns", ("readings", "turn_deg")),
    "try_another_tyre": ("/v1/run-outs", ("traces", "force_first_harmonic")),
}
"""Where to look before so much weight is fitted: what takes least time and is likeliest first (common practice, no
source). With each the operation that judges what it shows, and what to send to it: a look, a new reading."""

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


def already_within(context: PlanContext) -> bool:
    """Whether the reading is within the limits."""
    return context.read.accepts(context.read.limit_ratio(context.unbalance))


def needs_cause(context: PlanContext) -> bool:
    """Whether what is called, at the flanges, is over the mark: the one that was sent, else the class's."""
    of_class = CauseFirst(context.marks.cause_plane_g, context.marks.cause_total_g)
    mark = context.request.preferences.cause_first_g or of_class
    in_plane = max(v.mass_g for v in context.called)
    over = mark.plane_g is not None and not context.static_reading and in_plane > mark.plane_g
    return over or context.called_g > mark.total_g


def cause_steps() -> tuple[Message, ...]:
    """What to look at for a cause, in order.

    >>> [m.code for m in cause_steps()][0]
    'look_at_dialled'
    """
    return tuple(message(code, operation=to, send=send) for code, (to, send) in CAUSE_STEPS.items())


def much_weight(context: PlanContext) -> bool:
    """Whether more is called in a plane, at the flanges, than seldom comes right first time."""
    return _heaviest_g(context) > context.marks.much_weight_g


def _heaviest_g(context: PlanContext) -> float:
    """The most that is called in a plane [g]; where the static sum alone is to be corrected, all of that."""
    return context.static_g if _all_in_one(context) else max(v.mass_g for v in context.called)


def _all_in_one(context: PlanContext) -> bool:
    asked = context.request.preferences.correction == "static"
    return asked or (context.static_reading and context.evaluator.static_only)


def decide(context: PlanContext, layouts: Sequence[Layout]) -> Decision:
    """What to do with the layouts, best first."""
    if needs_cause(context):
        return Decision.FIND_CAUSE_FIRST
    if not layouts:
        return Decision.NONE_POSSIBLE
    return Decision.FIT if layouts[0].passes_half else Decision.BEST_EFFORT


def plan_warnings(context: PlanContext, best: Layout | None) -> Iterator[Message]:
    """What limits the worth of the plan, or should be thought of before fitting."""
    heavy = max(context.called, key=lambda v: v.mass_g)
    side = None if _all_in_one(context) else heavy.plane.name
    much = much_weight(context)
    couple = (best.residual if best else context.before).couple_gmm2
    one_plane = context.evaluator.static_only or (best is None and context.one_plane)
    if one_plane and context.evaluator.planes and couple and not context.static_reading:
        yield from couple_warning(couple, context.evaluator.planes)
    if context.static_reported:
        yield message("couple_unknown")
    if (
        (much or needs_cause(context))
        and not context.called_at_flanges
        and reading_planes(context.request.reading)
    ):
        yield message("judged_at_reading")
    if best is not None and best.passes_half and not needs_cause(context):  # else it is a reason
        yield from gain_warning(context.request.reading, best.required)
    if best is None or needs_cause(context):  # no weights are recommended
        return
    if much:
        yield message("much_weight", mass_g=_heaviest_g(context), place=side)
    if not best.within_acceptance:
        left_g, limit_g = context.evaluator.worst_g(best.residual)
        yield message("outside_acceptance", left_g=left_g, limit_g=limit_g)


def headline(
    decision: Decision,
    best: Layout | None,
    *,
    couple_stays: bool = False,
    nothing: NothingFound = "headline_none_found",
    off: bool = False,
    static_reported: bool = False,
) -> Message:
    """What to do, and with what chance.

    best: the first layout, if there is any; couple_stays: its one plane leaves a couple, so that it passes
    a static check spin alone; nothing: what is known where none is possible; off: old weights come off first;
    static_reported: it is judged in two planes, and its chance is that of a static check spin.
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
    if best.pass_chance_pct < HARDLY_EVER_PCT:
        return message("headline_hardly_passes", count=count, largest_residual_g=best.largest_residual_g)
    static = "_static" if static_reported and best.pass_chance_pct >= 100 * PASSES else ""
    if best.within_acceptance:
        return message(f"headline_seldom_passes{static}", count=count, **chance)
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
