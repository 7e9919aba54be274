"""A bent weight acts at the centroid of its arc: checked by adding up its line density."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from rimpoise_service.physics.distributed_mass import arc_factor, arc_factors, half_arc_rad, strip_radius_mm


@given(st.floats(0, math.pi))
@example(0.0)
@example(1e-9)
@example(1e-160)
def test_factor_is_the_mean_cosine_over_the_arc(half: float) -> None:
    nodes, weights = np.polynomial.legendre.leggauss(40)  # over [-1, 1], so their weights add up to 2
    mean = float(weights @ np.cos(nodes * half)) / 2
    assert arc_factor(half) == pytest.approx(mean, abs=1e-12)


@given(st.floats(0, math.pi), st.floats(0, math.pi))
def test_longer_arcs_keep_less(one: float, other: float) -> None:
    shorter, longer = sorted((one, other))
    assert 1 >= arc_factor(shorter) >= arc_factor(longer) - 1e-15 >= -1e-15


def test_many_at_once_are_the_same_as_one_at_a_time() -> None:
    halves = np.linspace(0, math.pi, 50)
    assert arc_factors(halves) == pytest.approx([arc_factor(h) for h in halves])


@given(st.floats(1, 500), st.floats(50, 400))
def test_half_arc(length: float, radius: float) -> None:
    """The whole circumference is a full turn."""
    assert half_arc_rad(2 * math.pi * radius, radius) == pytest.approx(math.pi)
    assert 2 * half_arc_rad(length, radius) * radius == pytest.approx(length)


def test_mass_centre_of_a_strip_lies_inside_the_land() -> None:
    """Half a strip's thickness nearer to the axis, for it is stuck to the inside of the barrel."""
    assert strip_radius_mm(200, 3.6) == pytest.approx(198.2)


def test_sixty_grams_can_act_as_fifty_six() -> None:
    """12 segments of 20 mm on a land of 200 mm (r sin a / a, Beer & Johnston, Statics, fig. 5.8B)."""
    assert 60 * arc_factor(half_arc_rad(240, 200)) == pytest.approx(56.46, abs=0.005)
