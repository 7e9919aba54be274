"""The objective: against a shop simulated spin by spin, its parts, its inverse, and the defaults as designed."""

from __future__ import annotations

from dataclasses import asdict

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.planning.effort import LEAST_PROBABILITY, Effort, EffortParts
from rimpoise_service.planning.spread import HEAVY_MACHINE_SD_G, MACHINE_SD_G, Spread

minutes = st.floats(0, 60)
probabilities = st.floats(LEAST_PROBABILITY, 1)


def test_the_defaults_are_those_that_the_contract_names() -> None:
    """Common practice, no source."""
    assert asdict(Effort()) == {
        "clip_on_min": 0.5,
        "strip_min": 0.5,
        "clean_min": 0.5,
        "mark_min": 0.3,
        "respin_min": 2.0,
        "spin_min": 0.4,
        "remove_min": 0.3,
        "wish_min": 5.0,
        "excess_min_per_g": 0.05,
        "geometry_min_per_g": 0.02,
        "tyre_turn_min": None,
    }
    assert LEAST_PROBABILITY == 0.01


@pytest.mark.parametrize("probability", [0.2, 0.5, 0.9, 1.0])
def test_against_a_shop_that_does_it_again_until_it_passes(probability: float) -> None:
    """Fit; with the rest of the probability spin, take off and fit again: 200,000 wheels followed to the end."""
    effort, handling, penalty = Effort(respin_min=1.7), 1.3, 0.4
    tries = np.random.default_rng(11).geometric(probability, 200_000)
    spent = tries * handling + (tries - 1) * effort.respin_min + penalty
    expected = effort.expected(handling, probability, penalty)
    assert expected == pytest.approx(float(spent.mean()), rel=0.01)
    formula = (handling + (1 - probability) * effort.respin_min) / probability + penalty
    assert expected == pytest.approx(formula)


@given(minutes, probabilities, minutes, st.floats(0.1, 60))
def test_what_is_needed_is_the_inverse(handling: float, probability: float, penalty: float, respin: float) -> None:
    effort = Effort(respin_min=respin)
    total = effort.expected(handling, probability, penalty)
    assert effort.needed(handling, total, penalty) == pytest.approx(probability)


@given(minutes, probabilities, minutes)
def test_whoever_passes_more_often_takes_less(handling: float, probability: float, penalty: float) -> None:
    effort = Effort()
    assert effort.expected(handling, probability, penalty) >= effort.expected(handling, 1.0, penalty) - 1e-9
    assert effort.expected(handling, 1.0, penalty) == pytest.approx(handling + penalty)


def test_an_effort_that_nothing_reaches_needs_more_than_certainty() -> None:
    effort = Effort()
    assert effort.needed(1.0, 0.99, 0.0) > 1
    assert effort.needed(1.0, 1.0, 0.0) == pytest.approx(1)
    assert effort.needed(1.0, 5.0, 7.0) == float("inf")
    assert effort.needed(1.0, 5.0, 8.0) == float("inf")


def test_arrays_are_weighed_as_numbers_are() -> None:
    effort, p = Effort(), np.array([0.1, 0.6, 1.0])
    found = effort.expected(np.full(3, 1.5), p, np.full(3, 0.2))
    assert found.tolist() == [effort.expected(1.5, share, 0.2) for share in p.tolist()]


@given(minutes, minutes, minutes, minutes, minutes)
def test_the_parts_add_up(fit: float, marks: float, failing: float, wishes: float, excess: float) -> None:
    parts = EffortParts(fit, marks, failing, wishes, excess)
    assert parts.total == pytest.approx(sum(asdict(parts).values()))


def test_a_spread_as_variances() -> None:
    """2° are 0.0349 rad; 2 % a fiftieth; each style has its own error along the axis."""
    spread = Spread()
    assert spread.angle_var == pytest.approx(0.034907**2, rel=1e-4)
    assert spread.mass_var == pytest.approx(0.02**2)
    assert (spread.axial_var(clip_on=True), spread.axial_var(clip_on=False)) == (0.25, 9.0)
    assert (spread.machine_sd_g, MACHINE_SD_G, HEAVY_MACHINE_SD_G) == (None, 0.7, 3.0)
