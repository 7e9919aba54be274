"""Minor units and rounding, against what the standards say."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.workshop.money import How, MoneyRounding, minor_digits, plain

# ISO 4217, list one, column "minor unit"; from memory
MINOR_UNITS = {"JPY": 0, "ISK": 0, "CLP": 0, "KRW": 0, "EUR": 2, "USD": 2, "GBP": 2, "CHF": 2, "HUF": 2}
MINOR_UNITS |= {"KWD": 3, "BHD": 3, "TND": 3, "CLF": 4}

# ISO 80000-1:2009, annex B, rules A (even) and B (up), with its own examples; from memory
HALVES: list[tuple[How, str, str]] = [
    ("half_even", "12.25", "12.2"),
    ("half_even", "12.35", "12.4"),
    ("half_up", "12.25", "12.3"),
    ("half_up", "12.35", "12.4"),
]


@pytest.mark.parametrize("currency", MINOR_UNITS)
def test_minor_units(currency: str) -> None:
    assert minor_digits(currency) == MINOR_UNITS[currency]


@pytest.mark.parametrize("code", ["XAU", "XXX", "XTS", "ZZZ", "eur", "", "EURO"])
def test_no_currency_to_charge_in(code: str) -> None:
    assert minor_digits(code) is None


@pytest.mark.parametrize(("how", "amount", "rounded"), HALVES)
def test_halves(how: How, amount: str, rounded: str) -> None:
    assert str(MoneyRounding(how=how).money(Decimal(amount), 1)) == rounded


@given(st.decimals(0, 10**12, places=6), st.integers(0, 4), st.sampled_from(["half_up", "half_even"]))
def test_rounding_is_to_the_nearest(amount: Decimal, digits: int, how: How) -> None:
    rounded = MoneyRounding(how=how).money(amount, digits)
    assert abs(rounded - amount) * 2 <= Decimal(10) ** -digits
    assert -int(rounded.as_tuple().exponent) == digits


@given(st.decimals(0, 10**12, places=6), st.integers(0, 4))
def test_plain_changes_nothing(amount: Decimal, digits: int) -> None:
    reported = format(plain(amount, digits), "f")
    assert Decimal(reported) == amount
    decimals = reported.partition(".")[2]
    assert len(decimals) >= digits
    assert len(decimals) == digits or decimals[-1] != "0"
