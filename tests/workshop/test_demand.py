"""Demand counted again from single plans."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from rimpoise_service.model.stock import BUILTIN, Stock
from rimpoise_service.planning.models import Decision, Plan, PlanRequest
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.workshop.demand import AS_ASKED, Outcome, Shelf, demand
from tests.factories.by_hand import FIVES, NO_FLANGE, clips, land, request, static, strip, two_plane, wheel

PRICED = Stock(clips(*range(5, 65, 5), unit_price=Decimal("0.35")), (strip(unit_price=Decimal("0.10")),))
LANDS = wheel(outboard=NO_FLANGE, lands=(land("inner", -90.0), land("outer", 80.0)))
REQUESTS = [
    request(two_plane(31, 40, 44, 200), wheel()),
    request(two_plane(22, 300, 13, 100), LANDS, PRICED),
    request(two_plane(1, 300, 1, 100), wheel()),
    request(static(37, 10), wheel()),
    request(two_plane(31, 40, 44, 200), wheel(), inspection=("bent_wheel",)),
]


def recount(outcome: Outcome, plans: Sequence[Plan]) -> None:
    """Hold an outcome against the plans that it should be of."""
    layouts = [plan.recommended for plan in plans if plan.recommended]
    pieces = [piece for layout in layouts for piece in layout.pieces]
    assert outcome.wheels == len(plans)
    assert outcome.fitted == len(layouts)
    assert dict(outcome.decisions) == Counter(plan.decision for plan in plans)
    within = (Decision.FIT, Decision.ALREADY_WITHIN)
    assert outcome.within_acceptance == sum(plan.decision in within for plan in plans)
    means: dict[str, list[float]] = {
        "mean_static_g": [layout.residual.static_g for layout in layouts],
        "mean_largest_residual_g": [layout.largest_residual_g for layout in layouts],
        "mean_pass_chance_pct": [layout.pass_chance_pct for layout in layouts],
        "mean_pieces": [len(layout.pieces) for layout in layouts],
        "mean_mass_g": [sum(piece.mass_g for piece in layout.pieces) for layout in layouts],
    }
    for name, values in means.items():
        assert getattr(outcome, name) == (pytest.approx(sum(values) / len(values)) if values else None)
    priced = [layout.price for layout in layouts if layout.price is not None]
    assert outcome.price == sum(priced)
    assert outcome.unpriced == len(layouts) - len(priced)
    assert {use.sku: use.pieces for use in outcome.skus} == Counter(piece.sku for piece in pieces)
    assert [use.pieces for use in outcome.skus] == sorted((use.pieces for use in outcome.skus), reverse=True)
    for use in outcome.skus:
        alike = [piece for piece in pieces if piece.sku == use.sku]
        assert (use.style, use.material) == (alike[0].style, alike[0].material)
        segments = [piece.segments for piece in alike if piece.segments is not None]
        assert use.segments == (sum(segments) if segments else None)
        assert use.wheels == sum(any(p.sku == use.sku for p in layout.pieces) for layout in layouts)
    assert {(use.style, use.mass_g): use.pieces for use in outcome.masses} == Counter(
        (piece.style, piece.mass_g) for piece in pieces
    )


def with_stock(requested: PlanRequest, stock: Stock) -> PlanRequest:
    """The request with another stock and the 5 g that its own stock sets."""
    acceptance = make_plan(requested).acceptance
    return replace(requested, stock=stock, acceptance=acceptance)


def test_outcomes_are_those_of_the_single_plans() -> None:
    fine = Stock(clips(*(2.5 * n for n in range(1, 25))), (strip(2.5),))
    shelves = [Shelf("fine", fine), Shelf("nothing", Stock())]
    first, *others = demand(REQUESTS, shelves)
    assert [outcome.shelf for outcome in (first, *others)] == [AS_ASKED, "fine", "nothing"]
    recount(first, [make_plan(requested) for requested in REQUESTS])
    assert first.unpriced
    assert first.price
    assert {use.style for use in first.skus} == {"clip_on", "adhesive"}, "else the jobs were too tame"
    for outcome, shelf in zip(others, shelves, strict=True):
        recount(outcome, [make_plan(with_stock(requested, shelf.stock)) for requested in REQUESTS])


def test_another_stock_is_held_to_the_same_limits() -> None:
    """The ounce set alone would be held to 1/4 oz = 7.09 g, any other stock to 5 g."""
    requested = request(static(6, 0), wheel(), BUILTIN["ounce"])
    outcomes = list(demand([requested], [Shelf("fives", FIVES)]))
    assert [dict(outcome.decisions) for outcome in outcomes] == [{Decision.ALREADY_WITHIN: 1}] * 2


def test_another_stock_is_held_to_the_limits_of_the_class() -> None:
    """A van's 7 g, common practice: 6 g stay on it with any stock, and are too much for a car."""
    vans = [request(static(6, 0), wheel(vehicle_class=name), FIVES) for name in ("van", "car")]
    (of_van,), (of_car,) = (
        [dict(o.decisions) for o in demand([each], [Shelf("fives", FIVES)])][1:] for each in vans
    )
    assert of_van == {Decision.ALREADY_WITHIN: 1}
    assert Decision.ALREADY_WITHIN not in of_car


def test_nothing_has_no_means() -> None:
    (outcome,) = demand([], [])
    recount(outcome, [])
    assert (outcome.mean_static_g, outcome.mean_pieces, outcome.skus, outcome.masses) == (None, None, (), ())
