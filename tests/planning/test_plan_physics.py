"""Every layout of every plan, looked at by code that shares nothing with it (``physics``): nothing is wrong."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.models import Decision, Layout, Plan, PlanRequest
from rimpoise_service.planning.planner import make_plan
from tests.factories.plan_requests import few_pieces_jobs, many_pieces_jobs
from tests.factories.seeded import shop_job
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
    for told, (there_x, there_y) in zip(layout.residual.planes, in_planes, strict=True):
        there = complex(there_x, there_y) * told.plane.radius_mm
        assert told.vector == pytest.approx(there, abs=1e-7 * most)
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
    """Mass, what can be seen, and price, added up anew."""
    price = {i.sku: i.unit_price for i in shelf(plan_request)}
    assert layout.total_mass_g == pytest.approx(math.fsum(p.mass_g for p in layout.pieces))
    assert layout.visible_pieces == len([p for p in layout.pieces if not p.hidden])
    paid = [(price[p.sku], 1 if p.segments is None else p.segments) for p in layout.pieces]
    known = [each * count for each, count in paid if each is not None]
    assert layout.price == (sum(known, Decimal()) if len(known) == len(paid) else None)


def merit(plan_request: PlanRequest, layout: Layout) -> tuple[Any, ...]:
    """The documented rule: accepted, wishes, pieces, chance, mass, price; outside, what is left comes first."""
    wishes = {
        "no_preference": 0,
        "clean_face": int(any(p.place == "outboard_flange" for p in layout.pieces)),
        "out_of_sight": len({p.place for p in layout.pieces if not p.hidden}),
    }[plan_request.preferences.appearance]
    assert len([n for n in layout.notes if n.code in ("face_not_clean", "can_be_seen")]) == wishes
    price = math.inf if layout.price is None else float(layout.price)
    rest = (wishes, len(layout.pieces), -layout.pass_chance_pct, sum(p.mass_g for p in layout.pieces), price)
    return (False, *rest) if layout.within_acceptance else (True, layout.limit_ratio, *rest)


def look_at(plan_request: PlanRequest) -> Plan:
    """Plan it, look at all of it, and ask again."""
    plan = make_plan(plan_request)
    assert all(math.isfinite(n) for n in numbers_in(plan))
    assert isinstance(plan.acceptance, Acceptance)
    for layout in plan.layouts:
        assert layout.pieces
        assert faults(plan_request, layout) == []
        residual_is_true(plan_request, layout)
        required_is_exact(plan_request, layout)
        totals_are_sums(plan_request, layout)
        shares = kept_shares(plan_request, layout, plan.acceptance)
        assert layout.limit_ratio == pytest.approx(max(shares), rel=1e-6, abs=1e-9)
        assert layout.within_acceptance == (max(shares) <= 1 + 1e-6) or max(shares) == pytest.approx(1)
        assert 0 <= layout.pass_chance_pct <= 100
    merits = [merit(plan_request, layout) for layout in plan.layouts]
    assert merits == sorted(merits)
    if plan.layouts:
        best = Decision.FIT if plan.layouts[0].within_acceptance else Decision.BEST_EFFORT
        assert (plan.decision, plan.recommended) == (best, plan.layouts[0])
        assert plan.before is not None
    else:
        assert plan.decision in (Decision.ALREADY_WITHIN, Decision.NONE_POSSIBLE)
    assert plan == make_plan(plan_request)
    return plan


@given(few_pieces_jobs)
@settings(IN_ALL, max_examples=150)
def test_nothing_is_wrong_at_the_edges(plan_request: PlanRequest) -> None:
    look_at(plan_request)


@given(many_pieces_jobs)
@settings(IN_ALL, max_examples=40)
def test_nothing_is_wrong_with_many_strips(plan_request: PlanRequest) -> None:
    look_at(plan_request)


@pytest.mark.parametrize("seeds", [range(k, k + 50) for k in range(0, 250, 50)])
def test_nothing_is_wrong_in_the_shop(seeds: range) -> None:
    decisions = {look_at(shop_job(seed)).decision for seed in seeds}
    assert {Decision.FIT, Decision.BEST_EFFORT, Decision.NONE_POSSIBLE} <= decisions


@pytest.mark.parametrize("pieces", [3, 4])
def test_nothing_is_wrong_with_many_pieces_in_the_shop(pieces: int) -> None:
    found = [len(layout.pieces) for seed in range(20) for layout in look_at(shop_job(seed, pieces)).layouts]
    assert max(found) > pieces
