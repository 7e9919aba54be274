"""The plan: prepare once, solve each arrangement, rank, decide.

First is the cheapest layout (price, then mass, then the order of places) among those within ``EQUAL_MIN`` of
the least effort; the others follow by effort. Layouts that pass less than once in a hundred times come last, by
what they leave.
"""

from __future__ import annotations

import math
from collections.abc import Sequence, Set
from dataclasses import replace
from decimal import Decimal

from ..messages.message import Message, message
from ..search.branch_and_bound import WorkBudget
from .acceptance import assumptions, doubts
from .arrangements import Arrangement, arrangements, next_steps
from .cause_first import cause_steps
from .context import PlanContext, defaults, prepare
from .correction import reading_warnings
from .decision import already_within, decide, much_weight, plan_warnings, reasons_for
from .effort import LEAST_PROBABILITY
from .headline import headline
from .joint_solver import SUPPOSED
from .layout_solver import solve, solve_least_bad
from .levers import levers
from .models import Decision, Layout, Plan, PlanRequest, RuledOut
from .places import AvailablePlaces, PlaceFinder, find_places

EQUAL_MIN = 0.05
"""Layouts whose efforts differ by no more than this are as good as each other [min]."""

PLAN_WORK = 3_000_000
"""What one plan's searches may spend together: lines and nodes weighed; about a second of CPU time."""

FIRST_WORK = 80_000
"""What each layout may spend of it at first."""


def make_plan(request: PlanRequest, look: PlaceFinder = find_places) -> Plan:
    """From a request to its plan. Raises verification.PlanFault if the plan fails its own check: a fault of ours.

    look: how to survey a wheel; many requests may share what was seen.
    """
    repairs = tuple(message(f"repair_{finding}") for finding in request.inspection if finding != "none")
    if repairs:
        return _without_layouts(request, Decision.REPAIR_FIRST, next_steps=repairs)
    context = prepare(request, look)
    if isinstance(context, AvailablePlaces):
        steps = next_steps(request.wheel, context, request.preferences)
        ruled_out = tuple(RuledOut(n.label, n.reasons) for n in context.ruled_out)
        return _without_layouts(request, Decision.NONE_POSSIBLE, next_steps=steps, ruled_out=ruled_out)
    if already_within(context):
        return _plan(context, Decision.ALREADY_WITHIN, (), (), 0)
    layouts, left_out, work = solve_all(context)
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
        headline(decision, None),
        next_steps=next_steps,
        ruled_out=ruled_out,
    )


def _plan(
    context: PlanContext, decision: Decision, layouts: Sequence[Layout], ruled_out: Sequence[RuledOut], work: int
) -> Plan:
    """Everything that is said of layouts once they are ranked."""
    counted = [limit.plane for limit in context.evaluator.plane_limits]
    derived = (*context.derived, *assumptions(context.acceptance, counted))
    seen, first = context.seen, layouts[0] if layouts else None
    full = getattr(context.request.preferences, "detail", "standard") == "full"
    if first and full and decision in (Decision.FIT, Decision.BEST_EFFORT):
        layouts = [replace(first, levers=levers(context, first)), *layouts[1:]]
    open_steps = next_steps(context.request.wheel, seen, context.request.preferences)
    within = decision is Decision.ALREADY_WITHIN
    if decision is Decision.FIND_CAUSE_FIRST:
        open_steps = cause_steps()
    elif context.static_reading and not context.evaluator.static_only:
        open_steps = (*open_steps, message("spin_dynamic"))
    if first and much_weight(context) and decision is not Decision.FIND_CAUSE_FIRST:
        open_steps = (*open_steps, *cause_steps())
    return Plan(
        decision=decision,
        acceptance=context.acceptance,
        spread=context.spread,
        effort=context.effort,
        headline=headline(decision, first),
        reasons=reasons_for(context, decision, layouts, _best_probability),
        required=first.required if first and decision is not Decision.FIND_CAUSE_FIRST else context.called,
        evaluator=context.evaluator,
        before=context.before,
        layouts=tuple(layouts),
        ruled_out=() if within else (*(RuledOut(n.label, n.reasons) for n in seen.ruled_out), *ruled_out),
        next_steps=() if within else open_steps,
        warnings=(
            *reading_warnings(context.request.reading),
            *doubts(context.acceptance, counted),
            *plan_warnings(context, first),
            *(() if within else seen.warnings),
        ),
        derived=derived if within else (*derived, *(r for r in seen.derived if r not in derived)),
        work=work,
    )


def solve_all(context: PlanContext) -> tuple[list[Layout], list[RuledOut], int]:
    """Every arrangement's layout, ranked; those that were left out; and the work that the searches were.

    Layouts that pass less than half of the time count only where none passes more often; those that hardly ever
    pass, only where none passes at all. Each is solved with a share of the work; what is left goes to those that
    may be the best, by their bounds.
    """
    possible, ruled_out = arrangements(context.seen.places, static=context.evaluator.static_only)
    found, reason = _Search(context, possible), "passes_too_seldom"
    found.solve(SUPPOSED[:1])
    if not any(layout and layout.probability >= SUPPOSED[0] for layout in found.layouts):
        reason = "passes_hardly_ever"
        found.solve(SUPPOSED[1:])
    if not any(found.layouts):
        reason = "nothing_helps"
        found.solve_least_bad()
    ruled_out += [
        RuledOut(a.name, (message(reason),))
        for a, layout in zip(possible, found.layouts, strict=True)
        if layout is None
    ]
    layouts: list[Layout] = []
    for layout in found.layouts:
        if layout is not None and not any(_same_pieces(layout, other) for other in layouts):
            layouts.append(layout)
    return ranked(layouts), ruled_out, PLAN_WORK - found.left


class _Search:
    """The layouts of arrangements, in their order, as far as they are found; and the work that is left."""

    def __init__(self, context: PlanContext, possible: Sequence[Arrangement]) -> None:
        self.context, self.possible, self.left = context, possible, PLAN_WORK
        self.layouts: list[Layout | None] = [None] * len(possible)

    def solve(self, supposed: Sequence[float]) -> None:
        """Solve what has no layout yet; then what may be the best with more work, once each."""
        for at, layout in enumerate(self.layouts):
            if layout is None:
                self._solve(at, min(FIRST_WORK, self.left // len(self.layouts)), supposed)
        again = set(range(len(self.layouts)))
        while (promising := self._most_promising(again)) is not None and self.left > FIRST_WORK:
            self._solve(promising, self.left // 2, supposed)
            again.remove(promising)

    def solve_least_bad(self) -> None:
        """What leaves least, for every arrangement."""
        self.layouts = [solve_least_bad(self.context, a, WorkBudget(FIRST_WORK)) for a in self.possible]

    def _solve(self, at: int, work: int, supposed: Sequence[float]) -> None:
        budget = WorkBudget(work)
        self.layouts[at] = solve(self.context, self.possible[at], budget, supposed)
        self.left -= work - budget.left

    def _most_promising(self, among: Set[int]) -> int | None:
        """Which of these has the least bound, of those that are not proven and may take less than the best."""
        found = [
            (layout.least_possible_min, at) for at, layout in enumerate(self.layouts) if layout and at in among
        ]
        passing = [x.effort_min for x in self.layouts if x and x.probability >= LEAST_PROBABILITY]
        best = min(passing, default=math.inf)
        may_be = [(bound, at) for bound, at in found if bound < best and not self.proven(at)]
        return min(may_be)[1] if may_be else None

    def proven(self, at: int) -> bool:
        """Whether a layout is as good as the least possible."""
        layout = self.layouts[at]
        return layout is not None and layout.proven_optimal


def _same_pieces(one: Layout, other: Layout) -> bool:
    """Whether two layouts fit the same weights at the same spots."""
    return len(one.pieces) == len(other.pieces) and all(
        (a.place, a.sku, a.segments) == (b.place, b.sku, b.segments) and abs(a.angle_deg - b.angle_deg) < 1e-6
        for a, b in zip(one.pieces, other.pieces, strict=True)
    )


def ranked(layouts: Sequence[Layout]) -> list[Layout]:
    """Best first; ties keep the order of places."""
    passing = sorted((x for x in layouts if x.probability >= LEAST_PROBABILITY), key=lambda x: x.effort_min)
    others = sorted((x for x in layouts if x.probability < LEAST_PROBABILITY), key=lambda x: x.limit_ratio)
    if passing:
        equal = [x for x in passing if x.effort_min <= passing[0].effort_min + EQUAL_MIN]
        first = min(equal, key=lambda x: (_priced(x), x.total_mass_g, layouts.index(x)))
        passing.remove(first)
        passing.insert(0, first)
    return passing + others


def _priced(layout: Layout) -> Decimal:
    return Decimal("Infinity") if layout.price is None else layout.price


def _best_probability(request: PlanRequest) -> float:
    """How often the best layout of another request would pass."""
    context = prepare(request, find_places)
    if isinstance(context, AvailablePlaces):
        return 0.0
    layouts, _, _ = solve_all(context)
    return max((x.probability for x in layouts if x.within_acceptance), default=0.0)
