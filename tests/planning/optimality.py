"""What is wrong with a plan's optimality, by optimisers that know nothing of the solver (``optimisers``)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

from rimpoise_service.planning.arrangements import Arrangement, arrangements
from rimpoise_service.planning.models import Decision, Layout, Piece, Plan, PlanRequest
from rimpoise_service.planning.places import find_places
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.planning.verification import PlanFault, verify
from tests.planning.optimisers import least_effort
from tests.planning.own_problem import LEAST_PROBABILITY, OwnProblem
from tests.planning.own_set_up import set_up
from tests.planning.weighed import Weighed, weigh

ONE_PIECE_MIN, TWO_PIECES_MIN = 0.02, 0.05
"""By no more than this may another filling take less, with one piece a place and with two [min]."""

SHARE = 0.01
"""The same as a share of the effort, where a layout takes more than four minutes."""

SAME = 5e-4
"""Probabilities that differ by no more than this are the same: half of what they are right to."""

SELDOM = {"passes_too_seldom": 0.5}
"""A layout that passes less often than this may be left out as such where another passes more often."""

TURNS_DEG = (0.5, 2.0, 5.0)


@dataclass
class Tally:
    """What many wheels came to: gaps [min] of efforts up to ten minutes, and everything that is wrong."""

    gaps: list[float] = field(default_factory=list)
    proven: int = 0
    faults: list[str] = field(default_factory=list)


def look_at(request: PlanRequest, tally: Tally, name: str = "") -> Plan:
    """Plan a request and compare every layout, and everything that was ruled out, with what optimisers find."""
    plan = make_plan(request)
    if plan.decision is Decision.ALREADY_WITHIN:
        return plan
    seen = find_places(request.wheel, request.stock, request.preferences)
    possible, _ = arrangements(seen.places, static=request.preferences.correction == "static")
    for arrangement in possible:
        if arrangement.way == "halves":
            continue
        layout = next((x for x in plan.layouts if x.name == arrangement.named.text), None)
        found = _of_layout(request, arrangement, layout, tally) if layout else _of_none(request, arrangement, plan)
        tally.faults += [f"{name} {arrangement.named.text}: {fault}" for fault in found]
    return plan


def tolerance_min(request: PlanRequest, weighed: Weighed) -> float:
    """What two ways to the least effort may differ by [min]."""
    least = ONE_PIECE_MIN if request.preferences.max_pieces_per_plane == 1 else TWO_PIECES_MIN
    return max(
        least, SHARE * weighed.effort if weighed.effort > 4 else 0.0, weighed.effort * SAME / weighed.probability
    )


def _of_layout(request: PlanRequest, arrangement: Arrangement, layout: Layout, tally: Tally) -> Iterator[str]:
    problem = set_up(request, arrangement.places, layout.unmet_wishes)
    ours = weigh(problem, layout)
    if layout.probability < LEAST_PROBABILITY:
        found = least_effort(problem)
        if found is not None:
            yield f"passes {layout.probability:.4f}, could pass {found.probability:.4f}"
        return
    room = tolerance_min(request, ours)
    same = max(0.002, layout.effort_min * max(0.002, SAME / layout.probability))
    if abs(ours.reported_effort - layout.effort_min) > same:
        yield f"effort is {ours.reported_effort:.4f}, said {layout.effort_min:.4f}"
    found = least_effort(problem)
    if found is not None:
        if ours.effort < 10:
            tally.gaps.append(ours.effort - found.effort)
            tally.proven += layout.proven_optimal
        if ours.effort > found.effort + room:
            yield f"takes {ours.effort:.4f}, {[b.mass_g for b in found.bodies]} g take {found.effort:.4f}"
        if layout.least_possible_min > found.reported_effort + 1e-3:
            yield f"least is said to be {layout.least_possible_min:.4f}, found {found.reported_effort:.4f}"
    for gain in _turned(request, problem, layout, ours.effort):
        if gain > room:
            yield f"turned, the same pieces take {gain:.4f} less"


def _of_none(request: PlanRequest, arrangement: Arrangement, plan: Plan) -> Iterator[str]:
    """A layout that is not there: nothing helps, or the same pieces are reported under another name."""
    reasons = {m.code for r in plan.ruled_out if r.name == arrangement.named.text for m in r.reasons}
    found = least_effort(set_up(request, arrangement.places, 0)) if reasons or not plan.layouts else None
    best = max((x.probability for x in plan.layouts), default=0.0)
    seldom = [p for code, p in SELDOM.items() if code in reasons and best >= p]
    if found is not None and found.probability >= max(seldom, default=0.0):
        yield f"is ruled out ({', '.join(reasons)}) and could pass {found.probability:.4f}"


def _turned(request: PlanRequest, problem: OwnProblem, layout: Layout, effort: float) -> Iterator[float]:
    """What turning single pieces, or all of them, would gain [min], where that may be."""
    alone = [{i} for i in range(len(layout.pieces))]
    for which, step in product(
        [*alone, set(range(len(layout.pieces)))], [s * t for s in (-1, 1) for t in TURNS_DEG]
    ):
        pieces = [
            replace(p, angle_deg=(p.angle_deg + step) % 360.0) if i in which else p
            for i, p in enumerate(layout.pieces)
        ]
        if _may_be(request, layout, pieces):
            weighed = weigh(problem, replace(layout, pieces=tuple(pieces)))
            if weighed.admitted:
                yield effort - weighed.effort


def _may_be(request: PlanRequest, layout: Layout, pieces: Sequence[Piece]) -> bool:
    """Whether pieces keep the wheel's and the trade's rules; the window's name and sight are left aside."""
    called = {v.plane.name: v.angle_deg for v in layout.required}
    for p in pieces:
        limit = 30.0 if p.style == "clip_on" else 90.0
        if abs((p.angle_deg - called[p.place] + 180.0) % 360.0 - 180.0) > limit:
            return False
    try:
        verify(request, [replace(p, window=None) for p in pieces])
    except PlanFault:
        return False
    return _lips_kept(pieces)


def _lips_kept(pieces: Sequence[Piece]) -> bool:
    """Two clip-ons on a flange have no more than 30° between them."""
    clips = [p for p in pieces if p.style == "clip_on"]
    return all(
        abs((a.angle_deg - b.angle_deg + 180.0) % 360.0 - 180.0) - (a.arc_deg + b.arc_deg) / 2 <= 30.0
        for a in clips
        for b in clips
        if a is not b and a.place == b.place
    )
