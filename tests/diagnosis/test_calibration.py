"""Chances beside what happened: Wilson's interval against published tables, Brier's parts against their sum."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from rimpoise_service.diagnosis.calibration import calibrate, wilson_interval


@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0000, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_wilson_in_a_published_table(successes: int, trials: int, low: float, high: float) -> None:
    """R. G. Newcombe, Statist. Med. 17, 1998, 857-872, table I, method 3 (read in transcriptions)."""
    assert wilson_interval(successes, trials) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(("successes", "trials"), [(0, 1), (1, 1), (3, 7), (50, 50), (499, 1000)])
def test_wilson_is_scipys(successes: int, trials: int) -> None:
    expected = binomtest(successes, trials).proportion_ci(method="wilson")
    assert wilson_interval(successes, trials) == pytest.approx((expected.low, expected.high), abs=1e-12)


def test_a_table_by_hand() -> None:
    """Ten jobs announced at 90 % of which 8 passed, ten at 60 % of which 7 did.

    Brier (8·0.01 + 2·0.81 + 7·0.16 + 3·0.36) / 20 = 0.195; o = 0.75; reliability (0.1² + 0.1²) / 2 = 0.01,
    resolution 0.05² = 0.0025, uncertainty 0.1875; 0.01 − 0.0025 + 0.1875 = 0.195.
    """
    found = calibrate([90] * 10 + [60] * 10, [True] * 8 + [False] * 2 + [True] * 7 + [False] * 3)
    assert found.parts is not None
    assert found.brier == pytest.approx(0.195)
    parts = [found.parts.reliability, found.parts.resolution, found.parts.uncertainty, found.parts.within]
    assert parts == pytest.approx([0.01, 0.0025, 0.1875, 0])
    assert [(b.from_pct, b.to_pct, b.n) for b in found.bins] == [(60, 70, 10), (90, 100, 10)]
    assert [(b.told_pct, b.happened_pct) for b in found.bins] == [(60, 70), (90, 80)]
    assert found.shortfall == pytest.approx(0)


JOBS = st.lists(st.tuples(st.floats(0, 100), st.booleans()), min_size=1, max_size=60)


@given(JOBS)
def test_parts_add_up_and_within_is_what_bins_hide(jobs: list[tuple[float, bool]]) -> None:
    """Within: variance of the chances in their bins less twice their covariance with success."""
    chances, passed = [c for c, _ in jobs], [p for _, p in jobs]
    found = calibrate(chances, passed)
    assert found.parts is not None
    assert found.brier is not None
    p, o = np.array(chances) / 100, np.array(passed, float)
    assert found.brier == pytest.approx(np.mean((p - o) ** 2))
    within = 0.0
    for b in found.bins:
        here = (p * 100 >= b.from_pct) & ((p * 100 < b.to_pct) | (b.to_pct == 100))
        assert here.sum() == b.n
        mean_p, mean_o = p[here].mean(), o[here].mean()
        within += float(np.sum((p[here] - mean_p) ** 2 - 2 * (p[here] - mean_p) * (o[here] - mean_o)))
    assert found.parts.within == pytest.approx(within / len(jobs), abs=1e-12)
    assert sum(b.n for b in found.bins) == len(jobs)
    assert all(0 <= b.low <= b.happened_pct + 1e-9 and b.happened_pct - 1e-9 <= b.high <= 100 for b in found.bins)


def test_the_shortfall_of_true_chances_is_a_standard_normal() -> None:
    rng = np.random.default_rng(5)
    found = []
    for _ in range(2000):
        chances = rng.uniform(40, 98, 60)
        found.append(calibrate(chances.tolist(), (rng.random(60) < chances / 100).tolist()).shortfall or 0.0)
    assert [np.mean(found), np.std(found)] == pytest.approx([0, 1], abs=0.05)


@pytest.mark.parametrize(("passed", "sign"), [(True, 0), (False, 1)])
def test_certainties_allow_no_miss(passed: bool, sign: int) -> None:
    shortfall = calibrate([100.0] * 3, [passed] * 3).shortfall
    assert shortfall == 3 * sign


def test_no_chances_no_score() -> None:
    found = calibrate([], [])
    assert (found.bins, found.brier, found.parts, found.shortfall) == ((), None, None, None)
    assert found.first_pass_pct is None


def test_jobs_without_a_chance_count_as_passes_alone() -> None:
    found = calibrate([None, 80.0, None, None], [True, True, False, True])
    assert found.first_pass_pct == 75
    assert [(b.n, b.happened_pct) for b in found.bins] == [(1, 100)]
