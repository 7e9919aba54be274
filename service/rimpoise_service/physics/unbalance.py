"""Unbalance as complex numbers.

Notation. The spin axis is z, positive outboard. Seen from outboard, angles θ grow clockwise from the
caller's mark. A mass m at radius r and angle θ is the one complex number ``U = m r e^{iθ}`` [g·mm];
polar form exists only at the edges. Terms: ISO 21940-2 (balancing vocabulary).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable
from dataclasses import dataclass

MINUTES_PER_DEGREE = 2  # a clock's hour hand: 12 × 60 minutes for 360°


def wrap_deg(angle_deg: float) -> float:
    """The same direction in [0, 360) [deg].

    The second ``%`` is there because ``-1e-17 % 360.0`` is ``360.0``.

    >>> wrap_deg(-90), wrap_deg(-1e-17), wrap_deg(720)
    (270.0, 0.0, 0.0)
    """
    return angle_deg % 360.0 % 360.0


def signed_deg(angle_deg: float) -> float:
    """The same direction in [−180, 180) [deg].

    >>> signed_deg(350 - 20), signed_deg(20 - 350)
    (-30.0, 30.0)
    """
    return wrap_deg(angle_deg + 180) - 180


def polar(size: float, angle_deg: float) -> complex:
    """The vector of that size [any unit] and angle [deg].

    >>> polar(2, 90).imag
    2.0
    """
    return cmath.rect(size, math.radians(angle_deg))


def angle_deg(vector: complex) -> float:
    """The direction of a vector in [0, 360) [deg]; 0 for the zero vector, which has none.

    >>> angle_deg(-1j), angle_deg(0j)
    (270.0, 0.0)
    """
    return wrap_deg(math.degrees(math.atan2(vector.imag, vector.real))) if vector else 0.0


def clock(angle_deg: float) -> str:
    """An angle [deg] as the hour hand would show it, the mark at 12.

    >>> clock(0), clock(90), clock(203.3), clock(359.9)
    ('12:00', '3:00', '6:47', '12:00')
    """
    hours, minutes = divmod(round(angle_deg * MINUTES_PER_DEGREE) % 720, 60)
    return f"{hours or 12}:{minutes:02d}"


@dataclass(frozen=True, slots=True)
class PointMass:
    """A mass small enough to be a point.

    position_mm [mm] along the axis, positive outboard; radius_mm [mm]; mass_g [g];
    angle_deg [deg] clockwise seen from outboard.
    """

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float

    @classmethod
    def of(cls, position_mm: float, radius_mm: float, vector: complex) -> PointMass:
        """The mass that makes a vector [g·mm] at a position and a radius [mm]."""
        return cls(position_mm, radius_mm, abs(vector) / radius_mm, angle_deg(vector))

    @property
    def vector(self) -> complex:
        """The unbalance vector m r e^{iθ} [g·mm]."""
        return polar(self.mass_g * self.radius_mm, self.angle_deg)


@dataclass(frozen=True, slots=True)
class Unbalance:
    """The unbalance of a rigid wheel: a static vector and a moment about the datum.

    static = Σ U_k [g·mm]; moment = Σ U_k z_k [g·mm²].
    """

    static: complex = 0j
    moment: complex = 0j

    @classmethod
    def of(cls, masses: Iterable[PointMass]) -> Unbalance:
        """The unbalance that point masses make together.

        >>> Unbalance.of([PointMass(10, 100, 5, 0), PointMass(-10, 100, 5, 180)]).moment.real
        10000.0
        """
        return sum((cls.at(m.position_mm, m.vector) for m in masses), cls())

    @classmethod
    def at(cls, position_mm: float, vector: complex) -> Unbalance:
        """A vector [g·mm] acting in the plane at a position [mm]."""
        return cls(vector, vector * position_mm)

    def about(self, position_mm: float) -> complex:
        """The couple: the moment about another point of the axis [g·mm²].

        >>> Unbalance.at(30, 100 + 0j).about(10).real
        2000.0
        """
        return self.moment - self.static * position_mm

    def __add__(self, other: Unbalance) -> Unbalance:
        return Unbalance(self.static + other.static, self.moment + other.moment)

    def __sub__(self, other: Unbalance) -> Unbalance:
        return Unbalance(self.static - other.static, self.moment - other.moment)

    def __neg__(self) -> Unbalance:
        return Unbalance(-self.static, -self.moment)


def force_n(unbalance_gmm: float, speed_rad_s: float) -> float:
    """The force that an unbalance [g·mm] turns with at a speed [rad/s], in newton: F = U ω².

    >>> force_n(5 * 165, 521 * 2 * math.pi / 60)  # 5 g on a rim 0.33 m across
    2.456
    """
    return unbalance_gmm * 1e-6 * speed_rad_s**2
