"""Two planes and one: the corrections null both sums, however the wheel is turned, shifted or looked at."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from rimpoise_service.physics.planes import (
    MIN_PLANE_DISTANCE_MM,
    Plane,
    PlanesTooClose,
    PlaneVector,
    correct,
    gain,
    residual_unbalance,
    resolve_in_planes,
)
from rimpoise_service.physics.unbalance import PointMass, Unbalance, polar
from tests.factories.strategies import plane_pairs, point_masses, shifts, some_masses, turns


def exact(masses: list[PointMass], weights: tuple[PlaneVector, ...]) -> tuple[complex, complex]:
    """Both sums of masses and weights in exact arithmetic: only the masses' own vectors are floating point."""
    x = y = xz = yz = Fraction(0)
    placed = [(m.position_mm, m.vector) for m in masses] + [(w.plane.position_mm, w.vector) for w in weights]
    for position, vector in placed:
        z, real, imag = Fraction(position), Fraction(vector.real), Fraction(vector.imag)
        x, y, xz, yz = x + real, y + imag, xz + real * z, yz + imag * z
    return complex(x, y), complex(xz, yz)


@given(some_masses, plane_pairs())
def test_two_planes_null_both_sums(masses: list[PointMass], planes: list[Plane]) -> None:
    static, moment = exact(masses, correct(Unbalance.of(masses), planes))
    size = sum(abs(m.vector) for m in masses)
    assert abs(static) < 1e-10 * size * 50
    assert abs(moment) < 1e-10 * size * 500 * 50


@given(some_masses, plane_pairs())
def test_the_answer_is_the_only_one(masses: list[PointMass], planes: list[Plane]) -> None:
    """Cramer's rule on the two real 2 × 2 systems, in exact fractions."""
    unbalance = Unbalance.of(masses)
    za, zb = (Fraction(p.position_mm) for p in planes)
    for part in ("real", "imag"):
        s = Fraction(getattr(unbalance.static, part))
        m = Fraction(getattr(unbalance.moment, part))
        a, b = (-s * zb + m) / (zb - za), (-m + za * s) / (zb - za)
        ours = [getattr(c.vector, part) for c in correct(unbalance, planes)]
        scale = (abs(unbalance.moment) + 500 * abs(unbalance.static)) / abs(float(za - zb)) + 1e-9
        assert ours[0] == pytest.approx(float(a), abs=1e-11 * scale)
        assert ours[1] == pytest.approx(float(b), abs=1e-11 * scale)


@given(some_masses, plane_pairs())
def test_one_plane_nulls_the_static_sum_only(masses: list[PointMass], planes: list[Plane]) -> None:
    plane, unbalance = planes[0], Unbalance.of(masses)
    weights = correct(unbalance, [plane])
    assert weights[0].vector == -unbalance.static
    left = residual_unbalance(unbalance, weights)
    assert left.static == 0
    assert abs(left.moment - (unbalance.moment - unbalance.static * plane.position_mm)) < 1e-3


@given(some_masses, plane_pairs())
def test_nothing_is_left_over_by_two_planes(masses: list[PointMass], planes: list[Plane]) -> None:
    """Exactly nothing: floating-point dust is swept."""
    unbalance = Unbalance.of(masses)
    assert residual_unbalance(unbalance, correct(unbalance, planes)) == Unbalance()


@given(some_masses, plane_pairs(), turns)
def test_turning_the_wheel_turns_the_answer(masses: list[PointMass], planes: list[Plane], turn: float) -> None:
    unbalance = Unbalance.of(masses)
    turned = Unbalance(unbalance.static * polar(1, turn), unbalance.moment * polar(1, turn))
    for before, after in zip(correct(unbalance, planes), correct(turned, planes), strict=True):
        assert abs(after.vector - before.vector * polar(1, turn)) < 1e-5


@given(some_masses, plane_pairs())
def test_mirror(masses: list[PointMass], planes: list[Plane]) -> None:
    unbalance = Unbalance.of(masses)
    mirrored = Unbalance(unbalance.static.conjugate(), unbalance.moment.conjugate())
    for before, after in zip(correct(unbalance, planes), correct(mirrored, planes), strict=True):
        assert after.vector == before.vector.conjugate()


@given(some_masses, plane_pairs(), st.floats(0.01, 100))
def test_scale(masses: list[PointMass], planes: list[Plane], by: float) -> None:
    unbalance = Unbalance.of(masses)
    scaled = Unbalance(unbalance.static * by, unbalance.moment * by)
    for before, after in zip(correct(unbalance, planes), correct(scaled, planes), strict=True):
        assert abs(after.vector - before.vector * by) < 1e-6 * max(1, by)


@given(some_masses, plane_pairs(), shifts)
def test_the_datum_does_not_matter(masses: list[PointMass], planes: list[Plane], shift: float) -> None:
    moved = [replace(m, position_mm=m.position_mm + shift) for m in masses]
    elsewhere = [replace(p, position_mm=p.position_mm + shift) for p in planes]
    before = correct(Unbalance.of(masses), planes)
    after = correct(Unbalance.of(moved), elsewhere)
    for one, other in zip(before, after, strict=True):
        assert abs(one.vector - other.vector) < 1e-5
    assert gain(after, 1000.0) == pytest.approx(gain(before, 1000.0), abs=1e-7)


@given(some_masses, plane_pairs())
def test_the_order_of_planes_only_swaps_the_answers(masses: list[PointMass], planes: list[Plane]) -> None:
    a, b = correct(Unbalance.of(masses), planes)
    other_b, other_a = correct(Unbalance.of(masses), planes[::-1])
    assert (a.plane, b.plane) == (other_a.plane, other_b.plane)
    assert abs(a.vector - other_a.vector) < 1e-6
    assert abs(b.vector - other_b.vector) < 1e-6


@given(point_masses, plane_pairs())
def test_a_mass_in_a_plane_is_corrected_there_alone(mass: PointMass, planes: list[Plane]) -> None:
    here = replace(mass, position_mm=planes[0].position_mm)
    a, b = correct(Unbalance.of([here]), planes)
    assert abs(a.vector + here.vector) < 1e-9 * abs(here.vector)
    assert b.vector == 0


@given(some_masses, plane_pairs())
def test_the_radius_changes_the_mass_and_nothing_else(masses: list[PointMass], planes: list[Plane]) -> None:
    doubled = [replace(p, radius_mm=2 * p.radius_mm) for p in planes]
    unbalance = Unbalance.of(masses)
    for near, far in zip(correct(unbalance, planes), correct(unbalance, doubled), strict=True):
        assert near.vector == far.vector
        assert near.mass_g == pytest.approx(2 * far.mass_g)
        assert near.mass_g * near.plane.radius_mm == pytest.approx(near.unbalance_gmm)
        assert 0 <= near.angle_deg < 360


@given(some_masses, plane_pairs())
def test_split_in_two_is_equivalent(masses: list[PointMass], planes: list[Plane]) -> None:
    unbalance = Unbalance.of(masses)
    a, b = planes
    in_a, in_b = resolve_in_planes(unbalance, a.position_mm, b.position_mm)
    assert abs(in_a + in_b - unbalance.static) < 1e-6
    assert abs(in_a * a.position_mm + in_b * b.position_mm - unbalance.moment) < 1e-3


@given(st.floats(-1000, 1000), st.floats(-0.999, 0.999))
@example(0.0, 0.0)
def test_planes_too_close(position: float, apart: float) -> None:
    assume(abs((position + apart) - position) < MIN_PLANE_DISTANCE_MM)
    with pytest.raises(PlanesTooClose, match=r"planes .* mm apart; they must be 1 mm or more"):
        correct(Unbalance(1 + 0j), [Plane("a", position, 100), Plane("b", position + apart, 100)])


@pytest.mark.parametrize("count", [0, 3])
def test_one_plane_or_two(count: int) -> None:
    with pytest.raises(ValueError, match="give one or two"):
        correct(Unbalance(1 + 0j), [Plane("p", 50.0 * i, 100) for i in range(count)])


def test_gain_grows_as_planes_draw_together() -> None:
    """One mass outside, the planes d apart and the mass one span off: (2 + 1) times what was read."""
    unbalance = Unbalance.at(100, 1000 + 0j)
    grown = [gain(correct(unbalance, [Plane("a", 0, 1), Plane("b", d, 1)]), 1000) for d in (100, 50, 25)]
    assert grown == pytest.approx([1.0, 3.0, 7.0])


@given(plane_pairs())
def test_gain_of_a_mass_between_the_planes_is_one(planes: list[Plane]) -> None:
    middle = sum(p.position_mm for p in planes) / 2
    assert gain(correct(Unbalance.at(middle, 500 + 0j), planes), 500) == pytest.approx(1)


@given(plane_pairs(), st.floats(1e-3, 1e7))
def test_gain_of_a_pure_couple_is_one(planes: list[Plane], couple: float) -> None:
    """A couple counts as its pair of vectors, 2·|couple|/distance."""
    span = abs(planes[0].position_mm - planes[1].position_mm)
    assert gain(correct(Unbalance(0j, couple + 0j), planes), 2 * couple / span) == pytest.approx(1)


def test_no_gain_without_a_reading() -> None:
    assert gain(correct(Unbalance(), [Plane("a", 0, 1)]), 0.0) is None


def test_far_from_the_datum_nothing_cancels() -> None:
    """Planes 100 mm apart, ten metres from the datum, still good to a nanogram."""
    mass = PointMass(10_050, 200, 10, 30)
    a, b = correct(Unbalance.of([mass]), [Plane("a", 10_000, 200), Plane("b", 10_100, 200)])
    assert a.mass_g == pytest.approx(5, abs=1e-9)
    assert b.mass_g == pytest.approx(5, abs=1e-9)
    assert math.isclose(a.angle_deg, 210)
