"""Readings at equal turns: the parts put together come apart again, and what is left tells the repeatability."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.physics.index_balancing import index
from rimpoise_service.physics.unbalance import angle_deg, polar
from tests.cited import Case, cases

vectors = st.builds(polar, st.floats(0, 100), st.floats(0, 360))


@given(vectors, vectors, st.integers(2, 12), st.sampled_from([1, -1]))
def test_the_parts_come_apart_again(wheel: complex, machine: complex, count: int, sign: int) -> None:
    """First principles: machine plus wheel turned k times."""
    found = index([machine + wheel * polar(1, sign * 360 * k / count) for k in range(count)], sign)
    assert found.wheel == pytest.approx(wheel, abs=1e-9)
    assert found.machine == pytest.approx(machine, abs=1e-9)
    assert found.worst == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("case", cases("indexing"), ids=str)
def test_the_published_readings(case: Case) -> None:
    found = index([polar(*reading) for reading in case.inputs["readings"]])
    size, angle = case.expected["machine"]
    assert abs(found.machine) == pytest.approx(size, rel=case.tolerance["mass_rel"])
    assert angle_deg(found.machine) == pytest.approx(angle, abs=case.tolerance["angle_deg"])


def test_two_readings_explain_everything() -> None:
    """By hand: half the sum and half the difference."""
    found = index([7 + 3j, 1 - 1j])
    assert (found.machine, found.wheel) == (4 + 1j, 3 + 2j)
    assert found.repeatability is None
    assert found.worst == 0


def test_the_repeatability_is_that_of_the_noise() -> None:
    """Drawn noise of sd 1.5 per component, 4,000 times six readings: its mean square comes out within 2 %."""
    rng = np.random.default_rng(4)
    noise = 1.5 * (rng.normal(size=(4000, 6, 2)) @ [1, 1j])
    clean = np.array([3 + 20 * polar(1, 60 * k) for k in range(6)])
    squares = [(index(readings.tolist()).repeatability or 0) ** 2 for readings in clean + noise]
    assert math.sqrt(np.mean(squares)) == pytest.approx(1.5, rel=0.02)


def test_turned_the_other_way_nothing_fits() -> None:
    readings = [10 * polar(1, 90 * k) for k in range(4)]
    assert index(readings, -1).worst == pytest.approx(10)
    assert index(readings, 1).worst == pytest.approx(0, abs=1e-12)
