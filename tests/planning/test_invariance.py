"""The least effort does not depend on how the wheel lies or is described."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.planning.models import Layout, Plan, PlanRequest
from rimpoise_service.planning.planner import make_plan
from tests.planning.motions import mirrored, rotated, scaled, shifted, swapped
from tests.planning.optimiser_wheels import wheel_of

pytestmark = pytest.mark.slow

SAME_MIN = 1e-6
Move = Callable[[PlanRequest], PlanRequest]


@cache
def plan_of(seed: int, pieces: int) -> Plan:
    """The plan of a wheel as it stands."""
    return make_plan(wheel_of(seed, pieces))


def comparable(plan: Plan) -> dict[str, Layout]:
    """Layouts that are proven, and so are the least whatever the way there; by name."""
    return {x.name: x for x in plan.layouts if x.proven_optimal and x.probability >= 0.1}


def same(seed: int, pieces: int, move: Move, turn: Callable[[float], float] = lambda angle: angle) -> None:
    """The same effort for every layout; and with one piece a place the same pieces, moved."""
    plain, moved = plan_of(seed, pieces), make_plan(move(wheel_of(seed, pieces)))
    assert plain.decision == moved.decision
    others = comparable(moved)
    for name, layout in comparable(plain).items():
        assert others[name].effort_min == pytest.approx(layout.effort_min, abs=SAME_MIN)
        if pieces == 1:
            for one, other in zip(layout.pieces, others[name].pieces, strict=True):
                assert (one.place, one.sku, one.segments) == (other.place, other.sku, other.segments)
                assert abs(math.remainder(turn(one.angle_deg) - other.angle_deg, 360.0)) < 0.01


seeds, pieces = st.integers(0, 59), st.sampled_from([1, 1, 2])


@given(seeds, pieces, st.floats(0, 360))
@settings(max_examples=40)
def test_turned_by_any_angle(seed: int, pieces: int, by_deg: float) -> None:
    same(seed, pieces, lambda r: rotated(r, by_deg), lambda angle: angle + by_deg)


@given(seeds, pieces)
@settings(max_examples=40)
def test_mirrored(seed: int, pieces: int) -> None:
    same(seed, pieces, mirrored, lambda angle: -angle)


@given(seeds, pieces, st.floats(-300, 300))
@settings(max_examples=40)
def test_from_another_datum(seed: int, pieces: int, by_mm: float) -> None:
    same(seed, pieces, lambda r: shifted(r, by_mm))


@given(seeds, pieces, st.floats(0.5, 3))
@settings(max_examples=40)
def test_all_lengths_larger(seed: int, pieces: int, by: float) -> None:
    same(seed, pieces, lambda r: scaled(r, by))


@given(seeds, pieces)
@settings(max_examples=30)
def test_planes_in_the_other_order(seed: int, pieces: int) -> None:
    same(seed, pieces, swapped)


@given(seeds, pieces, st.sampled_from([-1e-6, 1e-6]), st.sampled_from(["mass_g", "angle_deg", "radius_mm"]))
@settings(max_examples=40)
def test_a_millionth_more_changes_next_to_nothing(seed: int, pieces: int, by: float, column: str) -> None:
    plain = wheel_of(seed, pieces)
    assert isinstance(plain.reading, TwoPlane)
    first, second = plain.reading.planes
    moved = replace(first, **{column: getattr(first, column) * (1 + by)})
    other = make_plan(replace(plain, reading=replace(plain.reading, planes=(moved, second))))
    before, after = comparable(plan_of(seed, pieces)), comparable(other)
    for name in before.keys() & after.keys():
        assert after[name].effort_min == pytest.approx(before[name].effort_min, abs=1e-3)
