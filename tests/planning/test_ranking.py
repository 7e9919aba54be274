"""Which layout comes first, and in what order the others follow; no layout twice, none that fits nothing."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.effort import EffortParts
from rimpoise_service.planning.layout_name import LayoutName, StyleAt
from rimpoise_service.planning.layout_search import PLAN_WORK
from rimpoise_service.planning.models import Layout
from rimpoise_service.planning.planner import make_plan, ranked
from rimpoise_service.planning.tolerance_check import ToleranceEvaluator
from tests.factories.by_hand import request, two_plane, wheel
from tests.factories.seeded import shop_job

PLAN = make_plan(request(two_plane(30, 40, 20, 210), wheel()))
FIRST = PLAN.layouts[0]
JUDGE = ToleranceEvaluator.at(tuple(v.plane for v in PLAN.required), Acceptance(5, 5), static_only=False)


def like(name: str, effort_min: float, **changes: object) -> Layout:
    """A layout of that effort."""
    parts = EffortParts(effort_min, 0.0, 0.0, 0.0, 0.0)
    return replace(FIRST, named=LayoutName("place", (StyleAt("clip_on", name),)), effort_parts=parts, **changes)  # type: ignore[arg-type]


def names(*layouts: Layout) -> list[str]:
    """In their order."""
    return [x.named.parts[0].place for x in ranked(layouts, JUDGE)]


def test_by_effort() -> None:
    assert names(like("c", 3.0), like("a", 1.0), like("b", 2.0)) == ["a", "b", "c"]


@pytest.mark.parametrize(("more_min", "first"), [(0.049, "cheap"), (0.051, "dear")])
def test_within_a_twentieth_of_a_minute_the_cheapest_is_first(more_min: float, first: str) -> None:
    dear, cheap = like("dear", 1.0, price=Decimal(3)), like("cheap", 1.0 + more_min, price=Decimal(2))
    assert names(dear, cheap)[0] == first


def test_without_prices_the_lightest_is_first_then_the_order_of_places() -> None:
    light = replace(FIRST.pieces[0], mass_g=1.0)
    heavy, lighter = like("heavy", 1.0, price=None), like("light", 1.04, price=None, pieces=(light,))
    assert names(heavy, lighter) == ["light", "heavy"]
    one, two = like("one", 1.04, price=None), like("two", 1.0, price=None)
    assert names(one, two) == ["one", "two"]
    priced = like("priced", 1.04, price=Decimal(9))
    assert names(heavy, priced) == ["priced", "heavy"]


def test_only_the_first_is_moved() -> None:
    """The others keep the order of their efforts."""
    some = [like("a", 1.0), like("b", 1.01, price=Decimal("0.01")), like("c", 1.02)]
    assert names(*reversed(some)) == ["b", "a", "c"]


def test_what_hardly_ever_passes_comes_last_by_what_it_leaves() -> None:
    hopeless = [
        like("worse", 1.0, probability=0.0099, limit_ratio=4.0),
        like("bad", 500.0, probability=0.001, limit_ratio=3.0),
    ]
    assert names(*hopeless, like("passes", 300.0, probability=0.01, limit_ratio=5.0)) == ["passes", "bad", "worse"]
    assert names(*hopeless) == ["bad", "worse"]
    assert ranked([], JUDGE) == []


def test_what_passes_half_of_the_time_comes_before_what_does_not() -> None:
    """Lighter and within 0.05 min, or even less effort: it would be a best effort beside one that fits."""
    seldom, over = like("seldom", 0.9, probability=0.498), like("over", 0.8, within_acceptance=False)
    assert names(like("often", 1.0), seldom, over) == ["often", "over", "seldom"]
    assert names(seldom, like("seldomer", 1.0, probability=0.4)) == ["seldom", "seldomer"]


@pytest.mark.parametrize("seed", range(0, 40, 4))
def test_no_layout_is_another_and_the_work_is_bounded(seed: int) -> None:
    plan = make_plan(shop_job(seed))
    spots = [sorted((p.place, p.sku, round(p.angle_deg, 4)) for p in x.pieces) for x in plan.layouts]
    assert all(spots)
    assert all(one not in spots[:i] for i, one in enumerate(spots))
    assert len({x.name for x in plan.layouts}) == len(plan.layouts)
    assert 0 <= plan.work <= 1.1 * PLAN_WORK


def test_the_work_is_reported() -> None:
    assert 100 < PLAN.work < PLAN_WORK / 10
