"""The exact constants of 1959."""

from __future__ import annotations

from fractions import Fraction

import pytest

from rimpoise import inches, ounces, pounds


def test_ounces_pounds_and_inches_are_the_international_ones() -> None:
    assert ounces(1) == 28.349523125
    assert pounds(1) == 453.59237
    assert inches(17) == pytest.approx(431.8, abs=1e-12)


def test_sixteen_ounces_are_a_pound() -> None:
    assert Fraction(str(ounces(1))) * 16 == Fraction(str(pounds(1)))


def test_a_quarter_ounce_is_a_stock_step() -> None:
    assert ounces(0.25) == pytest.approx(7.0873808, abs=5e-8)
