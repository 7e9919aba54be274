"""The plan: prepare once, solve each arrangement, rank, decide.

First is the cheapest layout (price, then mass, then the order of places) among those within ``EQUAL_MIN`` of
the least effort, of those that pass half of the time if any does; the others follow by effort. Layouts that pass
less than once in a hundred times come last, by what they leave. Where there are no others, of those that leave
nearly as little the first is the one that leaves least in both planes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from ..messages.message import Message, message
from .acceptance import assumptions, doubts
from .arrangements import next_steps
from .context import PlanContext, as_spun, defaults, prepare
from .correction import reading_warnings
from .decision import (
    already_within,
    cause_steps,
    decide,
    headline,
    much_weight,
    nothing_found,
    plan_warnings,
)
from .effort import EQUAL_MIN, LEAST_PROBABILITY
from .layout_search import solve_all
from .least_ratio import CLOSE, SQUARES_PER_MIN
from .levers import levers
from .models import Decision, Layout, Plan, PlanRequest, RuledOut, leaves_couple
from .places import AvailablePlaces, PlaceFinder, find_places
from .reasons import exact_masses_help, reasons_for
from .tolerance_check import ToleranceEvaluator


def make_plan(request: PlanRequest, look: PlaceFinder = find_places, *, first_only: bool = False) -> Plan:
    """From a request to its plan. Raises verification.PlanFault if the plan fails its own check: a fault of ours.

    look: finds the places of a wheel; many requests may share it. first_only: no other layout than the first is
    wanted, which is several times as fast.
    """
    repairs = tuple(message(f"repair_{finding}") for finding in request.inspection if finding != "none")
    if repairs:
        return _without_layouts(request, Decision.REPAIR_FIRST, next_steps=repairs)
    context = prepare(request, look)
    if isinstance(context, AvailablePlaces):
        steps = next_steps(request.wheel, context, request.preferences, none_helps=True)
        ruled_out = tuple(n.ruled_out for n in context.ruled_out)
        return _without_layouts(request, Decision.NONE_POSSIBLE, next_steps=steps, ruled_out=ruled_out)
    for wheel in (as_spun(context), context):  # as it is, else without the old weights
        if already_within(wheel):
            return _plan(wheel, Decision.ALREADY_WITHIN, (), (), 0)
    found, left_out, work = solve_all(context, first_only=first_only)
    layouts = ranked(found, context.evaluator)[: 1 if first_only else None]
    return _plan(context, decide(context, layouts), layouts, left_out, work)


def _without_layouts(
    request: PlanRequest,
    decision: Decision,
    *,
    next_steps: tuple[Message, ...],
    ruled_out: tuple[RuledOut, ...] = (),
) -> Plan:
    _, acceptance, spread, effort = defaults(request)
    return Plan(
        decision,
        acceptance,
        spread,
        effort,
        headline(decision, None, nothing=nothing_found(request.stock, ruled_out, next_steps)),
        next_steps=next_steps,
        ruled_out=ruled_out,
    )


def _plan(
    context: PlanContext, decision: Decision, layouts: Sequence[Layout], ruled_out: Sequence[RuledOut], work: int
) -> Plan:
    """Everything that is said of layouts once they are ranked."""
    counted, first = [limit.plane for limit in context.evaluator.plane_limits], layouts[0] if layouts else None
    derived = (*context.derived, *assumptions(context.acceptance, counted))
    # A wheel that is good as it is needs no place.
    seen = AvailablePlaces((), (), ()) if decision is Decision.ALREADY_WITHIN else context.seen
    reasons = reasons_for(context, decision, layouts)
    if first and decision in (Decision.FIT, Decision.BEST_EFFORT) and context.request.preferences.detail == "full":
        layouts = [_with_levers(context, first, reasons), *layouts[1:]]
    warned = tuple(plan_warnings(context, first))
    ruled_out = (*(n.ruled_out for n in seen.ruled_out), *ruled_out)
    open_steps = _open_steps(context, decision, first, reasons)
    nothing = nothing_found(context.request.stock, ruled_out, open_steps)
    off = bool(context.request.reading.old_weights)
    told = {"couple_stays": leaves_couple(warned), "static_reported": context.static_reported, "off": off}
    return Plan(
        decision=decision,
        acceptance=context.acceptance,
        spread=context.spread,
        effort=context.effort,
        headline=headline(decision, first, nothing=nothing, **told),
        reasons=reasons,
        required=first.required if first and decision is not Decision.FIND_CAUSE_FIRST else context.called,
        evaluator=context.evaluator,
        before=context.before,
        layouts=tuple(layouts),
        ruled_out=ruled_out,
        next_steps=open_steps,
        warnings=(
            *reading_warnings(context.request.reading),
            *doubts(context.acceptance, counted),
            *warned,
            *seen.warnings,
        ),
        derived=(*derived, *(r for r in seen.derived if r not in derived)),
        work=work,
        old_weights_off=off,
    )


def _with_levers(context: PlanContext, first: Layout, reasons: Sequence[Message]) -> Layout:
    return replace(first, levers=levers(context, first, exact_masses=exact_masses_help(reasons)))


def _open_steps(
    context: PlanContext, decision: Decision, first: Layout | None, reasons: Sequence[Message]
) -> tuple[Message, ...]:
    """What there is to do besides fitting, or before it."""
    if decision is Decision.ALREADY_WITHIN:
        return ()
    if decision is Decision.FIND_CAUSE_FIRST:
        return cause_steps()
    others_needed = any(reason.code == "other_places_needed" for reason in reasons)
    none_helps = decision is Decision.NONE_POSSIBLE or others_needed
    steps = next_steps(context.request.wheel, context.seen, context.request.preferences, none_helps=none_helps)
    if context.static_reported:
        steps = (*steps, message("spin_dynamic"))
    return (*steps, *cause_steps()) if first and much_weight(context) else steps


def ranked(layouts: Sequence[Layout], evaluator: ToleranceEvaluator) -> list[Layout]:
    """Best first; ties keep the order of places."""
    passing = sorted((x for x in layouts if x.probability >= LEAST_PROBABILITY), key=lambda x: x.effort_min)
    others = sorted((x for x in layouts if x.probability < LEAST_PROBABILITY), key=lambda x: x.limit_ratio)
    if passing:
        count = [x for x in passing if x.passes_half] or passing
        equal = [x for x in count if x.effort_min <= count[0].effort_min + EQUAL_MIN]
        first = min(equal, key=lambda x: (_priced(x), x.total_mass_g, layouts.index(x)))
        return [first, *(x for x in passing if x is not first), *others]
    if others:
        as_good = [x for x in others if x.limit_ratio <= others[0].limit_ratio * (1 + CLOSE)]
        first = min(as_good, key=lambda x: _left_in_planes(x, evaluator))
        return [first, *(x for x in others if x is not first)]
    return []


def _left_in_planes(layout: Layout, evaluator: ToleranceEvaluator) -> float:
    """What is left in the planes as squared shares of their limits, and its minutes as such."""
    left = zip(layout.residual.planes, evaluator.plane_limits, strict=False)
    handling = layout.effort_parts.fit_min + layout.effort_parts.marks_min
    return sum((v.mass_g / most.mass_g) ** 2 for v, most in left) + SQUARES_PER_MIN * handling


def _priced(layout: Layout) -> Decimal:
    return Decimal("Infinity") if layout.price is None else layout.price
