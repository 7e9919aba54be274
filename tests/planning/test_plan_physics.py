"""Every layout of every plan, looked at by code that shares nothing with it (``physics``): nothing is wrong."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, fields, is_dataclass, replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from rimpoise_service.physics.readings import Static
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.arrangements import choose_styles
from rimpoise_service.planning.effort import LEAST_PROBABILITY
from rimpoise_service.planning.models import Decision, Layout, Plan, PlanRequest
from rimpoise_service.planning.planner import make_plan
from tests.factories.plan_requests import few_pieces_jobs, many_pieces_jobs
from tests.factories.seeded import shop_job
from tests.planning.effort_again import effort_again
from tests.planning.never_rules import broken_rules
from tests.planning.wheel_physics import bare_wheel, faults, judged, kept_shares, left_on, shelf

IN_ALL = settings(suppress_health_check=[HealthCheck.too_slow])


def numbers_in(value: Any) -> Iterator[float]:
    """Every number of an answer."""
    if isinstance(value, complex):
        yield from (value.real, value.imag)
    elif isinstance(value, int | float | Decimal):
        yield float(value)
    elif is_dataclass(value):
        yield from (n for f in fields(value) for n in numbers_in(getattr(value, f.name)))
    elif isinstance(value, dict):
        yield from (n for inner in value.values() for n in numbers_in(inner))
    elif isinstance(value, tuple | list):
        yield from (n for inner in value for n in numbers_in(inner))


def residual_is_true(plan_request: PlanRequest, layout: Layout) -> None:
    """The residual is that of the pieces: at the planes, in sum, and as a couple about the middle between them."""
    bare_x, bare_y = bare_wheel(plan_request.reading)[:2]
    most = sum(p.mass_g * p.radius_mm for p in layout.pieces) + math.hypot(bare_x, bare_y) + 1
    x, y, zx, zy = left_on(plan_request, layout)
    assert layout.residual.static == pytest.approx(complex(x, y), abs=1e-9 * most)
    in_planes, static_g = judged(plan_request, layout)
    assert layout.residual.static_g == pytest.approx(static_g, abs=1e-10 * most)
    for reported, (there_x, there_y) in zip(layout.residual.planes, in_planes, strict=True):
        there = complex(there_x, there_y) * reported.plane.radius_mm
        assert reported.vector == pytest.approx(there, abs=1e-7 * most)
    if layout.residual.planes:
        middle = sum(v.plane.position_mm for v in layout.residual.planes) / 2
        couple = complex(zx - x * middle, zy - y * middle)
        assert layout.residual.couple == pytest.approx(couple, abs=1e-6 * most)


def required_is_exact(plan_request: PlanRequest, layout: Layout) -> None:
    """The exact weights make the static sum zero, and in two planes the moment."""
    x, y, zx, zy = bare_wheel(plan_request.reading)
    vectors = [(v.vector, v.plane.position_mm) for v in layout.required]
    size = abs(complex(x, y)) + abs(complex(zx, zy)) / 100 + 1
    assert abs(sum(v for v, _ in vectors) + complex(x, y)) <= 1e-9 * size
    if "static" not in layout.name:
        assert abs(sum(v * z for v, z in vectors) + complex(zx, zy)) <= 1e-6 * size


def totals_are_sums(plan_request: PlanRequest, layout: Layout) -> None:
    """Mass, what can be seen, and price, added up again."""
    price = {i.sku: i.unit_price for i in shelf(plan_request)}
    assert layout.total_mass_g == pytest.approx(math.fsum(p.mass_g for p in layout.pieces))
    assert layout.visible_pieces == len([p for p in layout.pieces if not p.hidden])
    paid = [(price[p.sku], 1 if p.segments is None else p.segments) for p in layout.pieces]
    known = [each * count for each, count in paid if each is not None]
    assert layout.price == (sum(known, Decimal()) if len(known) == len(paid) else None)


def wishes_are_counted(plan_request: PlanRequest, layout: Layout) -> None:
    """A place on the face, or every place where a weight is seen, breaks its wish, and is said."""
    wishes = {
        "no_preference": 0,
        "clean_face": int(any(p.place == "outboard_flange" for p in layout.pieces)),
        "out_of_sight": len({p.place for p in layout.pieces if not p.hidden}),
    }[plan_request.preferences.appearance]
    assert len([n for n in layout.notes if n.code in ("face_not_clean", "can_be_seen")]) == wishes
    assert layout.unmet_wishes == wishes


def effort_is_true(plan_request: PlanRequest, plan: Plan, layout: Layout) -> None:
    """Each part, made again from the pieces; and no less than its bound."""
    reported = asdict(layout.effort_parts)
    assert layout.effort_min == pytest.approx(sum(reported.values()))
    assert layout.least_possible_min <= layout.effort_min + 1e-9
    if plan.evaluator is not None and plan.evaluator.planes:
        parts, in_doubt = effort_again(plan_request, layout, plan.effort, plan.evaluator.planes)
        assert in_doubt or reported == pytest.approx(asdict(parts), abs=1e-6)


def rank(layout: Layout) -> tuple[bool, float]:
    """By effort; those that hardly ever pass come last, by what they leave."""
    hardly_ever = layout.probability < LEAST_PROBABILITY
    return hardly_ever, layout.limit_ratio if hardly_ever else layout.effort_min


def ranked_by_effort(plan: Plan) -> None:
    """The first is among those within 0.05 min of the least, and the cheapest of them; the others in order.

    Where any passes half of the time, only such a one is first. Where none passes, it is among those that leave
    the least, but for a fiftieth.
    """
    passing = [x for x in plan.layouts if x.probability >= LEAST_PROBABILITY]
    if passing:
        may_be_first = [x for x in passing if x.probability >= 0.5] or passing
        least = min(x.effort_min for x in may_be_first)
        equals = [x for x in may_be_first if x.effort_min <= least + 0.05]
        prices = [math.inf if x.price is None else float(x.price) for x in equals]
        assert plan.layouts[0] in equals
        assert prices[equals.index(plan.layouts[0])] == min(prices)
    elif plan.layouts:
        assert plan.layouts[0].limit_ratio <= 1.02 * min(x.limit_ratio for x in plan.layouts) + 1e-9
    ranks = [rank(x) for x in plan.layouts[1:]]
    assert ranks == sorted(ranks)


def decision_is_true(plan: Plan) -> None:
    """Fit where the first is within acceptance and passes half of the time; a cause first hides it."""
    if not plan.layouts:
        without = (Decision.ALREADY_WITHIN, Decision.NONE_POSSIBLE, Decision.FIND_CAUSE_FIRST)
        assert plan.decision in without
        return
    first = plan.layouts[0]
    assert plan.before is not None
    if plan.decision is Decision.FIND_CAUSE_FIRST:
        assert (plan.recommended, plan.alternatives) == (None, plan.layouts)
        return
    good = first.within_acceptance and first.probability >= 0.5
    assert plan.decision == (Decision.FIT if good else Decision.BEST_EFFORT)
    assert (plan.recommended, plan.alternatives) == (first, plan.layouts[1:])


def judged_statically(plan_request: PlanRequest, plan: Plan) -> bool:
    """Where it is requested, where a motorcycle's reading is static, and where one plane alone is to be had.

    There not if the static sum is within its limit: one of the planes is over its own then.
    """
    wishes = plan_request.preferences
    dynamic = replace(plan_request, preferences=replace(wishes, correction="dynamic"))
    choices = choose_styles(dynamic.wheel, dynamic.stock, dynamic.preferences).choices
    by_reading = isinstance(plan_request.reading, Static) and plan_request.wheel.vehicle_class == "motorcycle"
    assert isinstance(plan.acceptance, Acceptance)
    over = plan.before is not None and plan.before.static_g > plan.acceptance.static_g * (1 + 1e-6)
    one_plane = not any(len(c.places) == 2 for c in choices)
    return wishes.correction == "static" or by_reading or (one_plane and over)


def look_at(plan_request: PlanRequest) -> Plan:
    """Plan it, and look at all of it."""
    plan = make_plan(plan_request)
    assert all(math.isfinite(n) for n in numbers_in(plan))
    assert isinstance(plan.acceptance, Acceptance)
    static_only = judged_statically(plan_request, plan)
    for layout in plan.layouts:
        assert layout.pieces
        assert faults(plan_request, layout) == []
        residual_is_true(plan_request, layout)
        required_is_exact(plan_request, layout)
        totals_are_sums(plan_request, layout)
        wishes_are_counted(plan_request, layout)
        effort_is_true(plan_request, plan, layout)
        shares = kept_shares(plan_request, layout, plan.acceptance, static_only=static_only)
        assert layout.limit_ratio == pytest.approx(max(shares), rel=1e-6, abs=1e-9)
        assert layout.within_acceptance == (max(shares) <= 1 + 1e-6) or max(shares) == pytest.approx(1)
        assert 0 <= layout.pass_chance_pct <= 100
    if plan.layouts:
        assert broken_rules(plan_request, plan) == []
    ranked_by_effort(plan)
    decision_is_true(plan)
    return plan


@pytest.mark.parametrize("seed", [1, 11, 27])
def test_the_same_question_has_the_same_answer(seed: int) -> None:
    assert make_plan(shop_job(seed)) == make_plan(shop_job(seed))


@given(few_pieces_jobs)
@settings(IN_ALL, max_examples=30)
def test_nothing_is_wrong_at_the_edges(plan_request: PlanRequest) -> None:
    look_at(plan_request)


@pytest.mark.slow
@given(many_pieces_jobs)
@settings(IN_ALL, max_examples=20)
def test_nothing_is_wrong_with_many_strips(plan_request: PlanRequest) -> None:
    look_at(plan_request)


@pytest.mark.slow
@pytest.mark.parametrize("seeds", [range(k, k + 12) for k in range(0, 60, 12)])
def test_nothing_is_wrong_in_the_shop(seeds: range) -> None:
    decisions = {look_at(shop_job(seed)).decision for seed in seeds}
    assert {Decision.FIT, Decision.BEST_EFFORT, Decision.NONE_POSSIBLE} <= decisions


@pytest.mark.parametrize("pieces", [3, 4])
def test_nothing_is_wrong_with_many_pieces_in_the_shop(pieces: int) -> None:
    found = [len(layout.pieces) for seed in range(8) for layout in look_at(shop_job(seed, pieces)).layouts]
    assert max(found) > 3
