"""Readings: all four kinds of one physical wheel agree; "correction" and "unbalance" differ by half a turn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.physics.planes import Plane, correct
from rimpoise_service.physics.readings import (
    PointMasses,
    Reading,
    Reports,
    Static,
    StaticCouple,
    TwoPlane,
    read_gmm,
    reading_planes,
    shown_variance,
    unbalance_of,
)
from rimpoise_service.physics.unbalance import PointMass, Unbalance, wrap_deg
from tests.factories.strategies import (
    masses,
    old_weights,
    plane_pairs,
    positions,
    readings,
    some_masses,
    two_plane_readings,
)


def near(one: Unbalance, other: Unbalance) -> bool:
    """Equal to floating-point dust."""
    return abs(one.static - other.static) < 1e-5 and abs(one.moment - other.moment) < 1e-2


def as_two_plane(
    unbalance: Unbalance, planes: list[Plane], reports: Reports, old: tuple[PointMass, ...]
) -> TwoPlane:
    """What a machine with those planes would say of a wheel with the old weights still on."""
    total = unbalance + Unbalance.of(old)
    if reports == "correction":
        total = -total
    # A weight that corrects −U is equivalent to U.
    first, second = correct(-total, planes)
    a = PointMass(first.plane.position_mm, first.plane.radius_mm, first.mass_g, first.angle_deg)
    b = PointMass(second.plane.position_mm, second.plane.radius_mm, second.mass_g, second.angle_deg)
    return TwoPlane((a, b), reports, old)


@given(some_masses, plane_pairs(), positions, st.sampled_from(["correction", "unbalance"]), old_weights)
def test_all_kinds_of_one_wheel_agree(
    bare: list[PointMass],
    planes: list[Plane],
    position: float,
    reports: Reports,
    old: tuple[PointMass, ...],
) -> None:
    truth = Unbalance.of(bare)
    sign = -1 if reports == "correction" else 1
    seen = truth + Unbalance.of(old)
    kinds: list[Reading] = [
        PointMasses((*bare, *old), old),
        StaticCouple(position, sign * seen.static, sign * seen.about(position), reports, old),
        as_two_plane(truth, planes, reports, old),
    ]
    for reading in kinds:
        assert near(unbalance_of(reading), truth)


@given(some_masses, positions)
def test_a_static_reading_has_the_static_vector(bare: list[PointMass], position: float) -> None:
    """It says nothing of the couple: the vector is taken to act in the plane it was called for."""
    truth = Unbalance.of(bare)
    (weight,) = correct(truth, [Plane("p", position, 200)])
    called = PointMass(position, 200, weight.mass_g, weight.angle_deg)
    read = unbalance_of(Static(called))
    assert abs(read.static - truth.static) < 1e-6
    assert abs(read.about(position)) < 1e-3


@given(readings)
def test_reports_differ_by_half_a_turn(reading: Reading) -> None:
    if isinstance(reading, PointMasses):
        return
    bare = replace(reading, old_weights=())
    as_weight = unbalance_of(replace(bare, reports="correction"))
    as_heavy = unbalance_of(replace(bare, reports="unbalance"))
    assert as_weight == -as_heavy


@given(two_plane_readings())
def test_reports_differ_by_half_a_turn_of_the_angles(reading: TwoPlane) -> None:
    """Calling the weight's place at θ is calling the heavy side at θ + 180."""
    a, b = (replace(m, angle_deg=wrap_deg(m.angle_deg + 180)) for m in reading.planes)
    called = replace(reading, reports="correction")
    assert near(unbalance_of(called), unbalance_of(replace(reading, planes=(a, b), reports="unbalance")))


@given(two_plane_readings())
def test_fitting_what_was_called_balances_the_wheel(reading: TwoPlane) -> None:
    """The plain use: no old weights, a machine that calls corrections, weights where it says."""
    called = replace(reading, reports="correction", old_weights=())
    assert near(unbalance_of(called) + Unbalance.of(called.planes), Unbalance())


@given(readings)
def test_old_weights_are_taken_off(reading: Reading) -> None:
    """A bare wheel plus its old weights is what was measured."""
    measured = unbalance_of(replace(reading, old_weights=()))
    assert near(unbalance_of(reading) + Unbalance.of(reading.old_weights), measured)


def test_old_weights_are_taken_off_by_hand() -> None:
    """20 g heavy at 0° with an old weight of 5 g at 0° on: the bare wheel is 15 g heavy there."""
    old = PointMass(0, 200, 5, 0)
    read = unbalance_of(Static(PointMass(0, 200, 20, 180), "correction", (old,)))
    assert read.static == pytest.approx(15 * 200)


@given(readings, st.floats(20, 400))
def test_read_sizes(reading: Reading, distance: float) -> None:
    """Never less than the static vector that the same vectors make."""
    total = abs(reading.called.static)
    without = read_gmm(replace(reading, old_weights=()), distance)
    assert without >= total - 1e-6
    old = sum(m.mass_g * m.radius_mm for m in reading.old_weights)
    assert read_gmm(reading, distance) == pytest.approx(without + old)


def test_read_sizes_by_hand() -> None:
    assert read_gmm(TwoPlane((PointMass(0, 200, 10, 0), PointMass(100, 100, 5, 180))), 100) == pytest.approx(2500)
    assert read_gmm(StaticCouple(0, 300 + 400j, 6000 + 8000j), 100) == pytest.approx(500 + 200)
    assert read_gmm(StaticCouple(0, 300 + 400j, 6000 + 8000j), float("inf")) == pytest.approx(500)
    assert read_gmm(StaticCouple(0, 0j, 1234.5 + 0j), 7) == pytest.approx(2469 / 7)


@given(two_plane_readings())
def test_the_smaller_position_is_inboard(reading: TwoPlane) -> None:
    planes = reading_planes(reading)
    assert [p.position_mm for p in planes] == [m.position_mm for m in reading.planes]
    assert [p.radius_mm for p in planes] == [m.radius_mm for m in reading.planes]
    inboard = min(planes, key=lambda p: p.position_mm)
    assert inboard.name == "inboard"
    assert {p.name for p in planes} == {"inboard", "outboard"}


@given(positions, masses)
def test_planes_of_the_other_kinds(position: float, mass: float) -> None:
    m = PointMass(position, 200, mass, 0)
    assert reading_planes(Static(m)) == (Plane("static", position, 200),)
    assert reading_planes(StaticCouple(position, 0j, 0j)) == ()
    assert reading_planes(PointMasses((m,))) == ()


@pytest.mark.parametrize("spins", [1, 2, 4])
@pytest.mark.parametrize("sd_g", [0.0, 0.3, 0.7, 2.0])
def test_what_a_display_in_steps_shows_by_draws(sd_g: float, spins: int) -> None:
    """400,000 masses spun so often on a display of 5 g, each spin rounded: the variance of their means, to 1 %."""
    rng = np.random.default_rng(7)
    true = rng.uniform(0, 5, 400_000)
    shown = [5 * np.round((true + sd_g * rng.normal(size=true.size)) / 5) for _ in range(spins)]
    drawn = float(np.var(np.mean(shown, axis=0) - true))
    assert shown_variance(sd_g, 5.0, spins) == pytest.approx(drawn, rel=0.01)


def test_a_display_without_steps_is_the_machine_alone() -> None:
    assert shown_variance(0.7, 0.0, 4) == pytest.approx(0.7**2 / 4)
