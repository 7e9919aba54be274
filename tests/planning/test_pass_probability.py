"""P and its derivatives against counting, numerical integration, closed forms, and what can't be otherwise."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from scipy import integrate, special, stats

from rimpoise_service.physics.arrays import Complexes, Floats
from rimpoise_service.planning.joint_model import cholesky
from rimpoise_service.planning.nodes import UNSEEN
from rimpoise_service.planning.pass_probability import (
    COARSE,
    DISCS,
    FINE,
    MIDDLE,
    Quadrature,
    _erf,
    components,
    moments,
    probability,
    shares_along,
    with_mirror_images,
)
from tests.planning.probability_cases import ProbabilityCase, counted, long_case, many_lines, random_case

DIMENSIONS = pytest.mark.parametrize("dimension", [2, 4])


@cache
def cases(dimension: int) -> list[ProbabilityCase]:
    """The same 250 every time."""
    rng = np.random.default_rng(20_260 + dimension)
    return [random_case(rng, dimension) for _ in range(150)] + [long_case(rng, dimension) for _ in range(100)]


@cache
def exact(dimension: int) -> Floats:
    """P of the cases along very many lines of another kind."""
    return np.array([case.by(many_lines(dimension)) for case in cases(dimension)])


@pytest.mark.slow
@DIMENSIONS
def test_the_many_lines_are_what_counting_finds(dimension: int) -> None:
    """So that they may be the reference: half a million points, inside all discs or not."""
    some = cases(dimension)[:40]
    assert [counted(case) for case in some] == pytest.approx(exact(dimension)[:40], abs=6e-4)


@DIMENSIONS
def test_right_to_a_tenth_of_a_point(dimension: int) -> None:
    found = np.array([case.by(FINE[dimension]) for case in cases(dimension)])
    assert np.abs(found - exact(dimension)).max() <= 1e-3
    assert 0 <= found.min() < 0.4
    assert 0.97 < found.max() <= 1


@DIMENSIONS
@pytest.mark.parametrize("quadratures", [FINE, MIDDLE, COARSE], ids=["fine", "middle", "coarse"])
def test_no_further_off_than_lines_say(dimension: int, quadratures: dict[int, Quadrature]) -> None:
    lines = quadratures[dimension]
    found = np.array([case.by(lines) for case in cases(dimension)])
    assert (np.abs(found - exact(dimension)) <= lines.error(exact(dimension)) + 2e-4).all()
    assert np.linalg.norm(lines.directions, axis=0) == pytest.approx(1)


@pytest.mark.parametrize("left", [0.0, 0.3, 0.9, 1.0, 1.4, 4.0])
@pytest.mark.parametrize("sd", [0.1, 0.4, 2.0])
def test_one_disc_and_round_errors_have_a_closed_form(left: float, sd: float) -> None:
    """A non-central chi-square with two degrees of freedom (scipy.stats.ncx2)."""
    case = ProbabilityCase(np.array([left * 1000 * np.exp(2j)]), sd * 1000 * np.eye(2), np.array([1000.0]))
    expected = stats.ncx2.cdf(sd**-2, 2, (left / sd) ** 2) if left else -math.expm1(-0.5 * sd**-2)
    assert case.by(FINE[2]) == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize("seed", range(6))
def test_one_disc_and_any_errors_by_slices(seed: int) -> None:
    """Slice by slice: the share of y, given x, between the ends of the disc's chord (scipy.integrate.quad)."""
    case = random_case(np.random.default_rng(seed), 2)
    (at,), (limit,) = case.residual, case.limits
    (sd_x, _), (cross, sd_y) = case.root

    def slice_at(z: float) -> float:
        x = at.real + sd_x * z
        half = math.sqrt(max(limit**2 - x**2, 0.0))
        middle = at.imag + cross * z
        ends = special.ndtr([(half - middle) / sd_y, (-half - middle) / sd_y])
        return float((ends[0] - ends[1]) * math.exp(-0.5 * z * z) / math.sqrt(2 * math.pi))

    ends = ((-limit - at.real) / sd_x, (limit - at.real) / sd_x)
    expected, _ = integrate.quad(slice_at, max(ends[0], -9), min(ends[1], 9), limit=200)
    assert case.by(FINE[2]) == pytest.approx(expected, abs=1e-5)


def test_a_wide_third_limit_leaves_two_independent_discs() -> None:
    """Each plane by itself then: the product of two closed forms."""
    sd, limits, left = np.array([300.0, 500.0]), np.array([900.0, 1200.0, 1e6]), np.array([200.0, 700.0j])
    case = ProbabilityCase(left, np.diag([*sd, *sd]), limits)
    alone = stats.ncx2.cdf((limits[:2] / sd) ** 2, 2, (np.abs(left) / sd) ** 2)
    assert case.by(FINE[4]) == pytest.approx(float(alone.prod()), abs=1e-3)


@DIMENSIONS
def test_lines_each_through_a_residual_of_its_own(dimension: int) -> None:
    """All through the same: their mean is P. Through two in turn: each passes as often as through its own."""
    one, other = cases(dimension)[:2]
    lines = (DISCS[dimension] @ one.root) @ FINE[dimension].directions
    seen = [components(case.residual) @ DISCS[dimension].T for case in (one, other)]
    in_turn = np.arange(lines.shape[1]) % 2
    always, never = (shares_along(np.array(seen)[0 * in_turn + k], lines, one.limits) for k in (0, 1))
    assert always.mean() == pytest.approx(one.by(FINE[dimension]))
    found = shares_along(np.array(seen)[in_turn], lines, one.limits)
    assert found == pytest.approx(np.where(in_turn, never, always))


@DIMENSIONS
def test_far_outside_nothing_passes_and_far_inside_all(dimension: int) -> None:
    limits, residual = np.full(dimension - 1, 1000.0), np.full(dimension // 2, 400.0 + 0j)
    root = 10.0 * np.eye(dimension)
    assert ProbabilityCase(residual, root, limits).by(FINE[dimension]) == pytest.approx(1)
    assert ProbabilityCase(residual * 50, root, limits).by(FINE[dimension]) == 0


@DIMENSIONS
def test_even_and_the_same_for_a_mirrored_wheel(dimension: int) -> None:
    """P(−m) = P(m), for K is symmetric about 0; mirrored vectors pass as often, exactly so by mirrored lines."""
    both = with_mirror_images(FINE[dimension])
    sign = np.repeat([1.0, -1.0], dimension // 2)
    for case in cases(dimension)[:40]:
        p = case.by(FINE[dimension])
        assert ProbabilityCase(-case.residual, case.root, case.limits).by(FINE[dimension]) == pytest.approx(p)
        mirrored = cholesky(np.outer(sign, sign) * (case.root @ case.root.T))
        other = ProbabilityCase(case.residual.conj(), mirrored, case.limits)
        assert other.by(FINE[dimension]) == pytest.approx(p, abs=2e-3 if dimension == 4 else 1e-5)
        assert other.by(both) == pytest.approx(case.by(both), abs=1e-9)


@DIMENSIONS
def test_largest_in_the_middle_and_for_smaller_errors(dimension: int) -> None:
    """T. W. Anderson's inequality, within the lines' error."""
    lines = FINE[dimension]
    for case in cases(dimension)[:40]:
        along = [ProbabilityCase(case.residual * t, case.root, case.limits).by(lines) for t in (0, 0.5, 1, 2)]
        assert (np.diff(along) <= 2e-3).all()
        middle = ProbabilityCase(case.residual * 0, case.root, case.limits)
        added = cholesky(case.root @ case.root.T + 1e4 * np.eye(dimension))
        assert ProbabilityCase(middle.residual, added, case.limits).by(lines) <= middle.by(lines) + 1e-12


def all_of(some: list[ProbabilityCase]) -> tuple[Complexes, Floats]:
    """Residuals and roots as arrays."""
    return np.array([case.residual for case in some]), np.array([case.root for case in some])


@DIMENSIONS
def test_gradient_and_hessian_are_differences_of_the_logarithm(dimension: int) -> None:
    """Central differences of log P, along very many lines, so that the lines don't matter."""
    step, lines = 2.0, many_lines(dimension)
    for case in [c for c, p in zip(cases(dimension), exact(dimension), strict=True) if p > 0.05][:12]:
        found = moments(case.residual[None], case.root, case.limits, lines, hessian=True)
        moves = step * np.eye(dimension)
        vectors = moves[:, : dimension // 2] + 1j * moves[:, dimension // 2 :]
        ahead, behind = (
            moments(case.residual + sign * vectors, case.root, case.limits, lines) for sign in (1, -1)
        )
        scale = 1 / float(np.linalg.norm(case.root))
        slope = (np.log(ahead.probability) - np.log(behind.probability)) / (2 * step)
        assert found.gradient[0] == pytest.approx(slope, abs=0.02 * scale)
        bend = (ahead.gradient - behind.gradient) / (2 * step)
        assert found.hessian is not None
        assert np.abs(found.hessian[0] - bend).max() < 0.05 * np.abs(np.linalg.inv(case.root @ case.root.T)).max()


@DIMENSIONS
def test_fine_lines_give_nearly_the_same_derivatives(dimension: int) -> None:
    some = [c for c, p in zip(cases(dimension), exact(dimension), strict=True) if p > 0.05]
    for case in some[:30]:
        one, two = (
            moments(case.residual[None], case.root, case.limits, lines, hessian=True)
            for lines in (FINE[dimension], many_lines(dimension))
        )
        scaled = np.abs(case.root.T @ (one.gradient - two.gradient)[0]).max()
        assert one.probability[0] == pytest.approx(case.by(FINE[dimension]))
        assert scaled < 0.02
        assert one.hessian is not None
        assert two.hessian is not None
        assert np.abs(case.root.T @ (one.hessian - two.hessian)[0] @ case.root).max() < 0.04


@DIMENSIONS
def test_a_tangent_of_the_logarithm_bounds_it_everywhere(dimension: int) -> None:
    """A. Prékopa: log P is concave in m; tangents where P can be told against 50 residuals each."""
    rng, lines = np.random.default_rng(3), FINE[dimension]
    c = dimension // 2
    for case in cases(dimension)[:60]:
        found = moments(case.residual[None], case.root, case.limits, lines)
        if found.probability[0] < UNSEEN:
            continue
        others = case.limits[:c] * rng.uniform(0, 2, (50, c)) * np.exp(2j * np.pi * rng.random((50, c)))
        ahead = components(others - case.residual) @ found.gradient[0]
        p = probability(others, case.root, case.limits, lines)
        tangent = found.probability[0] * np.exp(ahead)
        assert (p <= tangent * 1.03 + lines.error(p)).all()


def test_moments_without_a_hessian_have_none_and_the_same_gradient() -> None:
    residual, root = all_of(cases(4)[:5])
    limits = cases(4)[0].limits
    plain, full = (moments(residual, root, limits, COARSE[4], hessian=h) for h in (False, True))
    assert plain.hessian is None
    assert np.array_equal(plain.gradient, full.gradient)
    assert full.hessian is not None
    assert full.hessian == pytest.approx(np.swapaxes(full.hessian, 1, 2))


def test_the_error_function_is_right_to_its_source() -> None:
    """Abramowitz & Stegun 7.1.26: 1.5e-7; against scipy.special.erf."""
    t = np.linspace(0, 9, 4001)
    assert np.abs(_erf(t, np.exp(-0.5 * t * t)) - special.erf(t / math.sqrt(2))).max() <= 1.5e-7
