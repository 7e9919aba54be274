"""Money: exact decimals, a currency's own minor unit, and where and how amounts are rounded.

The minor units are ISO 4217's own table, as the library ``iso4217`` carries it: the yen has none, the Kuwaiti
dinar three digits, gold has no minor unit at all and can't be invoiced in.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal, DivisionByZero, InvalidOperation, Overflow
from typing import Literal

from iso4217 import Currency

Where = Literal["line", "total"]
How = Literal["half_up", "half_even"]

EXACT = Context(prec=60, traps=[InvalidOperation, Overflow, DivisionByZero])
"""Room for the longest product of a quantity, a price and a tax rate, with no digit lost."""

_MINOR_DIGITS = {currency.code: currency.exponent for currency in Currency}
_WAYS = {"half_up": ROUND_HALF_UP, "half_even": ROUND_HALF_EVEN}


def minor_digits(currency: str) -> int | None:
    """Decimals of a currency's minor unit (ISO 4217); None for a code that is unknown or has no minor unit.

    >>> [minor_digits(code) for code in ("EUR", "JPY", "KWD", "XAU", "ABC")]
    [2, 0, 3, None, None]
    """
    return _MINOR_DIGITS.get(currency)


@dataclass(frozen=True, slots=True)
class MoneyRounding:
    """Where amounts are rounded to the minor unit, each line or the totals only, and how halves are rounded."""

    where: Where = "line"
    how: How = "half_up"

    def money(self, amount: Decimal, digits: int) -> Decimal:
        """An amount, not negative, rounded to a number of decimals.

        >>> [str(MoneyRounding(how=how).money(Decimal("0.125"), 2)) for how in ("half_up", "half_even")]
        ['0.13', '0.12']
        """
        return amount.quantize(Decimal(1).scaleb(-digits), _WAYS[self.how], EXACT)


def plain(amount: Decimal, digits: int) -> Decimal:
    """The same amount with at least that many decimals, and no zeros beyond them.

    >>> str(plain(Decimal("1.5000"), 2)), str(plain(Decimal("0.1250"), 2))
    ('1.50', '0.125')
    """
    needed = -int(amount.normalize(EXACT).as_tuple().exponent) if amount else 0
    return amount.quantize(Decimal(1).scaleb(-max(needed, digits)), context=EXACT)
