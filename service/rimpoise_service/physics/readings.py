"""The four kinds of reading, and the unbalance that each means.

A balancer usually calls the place where a weight *belongs* (``reports="correction"``); a textbook or a
sensor gives the heavy side (``reports="unbalance"``). They differ by 180°: mixing them up doubles the fault.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from .planes import Plane
from .unbalance import PointMass, Unbalance

Reports = Literal["correction", "unbalance"]
Spun = Literal["bare", "old_weights_on", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """How a reading was taken.

    spins: of how many it is the mean; spun: whether old weights were on; step_g, angle_step_deg: the display's
    steps [g], [deg], 0 if that isn't known; zero_below_g: a shown 0 means up to this [g]; static_zero,
    couple_zero: whether a display of both showed 0 for that.
    """

    spins: int = 1
    spun: Spun = "unknown"
    step_g: float = 0.0
    angle_step_deg: float = 0.0
    zero_below_g: float = 0.0
    static_zero: bool = False
    couple_zero: bool = False


@dataclass(frozen=True, slots=True)
class TwoPlane(Taken):
    """A mass called in each of two planes, in any order; the smaller position is inboard."""

    planes: tuple[PointMass, PointMass]
    reports: Reports = "correction"
    old_weights: tuple[PointMass, ...] = ()

    @property
    def called(self) -> Unbalance:
        """The vectors as they were called, signs untouched."""
        return Unbalance.of(self.planes)


@dataclass(frozen=True, slots=True)
class Static(Taken):
    """One mass called in one plane: the couple is unknown."""

    mass: PointMass
    reports: Reports = "correction"
    old_weights: tuple[PointMass, ...] = ()

    @property
    def called(self) -> Unbalance:
        """The vector as it was called, sign untouched."""
        return Unbalance.of([self.mass])


@dataclass(frozen=True, slots=True)
class StaticCouple(Taken):
    """A static vector [g·mm] acting at position_mm [mm] and the couple [g·mm²] about that point."""

    position_mm: float
    static: complex
    couple: complex
    reports: Reports = "correction"
    old_weights: tuple[PointMass, ...] = ()

    @property
    def called(self) -> Unbalance:
        """Static vector and couple as they were called, moved to the datum."""
        return Unbalance(self.static, self.couple + self.static * self.position_mm)


@dataclass(frozen=True, slots=True)
class PointMasses(Taken):
    """Known masses that make the unbalance (``reports`` can only be ``"unbalance"``)."""

    masses: tuple[PointMass, ...]
    old_weights: tuple[PointMass, ...] = ()
    reports: Literal["unbalance"] = "unbalance"

    @property
    def called(self) -> Unbalance:
        """The masses' own unbalance."""
        return Unbalance.of(self.masses)


ROUNDING_TERMS = 300
"""Of the series of the rounding's part that stays; what is left out is under 0.3 % of it."""

Reading = TwoPlane | Static | StaticCouple | PointMasses


def shown_variance(sd_g: float, step_g: float, spins: int = 1) -> float:
    """Variance of what a display shows in steps, a component, as the mean of so many spins [g²].

    One spin: sd² of the machine and step²/12 of rounding. A machine that repeats to a fraction of a step shows the
    same again and again: Σ step²/(2π²k²) exp(−(2πk sd/step)²), the saw-tooth of rounding smoothed by the machine's
    error, is in every spin, and only the rest goes down with their number (quantization theory: Widrow and Kollár,
    Quantization Noise, from memory).

    >>> [round(shown_variance(0.7, 5.0, spins), 2) for spins in (1, 2, 1000)]
    [2.57, 1.59, 0.6]
    """
    one = sd_g**2 + step_g**2 / 12
    if spins == 1 or not step_g:
        return one / spins
    terms = range(1, ROUNDING_TERMS)
    stays = sum(math.exp(-((2 * math.pi * k * sd_g / step_g) ** 2)) / k**2 for k in terms)
    stays *= step_g**2 / (2 * math.pi**2)
    return stays + (one - stays) / spins


def unbalance_of(reading: Reading) -> Unbalance:
    """The bare wheel's unbalance: heavy side, old weights taken off by computation.

    >>> u = unbalance_of(Static(PointMass(0, 200, 30, 0)))  # called at 0°, so heavy at 180°
    >>> u.static.real
    -6000.0
    """
    measured = reading.called if reading.reports == "unbalance" else -reading.called
    return measured - Unbalance.of(reading.old_weights)


def read_gmm(reading: Reading, distance_mm: float) -> float:
    """The sum of the sizes [g·mm] of all vectors given, a couple taken as a pair that distance [mm] apart."""
    old_gmm = sum(abs(w.vector) for w in reading.old_weights)
    match reading:
        case StaticCouple(static=static, couple=couple):
            return abs(static) + 2 * abs(couple) / distance_mm + old_gmm
        case Static(mass=mass):
            return abs(mass.vector) + old_gmm
        case TwoPlane(planes=masses) | PointMasses(masses=masses):
            return sum(abs(m.vector) for m in masses) + old_gmm


def reading_planes(reading: Reading) -> tuple[Plane, ...]:
    """The balancer's own planes, in the reading's order: two, one or none."""
    match reading:
        case TwoPlane(planes=(first, second)):
            names = ("inboard", "outboard") if first.position_mm < second.position_mm else ("outboard", "inboard")
            pairs = zip(names, (first, second), strict=True)
            return tuple(Plane(name, m.position_mm, m.radius_mm) for name, m in pairs)
        case Static(mass=m):
            return (Plane("static", m.position_mm, m.radius_mm),)
    return ()


def shown_masses(reading: Reading) -> tuple[PointMass, ...]:
    """What a reading shows in each of its planes; nothing for one without planes."""
    match reading:
        case TwoPlane(planes=masses):
            return masses
        case Static(mass=mass):
            return (mass,)
    return ()


def shown_zeros(reading: Reading) -> tuple[Unbalance, ...]:
    """What 1 g at 0° in each 0 that a display showed would be; it may hide up to ``zero_below_g``.

    A static mass is half in each plane, a couple as much in each, opposed; the planes of such a display show no 0.

    >>> [u.static for u in shown_zeros(Static(PointMass(0, 200, 0, 0)))]
    [(200+0j)]
    """
    planes = reading_planes(reading)
    if reading.static_zero or reading.couple_zero:
        inner, outer = sorted(p.position_mm for p in planes)
        radius_mm = complex(sum(p.radius_mm for p in planes) / 2)
        a, b = (Unbalance.at(position, radius_mm) for position in (inner, outer))
        middle = Unbalance.at((inner + outer) / 2, radius_mm)
        return (middle,) * reading.static_zero + (b - a,) * reading.couple_zero
    return tuple(Unbalance.at(m.position_mm, complex(m.radius_mm)) for m in shown_masses(reading) if not m.mass_g)
