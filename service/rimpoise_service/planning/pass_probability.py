"""The chance that the first check spin passes, with human hands and a real machine.

Model. Every piece lands with independent normal errors of angle, axial position and mass; the machine
adds to each reading plane an independent normal error in each of its two components. To first order in
the errors the residual at the reading planes is then a normal vector about the planned residual, of four
dimensions (two if only the static sum is read) however many pieces there are.

Method. Every limit is a disc, so along any straight line through the planned residual what passes is one
interval, from a quadratic, and its share of the line is known in closed form: the distance from the middle is
chi-distributed. The mean over a fixed low-discrepancy set of lines is the chance; the same set every time.
In two dimensions the lines are evenly spaced, in four they are Hammersley's points (J. M. Hammersley, *Monte
Carlo Methods for Solving Multivariable Problems*, 1960) turned into directions by Hopf's map.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..physics.unbalance import Unbalance
from .tolerance_check import WITHIN, ToleranceEvaluator

Floats = NDArray[np.float64]

LINES = 1024
"""Lines looked along; the chance is then right to a third of a percentage point (a test measures it)."""


SINGULAR, NO_SPREAD_GMM = 1e-12, 1e-6
"""Variance added in every direction, as a share of all there is, and the least standard deviation [g·mm]."""

FAR = 37.0
"""Standard deviations beyond which nothing is left that a double can hold."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Standard deviations of what hands and machine do (common practice, no source).

    angle_sd_deg [deg], position_sd_mm axial [mm], mass_sd_pct [%], machine_sd_g per component [g].
    """

    angle_sd_deg: float = 2.0
    position_sd_mm: float = 1.5
    mass_sd_pct: float = 2.0
    machine_sd_g: float = 1.0


def _radical_inverse(base: int) -> Floats:
    """The van der Corput sequence, shape (LINES,), in [0, 1)."""
    rest, digit, values = np.arange(LINES), 1.0, np.zeros(LINES)
    while rest.any():
        digit /= base
        values += digit * (rest % base)
        rest //= base
    return values


def _four_dimensional_lines() -> Floats:
    even, by_two, by_three = ((np.arange(LINES) + 0.5) / LINES, _radical_inverse(2), _radical_inverse(3))
    first, second = 2 * np.pi * by_two, 2 * np.pi * by_three
    inner, outer = np.sqrt(even), np.sqrt(1 - even)
    return np.stack([inner * np.cos(first), inner * np.sin(first), outer * np.cos(second), outer * np.sin(second)])


def _two_dimensional_lines() -> Floats:
    half_turn = np.pi * np.arange(LINES) / LINES
    return np.stack([np.cos(half_turn), np.sin(half_turn)])


DIRECTIONS = {2: _two_dimensional_lines(), 4: _four_dimensional_lines()}
"""Unit vectors by dimension, shape (dimension, LINES)."""


DISCS = {2: np.eye(2), 4: np.kron(np.eye(2), [[1, 0], [0, 1], [1, 1]])}
"""From the residual's components to those of what is judged: itself, or both planes and their sum."""


def pass_chance_pct(
    unbalance: Unbalance, pieces: Sequence[Unbalance], evaluator: ToleranceEvaluator, spread: Spread
) -> float:
    """The chance [%] that what is left, planned as ``unbalance``, is read within the limits.

    pieces: what each fitted weight adds, for their errors.
    """
    planned = _components(unbalance.static, unbalance.moment, evaluator)
    dimensions = len(planned)
    middle = DISCS[dimensions] @ planned
    lines = DISCS[dimensions] @ _root_of_covariance(pieces, evaluator, spread) @ DIRECTIONS[dimensions]
    planes_gmm = () if evaluator.static_only else evaluator.limits.planes_gmm
    radius = np.array([*planes_gmm, evaluator.limits.static_gmm]) * WITHIN
    low, high = _chi_share(_inside(middle, lines, radius), dimensions)
    return 100.0 * float(np.maximum(high - low, 0.0).mean())


def _inside(middle: Floats, lines: Floats, radius: Floats) -> Floats:
    """From where to where each line is inside all discs, in its own measure, (2, LINES); nowhere: from inf.

    middle, (2 n,), and direction of the lines, (2 n, LINES): all real parts, then all imaginary ones; radius,
    (n,) [g·mm].
    """
    n = len(radius)
    x, y, dx, dy = middle[:n, None], middle[n:, None], lines[:n], lines[n:]
    square = np.maximum(dx * dx + dy * dy, np.finfo(float).tiny)
    along = x * dx + y * dy
    discriminant = along * along - square * (x * x + y * y - radius[:, None] ** 2)
    half = np.sqrt(np.maximum(discriminant, 0.0))
    enters, leaves = np.where(discriminant >= 0, -along - half, np.inf) / square, (half - along) / square
    return np.stack([enters.max(axis=0), leaves.min(axis=0)])


def _chi_share(distance: Floats, dimensions: int) -> Floats:
    """Half the chi distribution's share up to a distance, with its sign: what lies between it and the middle."""
    half_square = np.minimum(np.abs(distance), FAR) ** 2 / 2
    beyond = np.exp(-half_square) * (1 + half_square if dimensions == 4 else 1)
    share: Floats = np.copysign(1 - beyond, distance) / 2
    return share


def _components(static: complex, moment: complex, evaluator: ToleranceEvaluator) -> list[float]:
    """An unbalance in both planes, or the sum where that alone counts [g·mm]: real parts, then imaginary ones."""
    if evaluator.static_only:
        return [static.real, static.imag]
    a, b = evaluator.planes
    in_a = (moment - static * b.position_mm) / (a.position_mm - b.position_mm)
    in_b = static - in_a
    return [in_a.real, in_b.real, in_a.imag, in_b.imag]


def _root_of_covariance(pieces: Sequence[Unbalance], evaluator: ToleranceEvaluator, spread: Spread) -> Floats:
    """A square root of the covariance of the residual's components [g·mm].

    One standard deviation of angle turns a piece by so much, one of mass makes it heavier, one of axial
    position moves it: each is independent of the others.
    """
    turned, heavier = 1j * math.radians(spread.angle_sd_deg), spread.mass_sd_pct / 100
    errors = [
        _components(*error, evaluator)
        for p in pieces
        for error in (
            (p.static * turned, p.moment * turned),
            (p.static * heavier, p.moment * heavier),
            (0j, p.static * spread.position_sd_mm),
        )
    ]
    radii = [p.radius_mm for p in evaluator.planes] or [evaluator.static_radius_mm]
    machine = [(spread.machine_sd_g * r) ** 2 for r in radii]
    if evaluator.static_only:  # the sum of what the planes are read with
        machine = [sum(machine)]
    covariance = np.diag(np.array(machine * 2, dtype=float))
    if errors:
        covariance += np.transpose(errors) @ errors
    # Without any spread in some direction it is singular: a millionth of the largest one makes no difference.
    covariance += (NO_SPREAD_GMM**2 + SINGULAR * covariance.trace()) * np.eye(len(covariance))
    return np.linalg.cholesky(covariance)
