"""How much unbalance a balance quality grade permits: ISO 21940-11 (formerly ISO 1940-1), from memory.

A grade G is the speed of the mass centre on its circle, e_per ω = G [mm/s], so that

    U_per = 1000 G m / ω      [g·mm], with m [kg] and ω [rad/s].

Two tolerance planes A, B share it by the distances L_A, L_B of the mass centre from them:
U_A = U_per L_B / L, U_B = U_per L_A / L, neither less than 0.3 nor more than 0.7 of it; L = L_A + L_B, the mass
centre between the planes. In one plane all of it is permitted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

LEAST_SHARE, LARGEST_SHARE = 0.3, 0.7
"""The least and the largest share of one of two planes; ISO 21940-11, from memory."""

GRADE_PATTERN = r"^G ?(?:[1-9][0-9]{0,3}(?:\.[0-9]{1,3})?|0\.[1-9][0-9]{0,2})$"
"""G and its number, from 0.1 to 9999.999 mm/s; the standard itself names 0.4 to 4000."""


def grade_mm_s(grade: str) -> float:
    """The number of a grade, e_per ω [mm/s].

    >>> grade_mm_s("G40"), grade_mm_s("G 6.3")
    (40.0, 6.3)
    """
    return float(grade.removeprefix("G"))


@dataclass(frozen=True, slots=True)
class RotationSpeed:
    """The speed of rotation: speed_rad_s [rad/s]."""

    speed_rad_s: float

    @classmethod
    def at_rpm(cls, speed_rpm: float) -> RotationSpeed:
        """From revolutions a minute.

        >>> RotationSpeed.at_rpm(3000).frequency_hz
        50.0
        """
        return cls(speed_rpm * 2 * math.pi / 60)

    @classmethod
    def rolling(cls, speed_kmh: float, rolling_radius_mm: float) -> RotationSpeed:
        """On the road: ω = v / r, with r [mm] of the tyre, not of the rim.

        >>> RotationSpeed.rolling(100, 315.95).frequency_hz
        13.99
        """
        return cls(speed_kmh / 3.6 * 1000 / rolling_radius_mm)

    @property
    def speed_rpm(self) -> float:
        """In revolutions a minute."""
        return self.frequency_hz * 60

    @property
    def frequency_hz(self) -> float:
        """In revolutions a second: the frequency at which an unbalance shakes."""
        return self.speed_rad_s / (2 * math.pi)


def permissible_gmm(grade: float, mass_kg: float, speed: RotationSpeed) -> float:
    """U_per [g·mm] of a grade [mm/s], for a rotor of that mass [kg].

    >>> permissible_gmm(2.5, 3600, RotationSpeed.at_rpm(3000))
    28647.9
    """
    return 1000 * grade * mass_kg / speed.speed_rad_s


def shares(positions_mm: Sequence[float], mass_centre_mm: float) -> tuple[float, ...]:
    """How one or two planes at those positions [mm] share what is permitted.

    A mass centre beyond a plane gives that plane the largest share.

    >>> shares([0, 2400], 1500), shares([0, 100], 10), shares([5], 0)
    ((0.375, 0.625), (0.7, 0.3), (1.0,))
    """
    if len(positions_mm) == 1:
        return (1.0,)
    a, b = positions_mm
    to_a = (b - mass_centre_mm) / (b - a)
    share = min(max(to_a, LEAST_SHARE), LARGEST_SHARE)
    return share, 1 - share
