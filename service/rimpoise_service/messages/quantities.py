"""Numbers in words: by the unit that ends a value's name, in the reader's units and his language's digits.

Babel writes the digits and picks the plural; units are SI's symbols, or those of US workshops. A factor is exact
by definition (inch, ounce, pound) or rounded to what is read.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import lru_cache

from babel import Locale
from babel.numbers import format_decimal

from .reader import Reader

GRAMS_PER_OUNCE = 28.349523125
MM_PER_INCH = 25.4
KG_PER_POUND = 0.45359237
NM_PER_POUND_FOOT = 1.3558179483
KM_PER_MILE = 1.609344
N_MM_PER_LB_IN = 0.1751268352
QUARTER_OUNCE_G = GRAMS_PER_OUNCE / 4

FINE, WEIGHT, TOTAL, WHOLE, BARE = "fine", "weight", "total", "whole", "bare"
"""Lengths to the hundredth of a mm, masses to the tenth of a gram; as on a weight; as of weights in all; no
decimals; no unit."""

UP, DOWN = "up", "down"
"""A mass rounded up, a limit rounded down, to the tenth: what is over a limit is read as over it, and as much as
is said elsewhere."""


@lru_cache(maxsize=4096)
def number(value: float, digits: int, language: str) -> str:
    """Rounded to at most so many decimals, zeros at the end left out, never −0.

    >>> number(1234.5, 1, "de"), number(5.0, 1, "en-GB")
    ('1.234,5', '5')
    >>> number(-5.27, 1, "en-GB")
    '−5.3'
    """
    rounded = round(value, digits) + 0.0
    written = format_decimal(rounded, "#,##0." + "#" * digits if digits else "#,##0", locale(language))
    return written.replace("-", "\u2212")


@lru_cache
def locale(language: str) -> Locale:
    """Babel's locale of a language."""
    return Locale.parse(language, sep="-")


@lru_cache(maxsize=4096)
def plural(count: float, language: str) -> str:
    """The plural category of a number: one, other or, in Spanish, many.

    >>> plural(1, "de"), plural(2, "de")
    ('one', 'other')
    """
    return str(locale(language).plural_form(count))


def _coarse(value: float) -> int:
    """Decimals worth reading: none from 10 on."""
    return 0 if abs(value) >= 9.95 else 1


def _mass(value: float, spec: str, reader: Reader) -> str:
    if spec in (WEIGHT, TOTAL):
        return _weight(value, 1 if spec == TOTAL else 2, reader)
    if reader.units == "us":
        return f"{number(_towards(value / GRAMS_PER_OUNCE, 2, spec), 2, reader.language)} oz"
    digits = 1 if spec in (FINE, UP, DOWN) else _coarse(value)
    return f"{number(_towards(value, digits, spec), digits, reader.language)} g"


def _towards(value: float, digits: int, spec: str) -> float:
    """Rounded up or down to so many decimals, if that is asked for.

    >>> _towards(5.02, 1, "up"), _towards(10.6, 0, "down"), _towards(5.02, 1, "")
    (5.1, 10.0, 5.02)
    """
    if spec not in (UP, DOWN):
        return value
    scaled = round(value * float(10**digits), 6)
    return (math.ceil(scaled) if spec == UP else math.floor(scaled)) / float(10**digits)


def _weight(value: float, digits: int, reader: Reader) -> str:
    """As printed: ounces of ounce weights, grams in brackets; other weights in grams, to so many decimals."""
    quarters = value / QUARTER_OUNCE_G
    by_ounce = quarters >= 0.5 and abs(quarters - round(quarters)) * QUARTER_OUNCE_G < 0.02
    ounces = number(value / GRAMS_PER_OUNCE, 2, reader.language)
    if by_ounce:
        return f"{ounces} oz ({number(value, _coarse(value), reader.language)} g)"
    grams = number(value, digits, reader.language)
    return f"{ounces} oz ({grams} g)" if reader.units == "us" else f"{grams} g"


def _length(value: float, spec: str, reader: Reader) -> str:
    fine = spec == FINE
    if reader.units == "us":
        return f"{number(value / MM_PER_INCH, 3 if fine else 1, reader.language)} {_inch(reader)}"
    return f"{number(value, 2 if fine else _coarse(value), reader.language)} mm"


def _inch(reader: Reader) -> str:
    """The unit's symbol; in German and Spanish as workshops write it, where "in" is a word that misleads."""
    return {"de": "Zoll", "es": "pulg."}.get(reader.language, "in")


def _inches(value: float, spec: str, reader: Reader) -> str:  # noqa: ARG001
    return f"{number(value, 2, reader.language)} {_inch(reader)}"


def _degrees(value: float, spec: str, reader: Reader) -> str:  # noqa: ARG001
    return f"{number(round(value) % 360, 0, reader.language)}°"


def _percent(value: float, spec: str, reader: Reader) -> str:  # noqa: ARG001
    gap = "" if reader.language.startswith("en") else "\u00a0"
    return f"{number(value, 0, reader.language)}{gap}%"


def _plain(unit: str, digits: int) -> Callable[[float, str, Reader], str]:
    return lambda value, spec, reader: f"{number(value, digits, reader.language)} {unit}"  # noqa: ARG005


def _converted(
    unit: str, us_unit: str, to_us: Callable[[float], float], digits: int = 0
) -> Callable[[float, str, Reader], str]:
    def written(value: float, spec: str, reader: Reader) -> str:  # noqa: ARG001
        us = reader.units == "us"
        return f"{number(to_us(value) if us else value, digits, reader.language)} {us_unit if us else unit}"

    return written


UNITS_BY_SUFFIX: dict[str, Callable[[float, str, Reader], str]] = {
    "g": _mass,
    "mm": _length,
    "deg": _degrees,
    "pct": _percent,
    "in": _inches,
    "min": _plain("min", 0),
    "s": _plain("s", 0),
    "kg": _converted("kg", "lb", lambda kg: kg / KG_PER_POUND, 1),
    "nm": _converted("N·m", "lb·ft", lambda nm: nm / NM_PER_POUND_FOOT),
    "n_mm": _converted("N/mm", "lb/in", lambda n_mm: n_mm / N_MM_PER_LB_IN),
    "km": _converted("km", "mi", lambda km: 5 * round(km / KM_PER_MILE / 5)),
    "c": _converted("°C", "°F", lambda c: 32 + 1.8 * c),
}


@lru_cache(maxsize=512)
def _unit_of(name: str) -> str:
    """What ends a value's name; empty for a name of one word.

    >>> _unit_of("rim_mm"), _unit_of("mass_g_2"), _unit_of("stiffness_n_mm"), _unit_of("gain")
    ('mm', 'g', 'n_mm', '')
    """
    stem = re.sub(r"_\d$", "", name)
    return next((unit for unit in sorted(UNITS_BY_SUFFIX, key=len, reverse=True) if stem.endswith(f"_{unit}")), "")


def quantity(name: str, value: float, spec: str, reader: Reader) -> str:
    """A number with the unit that ends its name, or without one.

    >>> quantity("rim_mm", 38.2, "", Reader()), quantity("rim_mm", 38.2, "", Reader("en-US", "us"))
    ('38 mm', '1.5 in')
    >>> quantity("mass_g", 35.436904, "weight", Reader()), quantity("left_g", 0.52, "", Reader())
    ('1.25 oz (35 g)', '0.5 g')
    >>> quantity("left_g", 5.02, "up", Reader()), quantity("limit_g", 5.02, "down", Reader())
    ('5.1 g', '5 g')
    """
    write = UNITS_BY_SUFFIX.get(_unit_of(name))
    if write is None:
        shown = math.fmod(round(value), 360) if spec == WHOLE else value
        return number(shown, 2, reader.language)
    text = write(value, spec, reader)
    return text.partition(" ")[0] if spec == BARE else text
