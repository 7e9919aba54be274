"""Variance components against a published fit, closed forms, scipy's optimiser and χ² tables."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize, minimize_scalar
from scipy.stats import chi2

from rimpoise_service.physics.arrays import Floats
from rimpoise_service.physics.variance_components import (
    Blocks,
    chi_square_limit,
    estimate_components,
    maximum_likelihood,
    outlying,
)

DYESTUFF = np.array(
    [
        [1545, 1440, 1440, 1520, 1580],
        [1540, 1555, 1490, 1560, 1495],
        [1595, 1550, 1605, 1510, 1560],
        [1445, 1440, 1595, 1465, 1545],
        [1595, 1630, 1515, 1635, 1625],
        [1520, 1455, 1450, 1480, 1445],
    ],
    float,
)
"""Yield of six batches of an intermediate, five samples each (Davies and Goldsmith, Statistical Methods in
Research and Production, 4th ed., 1972; read as the data set Dyestuff of the R package lme4)."""


def one_way(data: Floats, *, restricted: bool) -> list[Blocks]:
    """Within and between: each group as a vector about the mean of all, or as contrasts and the groups' means."""
    groups, samples = data.shape
    if not restricted:
        y = data - data.mean()
        parts = np.stack([np.eye(samples), np.ones((samples, samples))])[:, None].repeat(groups, 1)
        scatter = np.einsum("ni,nj->nij", y, y)
        return [Blocks(scatter, np.ones(groups), parts, np.zeros_like(scatter))]
    within = ((data - data.mean(axis=1, keepdims=True)) ** 2).sum()
    between = samples * ((data.mean(axis=1) - data.mean()) ** 2).sum()
    return [
        Blocks(
            np.array([[[within]], [[between]]]),
            np.array([groups * (samples - 1.0), groups - 1.0]),
            np.array([[[[1.0]], [[1.0]]], [[[0.0]], [[float(samples)]]]]),
            np.zeros((2, 1, 1)),
        )
    ]


def test_a_published_fit() -> None:
    """Maximum likelihood of the R package lme4, as in the README of MixedModels.jl (read): 1388 and 2451.

    The 95 % profile intervals of the standard deviations are those that lme4 and MixedModels.jl print: batch
    12.1985 to 84.063, residual 38.2300 to 67.6577 (from memory; theirs are interpolated).
    """
    within, between = estimate_components(one_way(DYESTUFF, restricted=False))
    assert within.variance == pytest.approx(2451, abs=0.5)
    assert between.variance == pytest.approx(1388, abs=0.5)
    assert within.high is not None
    assert between.high is not None
    assert [math.sqrt(v) for v in (within.low, within.high)] == pytest.approx([38.2300, 67.6577], rel=1e-4)
    assert [math.sqrt(v) for v in (between.low, between.high)] == pytest.approx([12.1985, 84.063], rel=3e-4)


def test_restricted_likelihood_is_the_analysis_of_variance_of_balanced_data() -> None:
    """Mean squares 11,272 between and 2,451 within, so (11272 − 2451) / 5 (read in R code on the same data)."""
    within, between = estimate_components(one_way(DYESTUFF, restricted=True))
    assert within.variance == pytest.approx(2451.25)
    assert between.variance == pytest.approx((11_271.5 - 2451.25) / 5, rel=1e-6)


def test_one_variance_alone_has_a_closed_form() -> None:
    """D = ν (log θ + s²/θ), so the interval's ends solve ν (s²/θ − 1 − log s²/θ) = 3.841."""
    nu, square = 10.0, 4.0
    blocks = Blocks(np.array([[[nu * square]]]), np.array([nu]), np.ones((1, 1, 1, 1)), np.zeros((1, 1, 1)))
    (found,) = estimate_components([blocks])
    assert found.variance == pytest.approx(square)
    assert found.high is not None
    for end in (found.low, found.high):
        ratio = square / end
        assert nu * (ratio - 1 - math.log(ratio)) == pytest.approx(chi2.ppf(0.95, 1), abs=2e-3)


def drawn(rng: np.random.Generator, truth: Floats, count: int, size: int) -> Blocks:
    """Blocks whose sources show in random directions."""
    effects = rng.normal(size=(len(truth), count, size, 2))
    parts = np.einsum("pnik,pnjk->pnij", effects, effects)
    parts[0] = np.eye(size)
    roots = np.linalg.cholesky(np.tensordot(truth, parts, 1))
    y = np.einsum("nij,nj->ni", roots, rng.normal(size=(count, size)))
    return Blocks(np.einsum("ni,nj->nij", y, y), np.ones(count), parts, np.zeros_like(parts[0]))


@pytest.mark.parametrize("seed", [pytest.param(n, marks=[pytest.mark.slow] * (n > 2)) for n in range(6)])
def test_the_least_deviance_is_scipys(seed: int) -> None:
    """L-BFGS-B on the plain formula from several starts finds nothing less, sources of no effect included."""
    rng = np.random.default_rng(seed)
    stacks = [drawn(rng, np.array([1.0, 0.5, 0.0]), 40, 4), drawn(rng, np.array([1.0, 0.5, 0.0]), 20, 2)]

    def deviance(variances: Floats) -> float:
        total = 0.0
        for s in stacks:
            for scatter, parts in zip(s.scatter, np.moveaxis(s.parts, 1, 0), strict=True):
                v = np.tensordot(variances, parts, 1)
                total += math.log(np.linalg.det(v)) + float(np.trace(np.linalg.solve(v, scatter)))
        return total

    found = maximum_likelihood(stacks)
    starts = ([1.0, 1.0, 1.0], [0.5, 0.1, 0.01], [2.0, 0.0, 0.0])
    results = [
        minimize(deviance, s, bounds=[(1e-6, None), (0, None), (0, None)], method="L-BFGS-B") for s in starts
    ]
    assert deviance(found) <= min(r.fun for r in results) + 1e-6


def test_the_interval_is_where_the_profile_crosses() -> None:
    """The other variance is searched by scipy at each end."""
    stacks = one_way(DYESTUFF, restricted=True)
    (blocks,) = stacks

    def deviance(within: float, between: float) -> float:
        v = within + between * blocks.parts[1, :, 0, 0]
        return float(blocks.freedom @ np.log(v) + (blocks.scatter[:, 0, 0] / v).sum())

    within, between = estimate_components(stacks)
    assert between.high is not None
    least = deviance(within.variance, between.variance)
    for end in (between.low, between.high):
        profile = minimize_scalar(lambda x, end=end: deviance(math.exp(x), end), bracket=(5, 9))
        assert profile.fun - least == pytest.approx(chi2.ppf(0.95, 1), abs=2e-3)


def test_a_source_that_shows_nowhere_has_no_end() -> None:
    blocks = drawn(np.random.default_rng(1), np.array([1.0, 0.5]), 20, 2)
    parts = np.concatenate([blocks.parts, np.zeros_like(blocks.parts[:1])])
    *_, absent = estimate_components([Blocks(blocks.scatter, blocks.freedom, parts, blocks.known)])
    assert (absent.variance, absent.low, absent.high) == (0.0, 0.0, None)


def test_two_sources_that_act_alike_are_not_told_apart() -> None:
    """Either may be all of it: both intervals begin at 0 and end at the same place."""
    blocks = drawn(np.random.default_rng(2), np.array([1.0]), 30, 2)
    parts = np.concatenate([blocks.parts, blocks.parts])
    first, second = estimate_components([Blocks(blocks.scatter, blocks.freedom, parts, blocks.known)])
    assert (first.low, second.low) == (0.0, 0.0)
    assert first.high is not None
    assert first.high == pytest.approx(second.high, rel=1e-2)
    (alone,) = estimate_components([blocks])
    assert first.variance + second.variance == pytest.approx(alone.variance, rel=1e-4)


def test_data_without_any_spread_and_known_rounding() -> None:
    """Readings that repeat to the figure: the estimate is 0, with an end that more data bring down."""
    ends = []
    for count in (4, 40):
        eye = np.eye(2)[None].repeat(count, 0)
        blocks = Blocks(np.zeros((count, 2, 2)), np.ones(count), eye[None], 0.01 * eye)
        (found,) = estimate_components([blocks])
        assert (found.variance, found.low) == (0.0, 0.0)
        assert found.high is not None
        ends.append(found.high)
    assert 0 < ends[1] < ends[0]


@pytest.mark.parametrize("freedom", [2, 4, 8, 40, 196])
@pytest.mark.parametrize("chance", [0.5, 0.05, 1e-3, 1e-5])
def test_chi_square_against_scipy(freedom: int, chance: float) -> None:
    ratio = float(chi_square_limit(freedom, chance)) / chi2.isf(chance, freedom)
    assert 0.99 < ratio < (1.08 if freedom < 8 else 1.03)


def test_outliers_are_found_though_several_hide_each_other() -> None:
    blocks = drawn(np.random.default_rng(3), np.array([1.0, 0.3]), 40, 4)
    assert not outlying([blocks], maximum_likelihood([blocks]))[0].any()
    strange = [3, 17, 30]
    blocks.scatter[strange] *= 60
    (found,) = outlying([blocks], maximum_likelihood([blocks]))
    assert np.flatnonzero(found).tolist() == strange


def test_few_lists_without_a_fault_have_an_outlier() -> None:
    rng = np.random.default_rng(4)
    lists = [drawn(rng, np.array([1.0, 0.3]), 40, 4) for _ in range(300)]
    named = sum(outlying([b], maximum_likelihood([b]))[0].any() for b in lists)
    assert named <= 0.03 * len(lists)
