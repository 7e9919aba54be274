"""Every arrangement's layout, within the work that one plan may be."""

from __future__ import annotations

import math
from collections.abc import Sequence, Set

from ..messages.message import message
from ..search.branch_and_bound import WorkBudget
from .arrangements import Arrangement, arrangements
from .context import PlanContext, prepare
from .effort import LEAST_PROBABILITY
from .error_model import judged_residual, most_possible
from .joint_solver import SUPPOSED
from .layout_solver import solve, solve_least_bad
from .models import Layout, PlanRequest, RuledOut
from .places import AvailablePlaces, find_places

PLAN_WORK = 3_000_000
"""What one plan's searches may spend together: lines and nodes weighed; about a second of CPU time."""

FIRST_WORK = 80_000
"""What each layout may spend of it at first."""

RELAXED_WORK = 300_000
"""What may be spent on whether a relaxed request passes."""


def solve_all(context: PlanContext) -> tuple[list[Layout], list[RuledOut], int]:
    """Every arrangement's layout, in their order; those that were left out; and the work that the searches were.

    Layouts that pass less than half of the time count only where none passes more often; those that hardly ever
    pass, only where none passes at all. Each is solved with a share of the work; what is left goes to those that
    may be the best, by their bounds.
    """
    possible, ruled_out = arrangements(context.seen.places, static=context.evaluator.static_only)
    found, reasons = LayoutSearch(context, possible, PLAN_WORK), ["passes_too_seldom"] * len(possible)
    found.solve(SUPPOSED[:1])
    if not found.passes:
        reasons = ["passes_hardly_ever"] * len(possible)
        found.solve(SUPPOSED[1:])
    if not any(found.layouts):
        reasons = found.solve_least_bad()
    ruled_out += [
        RuledOut(a.named, (message(reason),))
        for a, layout, reason in zip(possible, found.layouts, reasons, strict=True)
        if layout is None
    ]
    layouts: list[Layout] = []
    for layout in found.layouts:
        if layout is not None and not any(_same_pieces(layout, other) for other in layouts):
            layouts.append(layout)
    return layouts, ruled_out, PLAN_WORK - found.left


def passes(request: PlanRequest) -> bool:
    """Whether some layout of another request is found that passes at least half of the time."""
    context = prepare(request, find_places)
    if isinstance(context, AvailablePlaces):
        return False
    possible, _ = arrangements(context.seen.places, static=context.evaluator.static_only)
    found = LayoutSearch(context, possible, RELAXED_WORK)
    for at in range(len(possible)):
        found.solve_one(at, found.left // (len(possible) - at), SUPPOSED[:2])
        if found.passes:
            return True
    return False


class LayoutSearch:
    """The layouts of arrangements, in their order, as far as they are found; and the work that is left."""

    def __init__(self, context: PlanContext, possible: Sequence[Arrangement], work: int) -> None:
        self.context, self.possible, self.left = context, possible, work
        self.layouts: list[Layout | None] = [None] * len(possible)
        self.most = most_possible(judged_residual(context, context.evaluator, 1))

    @property
    def passes(self) -> bool:
        """Whether a layout passes at least half of the time."""
        return any(x and x.within_acceptance and x.probability >= SUPPOSED[0] for x in self.layouts)

    def solve(self, supposed: Sequence[float]) -> None:
        """Solve what has no layout yet, or no proven one; then what may be the best with more work, once each."""
        for at in range(len(self.layouts)):
            if not self.proven(at):
                self.solve_one(at, min(FIRST_WORK, self.left // len(self.layouts)), supposed)
        again = set(range(len(self.layouts)))
        while (promising := self._most_promising(again)) is not None and self.left > FIRST_WORK:
            self.solve_one(promising, self.left // 2, supposed)
            again.remove(promising)

    def solve_one(self, at: int, work: int, supposed: Sequence[float]) -> None:
        """Solve one arrangement with so much work; what was found before stays if it takes less effort."""
        budget, before = WorkBudget(work), self.layouts[at]
        found = solve(self.context, self.possible[at], budget, supposed, self.most)
        if found and (before is None or found.effort_min <= before.effort_min or found.proven_optimal):
            self.layouts[at] = found
        self.left -= work - budget.left

    def solve_least_bad(self) -> list[str]:
        """What leaves least, for every arrangement; and why there is none, where there is none."""
        reasons = []
        for at, arrangement in enumerate(self.possible):
            budget = WorkBudget(min(FIRST_WORK, PLAN_WORK // len(self.possible)))
            self.layouts[at] = solve_least_bad(self.context, arrangement, budget)
            reasons.append("search_cut_short" if budget.exhausted else "nothing_helps")
        return reasons

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
