"""Fits and evidences against numerical minimisation and quadrature (scipy), which know nothing of closed forms."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import dblquad, quad
from scipy.optimize import minimize_scalar
from scipy.stats import norm, vonmises

from rimpoise_service.physics.arrays import Floats
from rimpoise_service.physics.model_comparison import (
    _log_normal_share,
    about_zero,
    any_vector,
    between,
    exactly,
    turned,
)

Y: Floats = np.array([1.3, -0.4, -0.8, 2.1])
G: Floats = np.array([0.7, 0.1, 0.2, -0.9])
ACROSS: Floats = np.array([-0.3, 0.8, 0.6, 0.5])
"""Not at right angles to G, nor as long: errors differ by direction."""


def times(size: float, vector: Floats) -> Floats:
    """So many times a vector."""
    return np.asarray(size * vector)


def on_arc(size: float, x: float) -> Floats:
    """What a vector so many times G has more once it is turned by x [rad]."""
    return np.asarray(size * (G * (np.cos(x) - 1) + ACROSS * np.sin(x)))


def likelihood(left: np.ndarray) -> float:
    """exp(−χ²/2)."""
    return math.exp(-float((np.abs(left) ** 2).sum()) / 2)


def mean_over(
    density: Callable[[float], float], low: float, high: float, says: Callable[[float], np.ndarray]
) -> float:
    """The evidence by quadrature."""
    found: float = quad(lambda t: density(t) * likelihood(Y - says(t)), low, high, epsabs=1e-13, limit=400)[0]
    return found


def test_a_cause_without_size() -> None:
    assert exactly(Y).log_evidence == pytest.approx(math.log(likelihood(Y)))
    assert exactly(Y).size == 0
    assert exactly(Y).free == 0


@pytest.mark.parametrize("longest", [0.3, 2.0, 50.0])
@pytest.mark.parametrize("sign", [1, -1])
def test_a_size_between_bounds(longest: float, sign: int) -> None:
    fit = between(Y, sign * G, longest)
    by_quadrature = mean_over(lambda _: 1 / longest, 0, longest, lambda t: t * sign * G)
    assert fit.log_evidence == pytest.approx(math.log(by_quadrature), abs=1e-7)
    best = minimize_scalar(lambda t: -likelihood(Y - t * sign * G), bounds=(0, longest), method="bounded")
    assert fit.size.real == pytest.approx(best.x, abs=1e-4)


@pytest.mark.parametrize(("low", "high"), [(-20, 20), (-0.7, 2), (-0.7, 0.5), (-20, -1)])
def test_a_size_about_zero_within_bounds(low: float, high: float) -> None:
    fit = about_zero(Y, G, 1.7, low, high)
    density, share = norm(0, 1.7), norm(0, 1.7).cdf(high) - norm(0, 1.7).cdf(low)
    by_quadrature = mean_over(lambda t: density.pdf(t) / share, low, high, lambda t: t * G)
    assert low <= fit.size.real <= high
    assert fit.log_evidence == pytest.approx(math.log(by_quadrature), abs=1e-9)
    left = Y - fit.size.real * G
    assert fit.chi_square == pytest.approx(float(left @ left))


def test_any_vector() -> None:
    fit = any_vector(Y, G, ACROSS, 1.7)
    density = norm(0, 1.7).pdf
    by_quadrature = dblquad(
        lambda b, a: density(a) * density(b) * likelihood(Y - a * G - b * ACROSS), -9, 9, -9, 9, epsabs=1e-7
    )[0]
    assert fit.log_evidence == pytest.approx(math.log(by_quadrature), abs=1e-5)
    assert abs(G @ fit.left) + abs(ACROSS @ fit.left) < 1e-12
    assert fit.left == pytest.approx(Y - fit.size.real * G - fit.size.imag * ACROSS)


@pytest.mark.parametrize("size", [0.01, 1.0, 4.0, 40.0])
@pytest.mark.parametrize("spread", [0.3, 0.785, 3.0])
def test_a_turned_vector(size: float, spread: float) -> None:
    fit = turned(Y, times(size, G), times(size, ACROSS), spread)
    density = vonmises(spread**-2).pdf
    by_quadrature = mean_over(density, -math.pi, math.pi, lambda x: on_arc(size, x))
    assert fit.log_evidence == pytest.approx(math.log(by_quadrature), abs=1e-7)
    angles = np.linspace(-math.pi, math.pi, 2001)
    assert fit.chi_square <= min(float((Y - on_arc(size, x)) @ (Y - on_arc(size, x))) for x in angles)
    assert fit.left == pytest.approx(Y - on_arc(size, fit.size.real))


@pytest.mark.slow
@pytest.mark.parametrize("size", [60.0, 150.0, 1000.0])
def test_a_peak_narrower_than_the_steps(size: float) -> None:
    """By Laplace's approximation, against quadrature about the peak."""
    y = on_arc(size, 0.4) + Y / 4
    fit = turned(y, times(size, G), times(size, ACROSS), 0.785)
    density = vonmises(0.785**-2).pdf
    near = np.linspace(-0.2, 0.2, 40001) + fit.size.real
    values = [density(x) * math.exp(-float((y - on_arc(size, x)) @ (y - on_arc(size, x))) / 2) for x in near]
    assert fit.log_evidence == pytest.approx(math.log(float(np.trapezoid(values, near))), abs=2e-3)


def test_far_out_all_stays_finite() -> None:
    """A thousand or a hundred million standard deviations away there is still an order."""
    for far in (1e3, 1e8):
        fits = [
            between(times(far, Y), -G, 2.0),
            between(times(far, Y), G, 2.0),
            turned(times(far, Y), G, ACROSS, 0.8),
            turned(Y, times(far, G), times(far, ACROSS), 0.8),
        ]
        fits += [
            about_zero(times(far, Y), G, 1.0, -1, 2),
            any_vector(times(far, Y), G, ACROSS, 1.0),
            exactly(times(far, Y)),
        ]
        assert all(math.isfinite(f.log_evidence) for f in fits)


def test_large_arguments_meet_the_direct_computation() -> None:
    """The asymptotes join what is computed directly."""
    near, far = (between(times(-t / float(np.linalg.norm(G)), G), G, 1.0).log_evidence for t in (29.9, 30.1))
    assert near - far == pytest.approx((30.1**2 - 29.9**2) / 2 + math.log(30.1 / 29.9), rel=1e-3)


@pytest.mark.parametrize("low", [0.01, 0.05, 0.1])
def test_two_bounds_that_are_one_to_rounding(low: float) -> None:
    """As wide as they are, at the density there (scipy's); on the other side of the middle the same."""
    high = math.nextafter(low, math.inf)
    assert math.erfc(low / math.sqrt(2)) == math.erfc(high / math.sqrt(2))
    expected = norm.logpdf(low) + math.log(high - low)
    assert _log_normal_share(low, high) == pytest.approx(expected, abs=1e-6)
    assert _log_normal_share(-high, -low) == pytest.approx(expected, abs=1e-6)
