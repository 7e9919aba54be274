"""What is to be done: fit, look for a cause first, or nothing; and why nothing better is to be had."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations

from ..messages.message import Message, message
from ..model.stock import Stock
from ..physics.planes import HIGH_GAIN
from ..physics.readings import reading_planes
from .arrangements import Arrangement, arrangements
from .context import PlanContext
from .correction import couple_warning, gain_of, gain_warning
from .effort import PASSES
from .error_model import judged_residual, most_possible
from .layout_probability import exact_probability
from .models import CauseFirst, Decision, Layout, PlanRequest
from .relaxation import heaviest_g, relaxations, with_masses

EXACT_OF = 3
"""Layouts, best first, and arrangements whose exact masses are tried where finer stock is; each is a search."""

EXACT_DIGITS = 6
"""Exact masses that are equal to so many decimals [g] are one: halves differ by rounding alone."""

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
    """The most that is called in a plane [g]; of a static reading that is judged statically, all of it."""
    return context.called_g if _all_in_one(context) else max(v.mass_g for v in context.called)


def _all_in_one(context: PlanContext) -> bool:
    return context.static_reading and context.evaluator.static_only


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
    if context.evaluator.static_only and context.evaluator.planes and couple and not context.static_reading:
        yield from couple_warning(couple, context.evaluator.planes)
    if context.static_told:
        yield message("couple_unknown")
    if (
        (much or needs_cause(context))
        and not context.called_at_flanges
        and reading_planes(context.request.reading)
    ):
        yield message("judged_at_reading")
    if best is not None and best.passes_half and not needs_cause(context):  # else it is a reason
        yield from gain_warning(context.request.reading, best.required)
    if much and best is not None:
        yield message("much_weight", mass_g=_heaviest_g(context), place=side)
    if best is not None and not best.within_acceptance:
        left_g, limit_g = context.evaluator.worst_g(best.residual)
        yield message("outside_acceptance", left_g=left_g, limit_g=limit_g)


def reasons_for(
    context: PlanContext,
    decision: Decision,
    layouts: Sequence[Layout],
    passes: Callable[[PlanRequest], bool],
) -> tuple[Message, ...]:
    """Why a best effort is no better, or nothing helps: all that alone would make it pass; else the smallest set.

    passes: whether another request passes half of the time. Where not even all together were found to make it
    pass, it is the places that are to blame. None where no place takes a weight: those are ruled out one by one.
    """
    possible, _ = arrangements(context.seen.places, static=context.evaluator.static_only)
    if decision not in (Decision.BEST_EFFORT, Decision.NONE_POSSIBLE) or not possible:
        return ()
    required = [x.required for x in layouts[:EXACT_OF]]
    required += [a.required(context.unbalance) for a in possible[:EXACT_OF]]  # for what nothing was found
    gained = gain_of(context.request.reading, required[0])
    found = [message("places_too_close")] if gained is not None and gained > HIGH_GAIN else []
    if _too_tight(context, possible):
        return (*found, message("limits_too_tight"))
    exact_g = {round(v.mass_g / n, EXACT_DIGITS) for vectors in required for v in vectors for n in (1, 2)} - {0.0}
    return (*found, *(_needed(context.request, exact_g, passes) or [message("other_places_needed")]))


def _needed(
    request: PlanRequest, exact_g: Collection[float], passes: Callable[[PlanRequest], bool]
) -> list[Message]:
    """What has to be relaxed, with masses no heavier than those in stock if that does; none if nothing does."""
    ways = tuple(relaxations(request))
    shelves = [with_masses(request.stock, exact_g, most_g) for most_g in (0.0, heaviest_g(request.wheel))]
    for exact in dict.fromkeys(shelves):

        def would_pass(codes: Collection[str], exact: Stock = exact) -> bool:
            relaxed = list(_relaxed(request, codes, exact))
            if exact is not shelves[0]:  # what else is relaxed was tried before
                relaxed = relaxed[:1] if "stock_too_coarse" in codes else []
            return any(map(passes, relaxed))

        tried = ways if exact is shelves[0] else ("stock_too_coarse",)
        if alone := [way for way in tried if would_pass([way])]:
            return [message(way) for way in alone]
        if len(ways) > 1 and would_pass(ways):
            smaller = (set_ for count in range(2, len(ways)) for set_ in combinations(ways, count))
            codes = next((codes for codes in smaller if would_pass(codes)), ways)
            return [message(code, together="if_the_rest_too") for code in codes]
    return []


def _too_tight(context: PlanContext, possible: Sequence[Arrangement]) -> bool:
    """Whether exact masses at exact angles, at whichever places, pass less than half of the time."""
    if most_possible(judged_residual(context, context.evaluator, 1)) < PASSES:
        return True
    flanges = {place.name for place in context.seen.places if place.style == "clip_on"}
    return all(exact_probability(context, a.required(context.unbalance), flanges) < PASSES for a in possible)


def _relaxed(request: PlanRequest, codes: Collection[str], exact: Stock) -> Iterator[PlanRequest]:
    """With all of it relaxed; finer stock once more as the very masses called for, whole or halves."""
    for code in codes:
        request = relaxations(request)[code]
    if "stock_too_coarse" in codes:
        yield replace(request, stock=exact)
    yield request
