"""The plan: every admissible layout solved with whole stock masses, judged, ranked, best first.

Ranking (common practice, no source): within acceptance; the wishes on appearance; fewer pieces; the chance
to pass the first check spin; less mass; price; then the order of places and stock. Among layouts that are
all outside acceptance the one that leaves least comes first.

In one layout the same order holds: as few pieces as bring it within acceptance. Where one weight is not
enough, two go side by side or apart, whichever leaves less.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from ..messages.message import Message, message
from ..model.wheel import SIDES, Wheel
from ..physics.planes import MIN_PLANE_DISTANCE_MM, Plane
from ..physics.readings import Reading, Static, reading_planes, unbalance_of
from ..physics.unbalance import Unbalance
from ..search.branch_and_bound import MAX_WORK, WorkBudget
from .acceptance import assumptions, default_acceptance, doubts
from .arrangements import arrangements, next_steps
from .cause_first import cause_steps
from .correction import reading_warnings
from .layout_solver import solve
from .models import Decision, Layout, Plan, PlanRequest, RuledOut
from .places import AvailablePlaces, Place, PlaceFinder, find_places, flange_planes
from .tolerance_check import Residual, ToleranceEvaluator

MUCH_WEIGHT_G = 60.0
"""From here on in one plane, look for another cause first [g]; common practice, no source."""


OPPOSED = 2.0
"""From here on weights pull against each other, in shares of what was called; common practice, no source."""


def make_plan(request: PlanRequest, look: PlaceFinder = find_places) -> Plan:
    """From a request to its plan. Raises verification.PlanFault if the plan fails its own check: a fault of ours.

    look: how to survey a wheel; many requests may share what was seen.
    """
    acceptance = request.acceptance or default_acceptance(request.stock.builtin)
    repairs = tuple(message(f"repair_{finding}") for finding in request.inspection if finding != "none")
    if repairs:
        return Plan(Decision.REPAIR_FIRST, acceptance, request.spread, next_steps=repairs)
    seen = look(request.wheel, request.stock, request.preferences)
    steps = next_steps(request.wheel, seen, request.preferences)
    planes, derived = judged_planes(request.reading, request.wheel, seen.places)
    ruled_out = tuple(RuledOut(n.label, n.reasons) for n in seen.ruled_out)
    if not planes:
        return Plan(Decision.NONE_POSSIBLE, acceptance, request.spread, ruled_out=ruled_out, next_steps=steps)
    static_only = isinstance(request.reading, Static) or request.preferences.correction == "static"
    evaluator = ToleranceEvaluator.at(planes, acceptance, static_only=static_only)
    counted = [limit.plane for limit in evaluator.plane_limits]
    derived = (*derived, *assumptions(acceptance, counted))
    unbalance = unbalance_of(request.reading)
    before = evaluator.residual(unbalance)
    warnings = (*reading_warnings(request.reading), *doubts(acceptance, counted))
    warnings = (*warnings, *_static_warnings(evaluator, before))
    if evaluator.accepts(evaluator.limit_ratio(unbalance)):
        within = Decision.ALREADY_WITHIN
        return Plan(within, acceptance, request.spread, evaluator, before, warnings=warnings, derived=derived)
    layouts, not_solved, work = solve_all(request, unbalance, seen, evaluator)
    return Plan(
        decision=_decide(layouts),
        acceptance=acceptance,
        spread=request.spread,
        evaluator=evaluator,
        before=before,
        layouts=tuple(layouts),
        ruled_out=(*ruled_out, *not_solved),
        next_steps=(*steps, *_where_to_look(layouts)),
        warnings=(*warnings, *_layout_warnings(layouts)),
        derived=(*derived, *(r for r in seen.derived if r not in derived)),
        work=work,
    )


def judged_planes(
    reading: Reading, wheel: Wheel, places: Sequence[Place]
) -> tuple[tuple[Plane, ...], tuple[Message, ...]]:
    """The planes the check spin is read in: the reading's own; else the flanges; else the outermost places.

    None at all if the reading has none and the wheel has no place.
    """
    if planes := reading_planes(reading):
        return planes, ()
    flanges, derived = flange_planes(wheel)
    if flanges:
        return flanges, (message("judged_at_flanges"), *derived)
    by_position = sorted(places, key=lambda p: p.position_mm)
    if not by_position:
        return (), ()
    inner, outer = by_position[0], by_position[-1]
    if outer.position_mm - inner.position_mm < MIN_PLANE_DISTANCE_MM:
        return (Plane("static", inner.position_mm, inner.radius_mm),), (message("judged_statically"),)
    ends = zip(SIDES, (inner, outer), strict=True)
    return tuple(Plane(side, p.position_mm, p.radius_mm) for side, p in ends), (message("judged_at_places"),)


def solve_all(
    request: PlanRequest, unbalance: Unbalance, seen: AvailablePlaces, evaluator: ToleranceEvaluator
) -> tuple[list[Layout], list[RuledOut], int]:
    """Every arrangement's layout, ranked; those that were left out; and the work that the searches were.

    One plane alone, where two were asked for, counts if it can be within acceptance or nothing else is to be
    had: the couple about its plane is what no weight in it can change.
    """
    possible, ruled_out = arrangements(seen.places, static=evaluator.static_only)
    too_little = [
        a
        for a in possible
        if a.way == "one_plane"
        and abs(unbalance.about(a.places[0].position_mm)) > evaluator.couple_limit(a.places[0].position_mm)
    ]
    if len(too_little) < len(possible):
        possible = [a for a in possible if a not in too_little]
        ruled_out += [RuledOut(a.name, (message("one_plane_not_enough"),)) for a in too_little]
    # Shares of one allowance, so that no arrangement starves another and a plan costs no more than one search.
    share = MAX_WORK // max(len(possible), 1)
    allowances = [WorkBudget(share) for _ in possible]
    solved = [(a, solve(request, unbalance, a, evaluator, w)) for a, w in zip(possible, allowances, strict=True)]
    ruled_out += [RuledOut(a.name, (message("nothing_helps"),)) for a, layout in solved if layout is None]
    spent = sum(share - allowance.left for allowance in allowances)
    return sorted((layout for _, layout in solved if layout), key=_rank), ruled_out, spent


def _rank(layout: Layout) -> tuple[float | Decimal, ...]:
    """Sorts the best first; ties keep the order of places and stock."""
    price = Decimal("Infinity") if layout.price is None else layout.price
    merits = (-layout.pass_chance_pct, layout.total_mass_g, price)
    wishes, pieces = layout.unmet_wishes, len(layout.pieces)
    return (
        (0, wishes, pieces, *merits)
        if layout.within_acceptance
        else (1, layout.limit_ratio, wishes, pieces, *merits)
    )


def _decide(layouts: Sequence[Layout]) -> Decision:
    if not layouts:
        return Decision.NONE_POSSIBLE
    return Decision.FIT if layouts[0].within_acceptance else Decision.BEST_EFFORT


def _static_warnings(evaluator: ToleranceEvaluator, before: Residual) -> list[Message]:
    """A static correction of a two-plane reading leaves its couple: say how large it is."""
    if evaluator.static_only and evaluator.planes and before.couple:
        return [message("couple_stays", couple_gmm2=before.couple_gmm2)]
    return []


def _where_to_look(layouts: Sequence[Layout]) -> tuple[Message, ...]:
    """Before much weight is fitted: what may have made it so much."""
    return cause_steps() if any(w.code == "much_weight" for w in _layout_warnings(layouts)) else ()


def _layout_warnings(layouts: Sequence[Layout]) -> list[Message]:
    """What to think of before fitting the recommended layout."""
    found = []
    for layout in layouts[:1]:
        heaviest = max(layout.required, key=lambda v: v.mass_g)
        if heaviest.mass_g > MUCH_WEIGHT_G:
            found.append(message("much_weight", place=heaviest.plane.name, mass_g=heaviest.mass_g))
        called = sum(v.mass_g for v in layout.required)
        if layout.total_mass_g > OPPOSED * called:
            found.append(message("weights_opposed", mass_g=layout.total_mass_g, called_g=called))
        if not layout.within_acceptance:
            found.append(message("outside_acceptance", share_pct=100 * layout.limit_ratio))
        for other in layouts[1:]:
            if (
                other.within_acceptance
                and _rank(other)[:3] == _rank(layout)[:3]
                and other.limit_ratio < layout.limit_ratio
            ):
                found.append(_less_on_paper(other, layout))
                break
    return found


def _less_on_paper(other: Layout, best: Layout) -> Message:
    """Equal in wishes and pieces, it leaves less; but it passes less often, and so it is not the first."""
    return message(
        "less_on_paper",
        name=other.name,
        leaves_g=other.largest_residual_g,
        best_leaves_g=best.largest_residual_g,
        chance=other.pass_chance_pct,
        best_chance=best.pass_chance_pct,
    )
