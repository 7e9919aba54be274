"""Other units, for those who weigh in ounces and measure in inches: the service speaks g, mm and degrees."""

from __future__ import annotations

GRAMS_PER_POUND = 453.59237  # exact: international pound of 1959
GRAMS_PER_OUNCE = 28.349523125  # exact: a sixteenth of it
MM_PER_INCH = 25.4  # exact: international inch of 1959


def ounces(mass_oz: float) -> float:
    """A mass [oz] as a mass [g].

    >>> ounces(1.25)
    35.43690390625
    """
    return mass_oz * GRAMS_PER_OUNCE


def pounds(mass_lb: float) -> float:
    """A mass [lb] as a mass [g].

    >>> pounds(2)
    907.18474
    """
    return mass_lb * GRAMS_PER_POUND


def inches(length_in: float) -> float:
    """A length [in] as a length [mm].

    >>> inches(17)
    431.8
    """
    return length_in * MM_PER_INCH
