"""One arrangement made into a layout: its pieces, checked anew, judged, with chance and price."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from decimal import Decimal

from ..messages.message import Message, message
from ..physics.unbalance import Unbalance, wrap_deg
from ..search.blocks import FittedWeight
from ..search.branch_and_bound import WorkBudget
from .arrangements import Arrangement, unmet_wishes
from .joint_solver import JointChoice, fill
from .models import Layout, Piece, PlanRequest
from .pass_probability import pass_chance_pct
from .places import Place
from .sensitivity import most_sensitive
from .tolerance_check import ToleranceEvaluator
from .verification import PlanFault, unbalance_left, verify

AGREEMENT = 1e-6
"""How far the search and the check may differ, in shares of the limits: floating point, no more."""


def solve(
    request: PlanRequest,
    unbalance: Unbalance,
    arrangement: Arrangement,
    evaluator: ToleranceEvaluator,
    work: WorkBudget,
) -> Layout | None:
    """The best pieces for one arrangement, within so much work; None if nothing helps.

    Raises verification.PlanFault if they fail the check.
    """
    before = evaluator.limit_ratio(unbalance)
    fillings = [
        (filling, _pieces(arrangement.places, filling))
        for filling in fill(arrangement, unbalance, evaluator, work)
        if any(filling.units) and filling.limit_ratio < before
    ]
    if not fillings:
        return None
    chances = [_chance(request, unbalance, pieces, evaluator) for _, pieces in fillings]
    chosen = max(range(len(fillings)), key=lambda i: chances[i])
    filling, pieces = fillings[chosen]
    left = _checked(request, arrangement, filling, pieces, evaluator)
    places, seen = [p.place for p in pieces], [p.place for p in pieces if not p.hidden]
    wishes = unmet_wishes(request.preferences, seen, places)
    residual, limit_ratio = evaluator.residual(left), evaluator.limit_ratio(left)
    return Layout(
        name=arrangement.name,
        required=arrangement.required(unbalance),
        pieces=pieces,
        residual=residual,
        within_acceptance=evaluator.accepts(limit_ratio),
        limit_ratio=limit_ratio,
        largest_residual_g=evaluator.largest_g(residual),
        pass_chance_pct=chances[chosen],
        price=_price(filling),
        unmet_wishes=len(wishes),
        notes=(*wishes, *_notes(chances[chosen] - chances[0] if chosen else None, work)),
        sensitivity=most_sensitive(left, [p.unbalance for p in pieces], evaluator),
    )


def _notes(gained: float | None, work: WorkBudget) -> Iterator[Message]:
    """Of a choice that passes more often than the one that leaves least [points], and of a search cut off."""
    if gained is not None:
        yield message("passes_more_often", more=gained)
    if work.exhausted:
        yield message("search_cut_short")


def _checked(
    request: PlanRequest,
    arrangement: Arrangement,
    filling: JointChoice,
    pieces: Sequence[Piece],
    evaluator: ToleranceEvaluator,
) -> Unbalance:
    """What the pieces leave. Raises verification.PlanFault if the check faults them or the search."""
    verify(request, pieces)
    left = unbalance_left(request, pieces)
    limit_ratio = evaluator.limit_ratio(left)
    if not math.isclose(limit_ratio, filling.limit_ratio, rel_tol=AGREEMENT, abs_tol=AGREEMENT):
        raise PlanFault(
            f"{arrangement.name}: the search leaves {filling.limit_ratio} of the limits, the check {limit_ratio}"
        )
    return left


def _chance(
    request: PlanRequest, unbalance: Unbalance, pieces: Sequence[Piece], evaluator: ToleranceEvaluator
) -> float:
    fitted = [p.unbalance for p in pieces]
    return pass_chance_pct(sum(fitted, unbalance), fitted, evaluator, request.spread)


def _pieces(places: Sequence[Place], filling: JointChoice) -> tuple[Piece, ...]:
    """Inboard first, then clockwise."""
    return tuple(
        _piece(place, unit)
        for place, units in zip(places, filling.units, strict=True)
        for unit in sorted(units, key=lambda u: wrap_deg(math.degrees(u.angle)))
    )


def _piece(place: Place, unit: FittedWeight) -> Piece:
    angle, arc = wrap_deg(math.degrees(unit.angle)), math.degrees(2 * unit.half_arc)
    return Piece(
        place=place.name,
        side=place.side,
        style=place.style,
        sku=unit.item.sku,
        label=unit.item.label,
        material=unit.item.material,
        mass_g=unit.mass_g,
        segments=unit.segments,
        position_mm=place.position_mm,
        radius_mm=unit.radius_mm,
        effective_gmm=unit.size,
        angle_deg=angle,
        window=unit.window,
        arc_deg=arc,
        length_mm=unit.length_mm,
        hidden=place.hides(angle, arc),
        location=unit.item.location,
    )


def _price(filling: JointChoice) -> Decimal | None:
    """The sum of all unit prices; None if any is missing."""
    total = Decimal(0)
    for unit in (u for units in filling.units for u in units):
        if unit.item.unit_price is None:
            return None
        total += unit.item.unit_price * (unit.segments or 1)
    return total
