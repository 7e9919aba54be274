"""Run-out: what an indicator shows while a wheel makes one revolution, as harmonics.

Notation. x(θ) is the reading at the angle θ, clockwise seen from outboard from the wheel's mark. It is written

    x(θ) = mean + Σ_k A_k cos k(θ − φ_k),    h_k = A_k e^{ikφ_k}  (so a_k = Re h_k, b_k = Im h_k),

by least squares, at even angles or uneven ones. At even angles this is the discrete Fourier transform. The first
harmonic is an eccentricity (radial) or a tilt (lateral), its total is 2 A_1; the second is an oval or a saddle.
φ_k, the high spot, is the first of k equal ones.

1. Harmonic k needs 2k + 1 distinct angles. From 24 on six are spent on a harmonic, so that most of them check the
   shape rather than make it: orders 1 to 3 from 8 readings, 4 from 24, at most 8.
2. Columns of length 1 make the condition number 1 at even angles. Over 100 the readings leave out a part of the
   circle and nothing is reported.
3. Where jumps are to be ignored (sidewall splices), the least sum of absolute deviations comes first: it passes
   jumps by. Readings far from it are left out, at most a quarter of them, and least squares take the rest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .arrays import Bools, Complexes, Floats

LEAST_READINGS = 8
"""Distinct angles that a trace needs."""

ADVISED_READINGS = 12
"""Distinct angles from which on a jump can be distinguished from the shape; common practice, no source."""

READINGS_PER_HARMONIC, LOWEST_ORDER, HIGHEST_ORDER = 6, 3, 8

MAX_CONDITION = 100.0
"""A larger condition number means that a part of the circle was not measured."""

JUMP_MM = 0.1
"""Smaller deviations are no jump [mm]: ten divisions of a usual dial; common practice, no source."""

JUMP_DEVIATIONS = 5.0
"""A jump is so many times the typical deviation from the shape; common practice, no source."""

L1_STEPS, L1_FLOOR = 40, 1e-4

GRID_DEG = 1
"""Totals of a sum of harmonics are looked up at every whole degree [deg]."""


class CircleNotCovered(ValueError):
    """The angles leave out too much of the circle; ``distinct``: how many they are, where they are too few."""

    def __init__(self, said: str, distinct: int | None = None) -> None:
        super().__init__(said)
        self.distinct = distinct


@dataclass(frozen=True, slots=True)
class Harmonic:
    """One harmonic: amplitude_mm [mm] (half of its total), its first high spot high_deg [deg], sd_mm [mm]."""

    order: int
    amplitude_mm: float
    high_deg: float
    sd_mm: float

    @property
    def vector(self) -> complex:
        """A e^{ikφ} [mm], complex."""
        angle = math.radians(self.order * self.high_deg)
        return complex(self.amplitude_mm * math.cos(angle), self.amplitude_mm * math.sin(angle))

    @classmethod
    def of(cls, order: int, vector: complex, sd_mm: float) -> Harmonic:
        """From a complex vector [mm] and its standard deviation [mm].

        >>> Harmonic.of(2, 3j, 0.1).high_deg
        45.0
        """
        step = 360.0 / order
        high = math.degrees(math.atan2(vector.imag, vector.real)) / order if vector else 0.0
        return cls(order, abs(vector), high % step % step, sd_mm)


@dataclass(frozen=True, slots=True)
class Shape:
    """A trace as harmonics.

    mean_mm [mm]; total_mm [mm] between the highest and the lowest reading; sd_mm [mm] of one reading about the
    harmonics; deviations_mm [mm], reading by reading; left_out: indices of jumps.
    """

    mean_mm: float
    total_mm: float
    harmonics: tuple[Harmonic, ...]
    condition_number: float
    sd_mm: float
    deviations_mm: tuple[float, ...]
    left_out: tuple[int, ...]


def fit_shape(angles_deg: ArrayLike, readings_mm: ArrayLike, *, ignore_jumps: bool) -> Shape:
    """The harmonics of readings_mm [mm] at angles_deg [deg].

    Raises CircleNotCovered for fewer than 8 distinct angles or a condition number over 100.

    >>> shape = fit_shape(range(0, 360, 30), [2, 1, 0, 1] * 3, ignore_jumps=False)
    >>> [(h.order, round(h.amplitude_mm, 3)) for h in shape.harmonics], shape.total_mm
    ([(1, 0.0), (2, 0.0), (3, 1.0)], 2.0)
    """
    readings = np.asarray(readings_mm, float)
    design = _checked_design(np.asarray(angles_deg, float))
    kept = _without_jumps(design, readings) if ignore_jumps else np.ones(len(readings), bool)
    solution = np.linalg.lstsq(design[kept], readings[kept])[0]
    deviations = readings - design @ solution
    free = int(kept.sum()) - design.shape[1]
    variance = float(deviations[kept] @ deviations[kept]) / free
    spread = variance * np.linalg.inv(design[kept].T @ design[kept])
    return Shape(
        float(solution[0]),
        float(np.ptp(readings[kept])),
        tuple(_harmonic(k, solution, spread) for k in range(1, design.shape[1] // 2 + 1)),
        _condition(design),
        math.sqrt(variance),
        tuple(deviations.tolist()),
        tuple(np.flatnonzero(~kept).tolist()),
    )


def check_angles(angles_deg: ArrayLike) -> None:
    """Raises CircleNotCovered unless readings at these angles [deg] determine the harmonics."""
    _checked_design(np.asarray(angles_deg, float))


def _checked_design(angles: Floats) -> Floats:
    design = _design(angles, _order(angles))
    if (condition := _condition(design)) > MAX_CONDITION:
        raise CircleNotCovered(
            f"a part of the circle was not measured: the harmonics' condition number is {condition:.3g}"
        )
    return design


def _order(angles: Floats) -> int:
    distinct = len(np.unique(np.round(angles % 360.0 % 360.0, 9)))
    if distinct < LEAST_READINGS:
        raise CircleNotCovered(f"{distinct} distinct angles; {LEAST_READINGS} are needed", distinct)
    return min(max(distinct // READINGS_PER_HARMONIC, LOWEST_ORDER), HIGHEST_ORDER)


def _design(angles: Floats, order: int) -> Floats:
    """Columns 1, cos θ, sin θ, cos 2θ, …"""
    radians = np.radians(angles)
    turns = [f(k * radians) for k in range(1, order + 1) for f in (np.cos, np.sin)]
    return np.stack([np.ones_like(radians), *turns], axis=1)


def _condition(design: Floats) -> float:
    return float(np.linalg.cond(design / np.linalg.norm(design, axis=0)))


def _without_jumps(design: Floats, readings: Floats) -> Bools:
    """Which readings stay: all of them where the jumps would be too many, or leave a gap in the circle."""
    deviations = np.abs(readings - design @ _least_absolute(design, readings))
    count, unknowns = design.shape
    # The fit passes through as many readings as it has unknowns: their deviations say nothing.
    typical = float(np.median(np.sort(deviations)[unknowns:]))
    kept = deviations <= max(JUMP_DEVIATIONS * typical, JUMP_MM)
    most = min(count // 4, count - unknowns - 1)
    enough = count - int(kept.sum()) <= most and _condition(design[kept]) <= MAX_CONDITION
    return kept if enough else np.ones(count, bool)


def _least_absolute(design: Floats, readings: Floats) -> Floats:
    """The solution of the least sum of absolute deviations, by repeated weighted least squares."""
    weights = np.ones_like(readings)
    floor = L1_FLOOR * max(float(np.ptp(readings)), L1_FLOOR)
    for _ in range(L1_STEPS):
        weighted = design.T * weights
        solution = np.linalg.solve(weighted @ design, weighted @ readings)
        weights = 1 / np.maximum(np.abs(readings - design @ solution), floor)
    return np.asarray(solution)


def _harmonic(order: int, solution: Floats, covariance: Floats) -> Harmonic:
    """The standard deviation is that of the component along the vector; of the zero vector that of any."""
    where = slice(2 * order - 1, 2 * order + 1)
    parts, spread = solution[where], covariance[where, where]
    size = float(np.hypot(*parts))
    along = parts / size if size else np.array([1.0, 0.0])
    return Harmonic.of(order, complex(*parts), math.sqrt(max(float(along @ spread @ along), 0.0)))


def mean_harmonics(shapes: Sequence[Sequence[Harmonic]]) -> tuple[Harmonic, ...]:
    """The mean of several shapes, as of both bead seats; orders that all of them have."""
    count = len(shapes)
    return tuple(
        Harmonic.of(
            same[0].order, sum(h.vector for h in same) / count, math.hypot(*(h.sd_mm for h in same)) / count
        )
        for same in zip(*shapes, strict=False)
    )


def subtract_harmonics(whole: Sequence[Harmonic], part: Sequence[Harmonic]) -> tuple[Harmonic, ...]:
    """What the whole has beyond a part, as the tyre: assembly less rim; orders that both have.

    >>> subtract_harmonics([Harmonic(1, 3, 0, 0.3)], [Harmonic(1, 4, 90, 0.4)])[0].amplitude_mm
    5.0
    """
    pairs = zip(whole, part, strict=False)
    return tuple(Harmonic.of(a.order, a.vector - b.vector, math.hypot(a.sd_mm, b.sd_mm)) for a, b in pairs)


def turned_vectors(rim: Sequence[Harmonic], tyre: Sequence[Harmonic], turns_deg: Floats) -> Complexes:
    """The harmonics [mm] of rim and tyre together, of the orders that both have: a row for each turn [deg] of the
    tyre, clockwise.

    Turned by ψ, the tyre has T_k e^{ikψ}.
    """
    both = list(zip(rim, tyre, strict=False))
    orders = np.array([t.order for _, t in both])
    of_rim, of_tyre = np.array([r.vector for r, _ in both]), np.array([t.vector for _, t in both])
    return np.asarray(of_rim + of_tyre * np.exp(1j * np.radians(np.outer(turns_deg, orders))))


def totals_mm(vectors: Complexes) -> Floats:
    """Highest less lowest [mm] of each row of harmonics of orders 1, 2, …

    >>> float(totals_mm(np.array([[0.5 + 0j, 0j]]))[0])
    1.0
    """
    angles = np.radians(np.arange(0, 360, GRID_DEG))
    waves = np.exp(-1j * np.outer(np.arange(1, vectors.shape[1] + 1), angles))
    return np.asarray(np.ptp((vectors @ waves).real, axis=1))


def eccentric_unbalance_gmm(mass_kg: float, eccentricity_mm: float) -> float:
    """The unbalance [g·mm] of a mass [kg] whose centre is off the axis [mm]: U = m e (ISO 21940-2, from memory).

    >>> eccentric_unbalance_gmm(20, 0.1)
    2000.0
    """
    return 1000.0 * mass_kg * eccentricity_mm
