"""Vectors: directions, clocks, and sums that don't depend on where one looks from."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from rimpoise_service.physics.unbalance import PointMass, Unbalance, angle_deg, clock, force_n, polar, wrap_deg
from tests.factories.strategies import angles, point_masses, positions, some_masses, turns


@given(st.floats(-1e9, 1e9))
@example(-1e-17)
@example(-5e-324)
@example(359.99999999999994)
@example(360.0)
@example(-360.0)
@example(-0.0)
def test_wrap_never_says_360(angle: float) -> None:
    wrapped = wrap_deg(angle)
    assert 0 <= wrapped < 360
    exact = Fraction(angle) % 360
    assert min(abs(Fraction(wrapped) - exact), 360 - abs(Fraction(wrapped) - exact)) < Fraction(1, 10**12)


@given(st.floats(-1e4, 1e4))
def test_wrapping_twice_changes_nothing(angle: float) -> None:
    assert wrap_deg(wrap_deg(angle)) == wrap_deg(angle)


@given(st.floats(1e-3, 1e6), angles)
def test_polar_and_back(size: float, angle: float) -> None:
    vector = polar(size, angle)
    assert vector.real == pytest.approx(size * math.cos(math.radians(angle)), abs=1e-9 * size)
    assert vector.imag == pytest.approx(size * math.sin(math.radians(angle)), abs=1e-9 * size)
    assert abs(vector) == pytest.approx(size)
    back = angle_deg(vector)
    assert 0 <= back < 360
    assert abs((back - angle + 180) % 360 - 180) < 1e-9


@given(st.complex_numbers(max_magnitude=1e12))
def test_a_direction_is_always_in_range(vector: complex) -> None:
    assert 0 <= angle_deg(vector) < 360


def test_nothing_points_nowhere() -> None:
    assert angle_deg(0j) == 0
    assert angle_deg(complex(-0.0, -0.0)) == 0


@pytest.mark.parametrize(
    ("angle", "time"),
    [(0, "12:00"), (30, "1:00"), (90, "3:00"), (180, "6:00"), (270, "9:00"), (330, "11:00"), (0.5, "12:01")],
)
def test_clock(angle: float, time: str) -> None:
    """1° is two minutes of the hour hand (common practice, no source)."""
    assert clock(angle) == time


@given(angles)
@example(359.75)
@example(359.74)
@example(29.76)
def test_a_clock_is_never_a_minute_out(angle: float) -> None:
    hours, minutes = clock(angle).split(":")
    assert 1 <= int(hours) <= 12
    assert 0 <= int(minutes) <= 59
    assert len(minutes) == 2
    reported = (int(hours) % 12) * 30 + int(minutes) / 2
    assert abs((reported - angle + 180) % 360 - 180) <= 0.25 + 1e-9


@given(some_masses)
def test_sums_by_hand(masses: list[PointMass]) -> None:
    """Cartesian components added up with math.fsum, no complex numbers."""
    x = math.fsum(m.mass_g * m.radius_mm * math.cos(math.radians(m.angle_deg)) for m in masses)
    y = math.fsum(m.mass_g * m.radius_mm * math.sin(math.radians(m.angle_deg)) for m in masses)
    xz = math.fsum(m.mass_g * m.radius_mm * math.cos(math.radians(m.angle_deg)) * m.position_mm for m in masses)
    yz = math.fsum(m.mass_g * m.radius_mm * math.sin(math.radians(m.angle_deg)) * m.position_mm for m in masses)
    unbalance = Unbalance.of(masses)
    assert abs(unbalance.static - complex(x, y)) < 1e-7
    assert abs(unbalance.moment - complex(xz, yz)) < 1e-4


@given(some_masses, turns)
def test_turning_the_wheel_turns_the_sums(masses: list[PointMass], turn: float) -> None:
    turned = [PointMass(m.position_mm, m.radius_mm, m.mass_g, wrap_deg(m.angle_deg + turn)) for m in masses]
    before, after = Unbalance.of(masses), Unbalance.of(turned)
    assert abs(after.static - before.static * polar(1, turn)) < 1e-6
    assert abs(after.moment - before.moment * polar(1, turn)) < 1e-3


@given(some_masses)
def test_a_mirrored_wheel_has_mirrored_sums(masses: list[PointMass]) -> None:
    mirrored = [PointMass(m.position_mm, m.radius_mm, m.mass_g, wrap_deg(-m.angle_deg)) for m in masses]
    before, after = Unbalance.of(masses), Unbalance.of(mirrored)
    assert abs(after.static - before.static.conjugate()) < 1e-6
    assert abs(after.moment - before.moment.conjugate()) < 1e-3


@given(some_masses, positions)
def test_the_couple_about_a_point_is_the_moment_with_the_datum_there(
    masses: list[PointMass], datum: float
) -> None:
    seen_from_there = [PointMass(m.position_mm - datum, m.radius_mm, m.mass_g, m.angle_deg) for m in masses]
    assert abs(Unbalance.of(masses).about(datum) - Unbalance.of(seen_from_there).moment) < 1e-3


@given(point_masses, point_masses)
def test_adding_and_taking_away(one: PointMass, other: PointMass) -> None:
    a, b = Unbalance.of([one]), Unbalance.of([other])
    assert a + b == Unbalance.of([one, other])
    assert abs((a + b - b).static - a.static) < 1e-7
    assert a + (-a) == Unbalance()


@given(st.floats(0, 1e5), st.floats(0, 500))
def test_force_is_quadratic_in_speed_and_in_newtons(unbalance: float, speed: float) -> None:
    """1 kg at 1 m and 1 rad/s pulls with 1 N."""
    assert force_n(1e6, 1.0) == pytest.approx(1.0)
    assert force_n(unbalance, 2 * speed) == pytest.approx(4 * force_n(unbalance, speed))
