"""A wheel with one plane for weights, the static sum within its limit and a plane over its own."""

from __future__ import annotations

import pytest

from rimpoise_service.model.stock import Stock
from rimpoise_service.planning.models import Decision, PlanRequest
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import NO_FLANGE, clips, codes, fitted, land, request, strip, two_plane, wheel

STRIPS = Stock((), (strip(2.5), strip(5.0)))
NO_FLANGES = {"inboard": NO_FLANGE, "outboard": NO_FLANGE}


def one_flange(*called: float, masses_g: tuple[float, ...] = (5, 10, 15)) -> PlanRequest:
    """An outer rim without a lip, and no land."""
    return request(two_plane(*called), wheel(outboard=NO_FLANGE), Stock(clips(*masses_g)))


@pytest.mark.parametrize("position_mm", [-60.0, 0.0, 60.0])
@pytest.mark.parametrize("outer_g", [12.0, 12.5])
def test_weights_that_cancel_each_other_are_not_fitted(position_mm: float, outer_g: float) -> None:
    """12 g opposite each other: strips on one land change no couple, so none goes on, and the couple is said."""
    one_land = wheel(**NO_FLANGES, lands=(land("middle", position_mm),))
    plan = make_plan(request(two_plane(12, 0, outer_g, 180), one_land, STRIPS))
    assert plan.decision is Decision.NONE_POSSIBLE
    assert codes(plan.reasons) == ["other_places_needed"]
    assert "couple_stays" in codes(plan.warnings)


@pytest.mark.parametrize("called", [(20, 0, 21, 180), (12, 0, 12, 180)])
def test_other_masses_are_not_said_to_help(called: tuple[float, ...]) -> None:
    """1 g of static sum needs no weight; what is over its limit is the couple."""
    plan = make_plan(one_flange(*called))
    assert (plan.decision, codes(plan.reasons)) == (Decision.NONE_POSSIBLE, ["other_places_needed"])


def test_a_weight_that_brings_the_plane_within_its_limit_is_fitted() -> None:
    """7 and 2 g opposed: 5 g inboard leave 2 g each, and both planes are judged."""
    plan = make_plan(one_flange(7, 0, 2, 180))
    assert plan.decision is Decision.FIT
    assert fitted(plan) == [("inboard_flange", 5, 0)]
    assert plan.evaluator is not None
    assert not plan.evaluator.static_only
    assert "couple_stays" not in codes(plan.warnings)


def test_statically_where_the_static_sum_is_over_its_limit() -> None:
    """30 and 8 g opposed: 22 g statically, which leave a couple."""
    plan = make_plan(one_flange(30, 0, 8, 180, masses_g=(10, 20, 22)))
    assert plan.decision is Decision.FIT
    assert fitted(plan) == [("inboard_flange", 22, 0)]
    assert "couple_stays" in codes(plan.warnings)


@pytest.mark.parametrize("stock", [Stock(), Stock(clips(5))])
def test_one_plane_is_not_blamed_where_no_place_takes_a_weight(stock: Stock) -> None:
    """Nothing in stock, or clips and no lip for them: it is not that there is one plane alone."""
    lips = {} if stock == Stock() else NO_FLANGES
    plan = make_plan(request(two_plane(37, 80, 23, 255), wheel(**lips), stock))
    assert plan.decision is Decision.NONE_POSSIBLE
    assert "couple_stays" not in codes(plan.warnings)
