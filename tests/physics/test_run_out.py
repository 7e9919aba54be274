"""Run-out as harmonics, against numpy's FFT, a textbook's table, a linear program and a mass off its axis."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from rimpoise_service.physics.arrays import Floats
from rimpoise_service.physics.run_out import (
    CircleNotCovered,
    Harmonic,
    Shape,
    eccentric_unbalance_gmm,
    fit_shape,
    mean_harmonics,
    subtract_harmonics,
    totals_mm,
    turned_vectors,
)

SEED = 20_240_611
TEXTBOOK = [2.4, 3.5, 4.1, 3.7, 2.6, 1.9, 1.6, -0.4, 1.6, 1.8, 3.0, 4.1]
"""Norma Mohd Basir, lecture notes on Fourier series, ch. 2, example 2.10: twelve ordinates at 30° (read)."""


def even(count: int) -> Floats:
    return np.arange(count) * 360.0 / count


def wave(angles: Floats, *harmonics: tuple[int, float, float]) -> Floats:
    return np.asarray(np.sum([a * np.cos(k * np.radians(angles - high)) for k, a, high in harmonics], axis=0))


def vectors(shape: Shape) -> list[complex]:
    return [h.vector for h in shape.harmonics]


def test_a_textbook_table() -> None:
    """Its sums are Σy = 29.9, Σy cos x = 7.533, Σy sin x = 4.576, Σy cos 2x = −2.6, Σy sin 2x = −2.417.

    One row has −2.591 where 3 sin 300° is −2.598, hence the tolerance.
    """
    shape = fit_shape(even(12), TEXTBOOK, ignore_jumps=False)
    assert shape.mean_mm == pytest.approx(29.9 / 12, abs=1e-3)
    assert vectors(shape)[0] == pytest.approx(complex(7.533, 4.576) / 6, abs=2e-3)
    assert vectors(shape)[1] == pytest.approx(complex(-2.6, -2.417) / 6, abs=2e-3)
    assert shape.total_mm == 4.5


@pytest.mark.parametrize("count", [8, 12, 24, 36, 720])
def test_at_even_angles_it_is_numpys_fft(count: int) -> None:
    readings = np.random.default_rng(SEED).normal(size=count)
    shape = fit_shape(even(count), readings, ignore_jumps=False)
    expected = np.fft.rfft(readings) / count
    assert shape.mean_mm == pytest.approx(expected[0].real)
    assert vectors(shape) == pytest.approx(list(2 * expected.conj()[1 : len(shape.harmonics) + 1]))
    assert shape.condition_number == pytest.approx(1)


@pytest.mark.parametrize(("count", "orders"), [(8, 3), (12, 3), (23, 3), (24, 4), (48, 8), (720, 8)])
def test_how_many_harmonics_are_looked_for(count: int, orders: int) -> None:
    shape = fit_shape(even(count), np.zeros(count), ignore_jumps=False)
    assert [h.order for h in shape.harmonics] == list(range(1, orders + 1))


@given(
    st.lists(st.tuples(st.floats(0.01, 2), st.floats(0, 359)), min_size=3, max_size=3),
    st.lists(st.floats(-12, 12), min_size=12, max_size=12),
    st.floats(-5, 5),
)
def test_a_pure_shape_is_found_at_uneven_angles(
    given_harmonics: list[tuple[float, float]], shifts: list[float], mean: float
) -> None:
    angles = even(12) + np.array(shifts)
    parts = [(k + 1, a, high) for k, (a, high) in enumerate(given_harmonics)]
    shape = fit_shape(angles, mean + wave(angles, *parts), ignore_jumps=False)
    assert shape.mean_mm == pytest.approx(mean, abs=1e-9)
    for harmonic, (order, amplitude, high) in zip(shape.harmonics, parts, strict=True):
        assert harmonic.amplitude_mm == pytest.approx(amplitude, abs=1e-9)
        apart = math.remainder(harmonic.high_deg - high, 360 / order)
        assert apart == pytest.approx(0, abs=1e-5)
        assert 0 <= harmonic.high_deg < 360 / order


def test_the_high_spot_is_where_the_reading_is_highest() -> None:
    angles = even(36)
    readings = wave(angles, (1, 0.5, 110))
    assert angles[np.argmax(readings)] == 110
    assert fit_shape(angles, readings, ignore_jumps=False).harmonics[0].high_deg == pytest.approx(110)


def test_standard_deviations_are_those_of_repeated_readings() -> None:
    """2,000 noisy traces at uneven angles: what is reported and what amplitudes really do, within 5 %."""
    rng = np.random.default_rng(SEED)
    angles = np.sort(rng.uniform(0, 360, 24))
    clean = wave(angles, (1, 0.6, 30), (2, 0.4, 10), (3, 0.3, 50), (4, 0.3, 5))
    shapes = [fit_shape(angles, clean + rng.normal(0, 0.05, 24), ignore_jumps=False) for _ in range(2000)]
    for k in range(4):
        found = np.array([(s.harmonics[k].amplitude_mm, s.harmonics[k].sd_mm ** 2) for s in shapes])
        assert math.sqrt(found[:, 1].mean()) == pytest.approx(found[:, 0].std(), rel=0.05)
    assert math.sqrt(np.mean([s.sd_mm**2 for s in shapes])) == pytest.approx(0.05, rel=0.02)


@pytest.mark.parametrize("count", [12, 16, 36])
def test_jumps_at_splices_are_passed_by(count: int) -> None:
    angles = even(count)
    rng = np.random.default_rng(SEED)
    readings = wave(angles, (1, 0.4, 50), (2, 0.15, 20)) + rng.normal(0, 0.02, count)
    spliced = readings.copy()
    spliced[count // 3] += 0.8
    spliced[count // 3 + 1] -= 0.5 if count > 12 else 0
    robust = fit_shape(angles, spliced, ignore_jumps=True)
    jumps = (count // 3, count // 3 + 1) if count > 12 else (count // 3,)
    assert robust.left_out == jumps
    assert robust.total_mm == np.ptp(np.delete(readings, jumps))
    assert robust.harmonics[0].amplitude_mm == pytest.approx(0.4, abs=0.03)
    assert fit_shape(angles, spliced, ignore_jumps=False).left_out == ()


def test_without_a_jump_nothing_is_left_out() -> None:
    rng = np.random.default_rng(SEED)
    for count in (8, 12, 24, 36):
        for _ in range(50):
            readings = wave(even(count), (1, 0.4, 50)) + rng.normal(0, 0.02, count)
            assert fit_shape(even(count), readings, ignore_jumps=True).left_out == ()


def test_a_rough_trace_is_no_trace_with_jumps() -> None:
    readings = np.where(np.arange(24) % 2, 1.0, 0.0) * np.arange(24) + np.sin(np.arange(24) ** 2)
    assert fit_shape(even(24), readings, ignore_jumps=True).left_out == ()


def test_what_is_far_off_is_what_a_linear_program_finds() -> None:
    """The least sum of absolute deviations by scipy's linear program leaves the same readings far off."""
    rng = np.random.default_rng(SEED)
    angles = np.sort(rng.uniform(0, 360, 20))
    readings = wave(angles, (1, 0.5, 80), (3, 0.2, 10)) + rng.normal(0, 0.01, 20)
    readings[[4, 11]] += 0.9, -0.7
    columns = [np.ones(20)]
    columns += [f(k * np.radians(angles)) for k in (1, 2, 3) for f in (np.cos, np.sin)]
    design = np.stack(columns, axis=1)
    eye = np.eye(20)
    result = linprog(
        np.r_[np.zeros(7), np.ones(20)],
        A_ub=np.block([[design, -eye], [-design, -eye]]),
        b_ub=np.r_[readings, -readings],
        bounds=[(None, None)] * 7 + [(0, None)] * 20,
    )
    assert result.x is not None
    far = np.flatnonzero(np.abs(readings - design @ result.x[:7]) > 0.3)
    assert fit_shape(angles, readings, ignore_jumps=True).left_out == tuple(far)


@pytest.mark.parametrize(
    ("angles", "said"),
    [
        (list(range(7)), "7 distinct"),
        ([0, 360, 45, 405, 90, 135, 180, 225], "6 distinct"),
        (list(range(0, 180, 10)), "not measured"),
    ],
)
def test_angles_that_say_too_little(angles: list[float], said: str) -> None:
    with pytest.raises(CircleNotCovered, match=said):
        fit_shape(angles, [0.0] * len(angles), ignore_jumps=False)


def test_the_tyre_is_what_the_assembly_has_beyond_the_rim() -> None:
    """Traces added point by point: their harmonics add up as vectors."""
    angles = even(12)
    seats = [wave(angles, (1, 0.2, 40), (2, 0.1, 0)), wave(angles, (1, 0.3, 100))]
    tyre = wave(angles, (1, 0.5, 200), (2, 0.3, 70))
    rims = [fit_shape(angles, s, ignore_jumps=False).harmonics for s in seats]
    whole = fit_shape(angles, tyre + (seats[0] + seats[1]) / 2, ignore_jumps=False).harmonics
    found = subtract_harmonics(whole, mean_harmonics(rims))
    assert [h.order for h in found] == [1, 2, 3]
    assert [h.amplitude_mm for h in found] == pytest.approx([0.5, 0.3, 0])
    assert found[0].high_deg == pytest.approx(200)


def test_a_turned_tyre_is_the_turned_trace() -> None:
    """Brute force: the tyre's own trace moved along by the turn, added to the rim's, highest less lowest."""
    angles = even(360)
    rim_parts, tyre_parts = [(1, 0.3, 20), (2, 0.1, 10)], [(1, 0.5, 100), (2, 0.2, 60)]
    rim, tyre = ([Harmonic(k, a, high, 0) for k, a, high in part] for part in (rim_parts, tyre_parts))
    turns = np.array([0.0, 33.0, 250.0])
    totals = totals_mm(turned_vectors(rim, tyre, turns))
    brute = [np.ptp(wave(angles, *rim_parts) + wave(angles - turn, *tyre_parts)) for turn in turns]
    assert list(totals) == pytest.approx(brute)


def test_what_an_eccentricity_costs() -> None:
    """F. P. Beer, E. R. Johnston et al., Vector Mechanics for Engineers: Dynamics, problems 18.69 and 18.70.

    An 18 kg wheel whose mass centre lies 1.441 mm off the axis asks for 158.55 g and 16.03 g on opposite sides at
    182 mm (statement read, answers from memory); and at 12.5 rev/s it makes 160 N.
    """
    unbalance = eccentric_unbalance_gmm(18, 1.441)
    assert unbalance == pytest.approx((158.55 - 16.03) * 182, rel=1e-3)
    assert unbalance * 1e-6 * (2 * math.pi * 12.5) ** 2 == pytest.approx(160, rel=1e-3)


def test_no_run_out_has_no_direction() -> None:
    shape = fit_shape(even(12), [0.5] * 12, ignore_jumps=True)
    assert [shape.total_mm, shape.sd_mm, shape.mean_mm] == pytest.approx([0, 0, 0.5])
    assert all(h.amplitude_mm == pytest.approx(0, abs=1e-12) and math.isfinite(h.sd_mm) for h in shape.harmonics)
