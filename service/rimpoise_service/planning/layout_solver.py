"""One arrangement made into a layout: its pieces, checked anew, judged, with chance and price."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

from ..messages.message import remark
from ..physics.unbalance import Unbalance, wrap_deg
from ..search.blocks import Unit
from ..search.branch_and_bound import Work
from .arrangements import Arrangement, unmet_wishes
from .joint_solver import Filling, fill
from .models import Job, Layout, Piece
from .pass_probability import pass_chance_pct
from .places import Place
from .sensitivity import most_sensitive
from .tolerance_check import Judge
from .verification import PlanFault, unbalance_left, verify

AGREEMENT = 1e-6
"""How far the search and the check may differ, in shares of the limits: floating point, no more."""


def solve(job: Job, unbalance: Unbalance, arrangement: Arrangement, judge: Judge, work: Work) -> Layout | None:
    """The best pieces for one arrangement, within so much work; None if nothing helps.

    Raises check.PlanFault if they fail the check.
    """
    before = judge.excess(unbalance)
    fillings = [
        (filling, _pieces(arrangement.places, filling))
        for filling in fill(arrangement, unbalance, judge, work)
        if any(filling.units) and filling.excess < before
    ]
    if not fillings:
        return None
    chances = [_chance(job, unbalance, pieces, judge) for _, pieces in fillings]
    chosen = max(range(len(fillings)), key=lambda i: chances[i])
    filling, pieces = fillings[chosen]
    left = _checked(job, arrangement, filling, pieces, judge)
    wishes = unmet_wishes(job.preferences, [p.place for p in pieces if not p.hidden], [p.place for p in pieces])
    residual, excess, gained = judge.residual(left), judge.excess(left), chances[chosen] - chances[0]
    return Layout(
        name=arrangement.name,
        required=arrangement.required(unbalance),
        pieces=pieces,
        residual=residual,
        within_acceptance=judge.accepts(excess),
        excess=excess,
        largest_residual_g=judge.largest_g(residual),
        pass_chance_pct=chances[chosen],
        price=_price(filling),
        unmet_wishes=len(wishes),
        notes=(
            *wishes,
            *([remark("passes_more_often", more=gained)] if chosen else []),
            *([remark("search_cut_short")] if work.cut_short else []),
        ),
        sensitivity=most_sensitive(left, [p.unbalance for p in pieces], judge),
    )


def _checked(
    job: Job, arrangement: Arrangement, filling: Filling, pieces: Sequence[Piece], judge: Judge
) -> Unbalance:
    """What the pieces leave. Raises check.PlanFault if the check finds fault with them or with the search."""
    verify(job, pieces)
    left = unbalance_left(job, pieces)
    excess = judge.excess(left)
    if not math.isclose(excess, filling.excess, rel_tol=AGREEMENT, abs_tol=AGREEMENT):
        raise PlanFault(
            f"{arrangement.name}: the search leaves {filling.excess} of the limits, the check {excess}"
        )
    return left


def _chance(job: Job, unbalance: Unbalance, pieces: Sequence[Piece], judge: Judge) -> float:
    fitted = [p.unbalance for p in pieces]
    return pass_chance_pct(sum(fitted, unbalance), fitted, judge, job.spread)


def _pieces(places: Sequence[Place], filling: Filling) -> tuple[Piece, ...]:
    """Inboard first, then clockwise."""
    return tuple(
        _piece(place, unit)
        for place, units in zip(places, filling.units, strict=True)
        for unit in sorted(units, key=lambda u: wrap_deg(math.degrees(u.angle)))
    )


def _piece(place: Place, unit: Unit) -> Piece:
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


def _price(filling: Filling) -> Decimal | None:
    """The sum of all unit prices; None if any is missing."""
    total = Decimal(0)
    for unit in (u for units in filling.units for u in units):
        if unit.item.unit_price is None:
            return None
        total += unit.item.unit_price * (unit.segments or 1)
    return total
