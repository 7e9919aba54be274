"""Every arrangement's layout, within the work that one plan may be."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence, Set
from dataclasses import replace
from functools import cached_property

from ..messages.message import message
from ..search.branch_and_bound import WorkBudget
from .arrangements import Arrangement, arrangements, unmet_wishes
from .branching import proven_gap
from .candidates import SAME_DECIMALS
from .context import PlanContext
from .effort import EQUAL_MIN, LEAST_PROBABILITY
from .error_model import judged_residual, most_possible
from .joint_solver import SUPPOSED
from .layout_solver import solve, solve_least_bad
from .models import Layout, RuledOut

PLAN_WORK = 3_000_000
"""What one plan's searches may spend together: lines and what takes as long; about a second of CPU time."""

FIRST_WORK, LEAST_WORK = 80_000, 30_000
"""What each layout may spend of it at first; and what it may spend, while there is any, where there are many."""

SET_UP_WORK = 5_000
"""To set an arrangement up and to check its layout: as long as so many lines take."""

SAME_MIN = 1e-6
"""Efforts that differ by no more are the same [min]."""

EXACT_DEG, SAME_SPOT_DEG = 1e-6, 0.1
"""Spots that differ by rounding alone; and by less than anyone can find: hands err by twenty times that [deg]."""


def solve_all(context: PlanContext, *, first_only: bool = False) -> tuple[list[Layout], list[RuledOut], int]:
    """Every arrangement's layout, in their order; those that were left out; and the work that the searches were.

    Layouts that pass less than half of the time count only where none passes more often; those that hardly ever
    pass, only where none passes at all. Each is solved with a share of the work; what is left goes to those that
    may be the best, by their bounds. first_only: what can't come first is left aside as soon as that shows.
    """
    possible, ruled_out = arrangements(context.seen.places, static=context.evaluator.static_only)
    found, reason = LayoutSearch(context, possible, PLAN_WORK, first_only=first_only), "passes_too_seldom"
    found.solve(SUPPOSED[:1], keep=PLAN_WORK // 4)
    if not found.passes:
        reason = "passes_hardly_ever"
        found.solve(SUPPOSED[1:], keep=PLAN_WORK // 5)
    if not any(found.layouts):
        reason = "nothing_helps"
        found.solve_least_bad()
    ruled_out += [
        RuledOut(a.named, (message("search_cut_short" if at in found.cut_short else reason),))
        for at, a in enumerate(possible)
        if found.layouts[at] is None and (at in found.cut_short or at not in found.left_aside)
    ]
    return found.different(), ruled_out, PLAN_WORK - found.left


class LayoutSearch:
    """The layouts of arrangements, in their order, as far as they are found; and the work that is left.

    first_only: arrangements that can't come first are left aside.
    """

    def __init__(
        self, context: PlanContext, possible: Sequence[Arrangement], work: int, *, first_only: bool = False
    ) -> None:
        self.context, self.possible, self.left, self.first_only = context, possible, work, first_only
        self.layouts: list[Layout | None] = [None] * len(possible)
        self.cut_short: set[int] = set()
        self.left_aside: set[int] = set()
        self.most = most_possible(judged_residual(context, context.evaluator, 1))

    @property
    def passes(self) -> bool:
        """Whether a layout passes at least half of the time."""
        return any(x and x.passes_half for x in self.layouts)

    def solve(self, supposed: Sequence[float], keep: int = 0) -> None:
        """Solve what has no layout yet, or no proven one; then what may be the best with more work, once each.

        The first takes half of the work at the most. keep: work that is left for what is supposed next, while
        nothing passes as often as is supposed.
        """
        for at, work in self._shares([at for at in self.in_order if not self.proven(at)], self.left // 2):
            self.solve_one(at, work, supposed)
        again = set(range(len(self.layouts)))
        while (promising := self._most_promising(again)) is not None:
            work = self.left - (keep if self.best_min(supposed[-1]) == math.inf else 0)
            if work <= FIRST_WORK:
                break
            self.solve_one(promising, work - work // 4, supposed)
            again.remove(promising)

    def solve_one(self, at: int, work: int, supposed: Sequence[float]) -> None:
        """Solve one arrangement with so much work; what was found before stays if it takes less effort."""
        budget, before = WorkBudget(work), self.layouts[at]
        longest = self.best_min(supposed[-1]) + EQUAL_MIN if self.first_only else math.inf
        found = solve(self.context, self.possible[at], budget, supposed, self.most, longest)
        if found and before:
            better = found if found.effort_min <= before.effort_min + SAME_MIN else before
            bound = min(max(found.least_possible_min, before.least_possible_min), better.effort_min)
            proven = better.effort_min - bound <= proven_gap(better.effort_min)
            found = replace(better, least_possible_min=bound, proven_optimal=proven)
        self.layouts[at] = found or before
        if self.layouts[at] is None and longest < math.inf:
            self.left_aside.add(at)
        self._spent(at, work, budget)

    def best_min(self, least: float = LEAST_PROBABILITY) -> float:
        """The least effort of what passes at least so often [min]; infinite where nothing does."""
        return min((x.effort_min for x in self.layouts if x and x.probability >= least), default=math.inf)

    def solve_least_bad(self) -> None:
        """What leaves least, for every arrangement; those of two places first and with most of the work, for they
        leave less."""
        for two in (True, False):
            among = [at for at in self.in_order if (len(self.possible[at].places) > 1) is two]
            within = self.left * 3 // 4 if two else self.left
            for at, work in self._shares(among, within, within):
                budget = WorkBudget(work)
                self.layouts[at] = solve_least_bad(self.context, self.possible[at], budget)
                self._spent(at, work, budget)

    @cached_property
    def in_order(self) -> list[int]:
        """The arrangements, by what their places cost whatever is fitted there."""
        context = self.context

        def least_min(at: int) -> float:
            asked_g = sum(v.mass_g for v in self.possible[at].required(context.unbalance))
            wishes = len(unmet_wishes(context.request.preferences, self.possible[at].used))
            return wishes * context.effort.wish_min + asked_g * context.effort.geometry_min_per_g

        return sorted(range(len(self.possible)), key=lambda at: round(least_min(at), SAME_DECIMALS))

    def _shares(self, among: Sequence[int], within: int, most: int = FIRST_WORK) -> Iterator[tuple[int, int]]:
        """These with what each may spend of so much work, in order: what one leaves those after it share.

        Those that get none are cut short.
        """
        rest = self.left - within
        for number, at in enumerate(among):
            share = max((self.left - rest) // (len(among) - number), LEAST_WORK)
            work = min(share, most, self.left - rest)
            if work > 0:
                yield at, work
            else:
                self.cut_short.add(at)

    def _spent(self, at: int, work: int, budget: WorkBudget) -> None:
        self.left -= work - budget.left + min(SET_UP_WORK, max(budget.left, 0))
        (self.cut_short.add if budget.exhausted else self.cut_short.discard)(at)

    def _most_promising(self, among: Set[int]) -> int | None:
        """Which of these has the least bound, of those that are not proven and may take less than the best.

        Where nothing passes, or the first alone is wanted, first what was cut short before anything was found.
        """
        none_yet = [at for at in self.in_order if self._none_yet(at) and at in among]
        if none_yet and (self.first_only or not self.passes):
            return none_yet[0]
        found = [
            (layout.least_possible_min, at) for at, layout in enumerate(self.layouts) if layout and at in among
        ]
        may_be = [(bound, at) for bound, at in found if bound < self.best_min() and not self.proven(at)]
        return min(may_be)[1] if may_be else None

    def _none_yet(self, at: int) -> bool:
        """Whether the search was cut short before it found a layout."""
        return self.layouts[at] is None and at in self.cut_short

    def proven(self, at: int) -> bool:
        """Whether a layout, or the same under another name, is as good as the least possible."""
        layout = self.layouts[at]
        return layout is not None and any(
            x.proven_optimal and _same_pieces(layout, x, EXACT_DEG) for x in self.layouts if x is not None
        )

    def different(self) -> list[Layout]:
        """The layouts in their order, those of the same pieces once, under the better name.

        One that is not proven says so where its search was cut short.
        """
        layouts: list[Layout] = []
        for at, layout in enumerate(self.layouts):
            if layout is None:
                continue
            if at in self.cut_short and not layout.proven_optimal:
                layout = replace(layout, notes=(*layout.notes, message("search_cut_short")))
            same = [n for n, other in enumerate(layouts) if _same_pieces(layout, other, SAME_SPOT_DEG)]
            if not same:
                layouts.append(layout)
            elif _better(layout, layouts[same[0]]):
                layouts[same[0]] = layout
        return layouts


def _better(one: Layout, other: Layout) -> bool:
    """Whether of two layouts of the same pieces one breaks fewer wishes, or as many and it alone is proven."""
    return (one.unmet_wishes, not one.proven_optimal) < (other.unmet_wishes, not other.proven_optimal)


def _same_pieces(one: Layout, other: Layout, within_deg: float) -> bool:
    """Whether two layouts fit the same weights at the same spots."""
    return len(one.pieces) == len(other.pieces) and all(
        (a.place, a.sku, a.segments) == (b.place, b.sku, b.segments)
        and abs((a.angle_deg - b.angle_deg + 180) % 360 - 180) < within_deg
        for a, b in zip(one.pieces, other.pieces, strict=True)
    )
