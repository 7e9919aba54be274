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

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..mechanics.vectors import Unbalance
from .judging import WITHIN, Judge

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

LINES = 1024
"""Lines looked along; the chance is then right to a third of a percentage point (a test measures it)."""


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


def pass_chance_pct(unbalance: Unbalance, pieces: Sequence[Unbalance], judge: Judge, spread: Spread) -> float:
    """The chance [%] that what is left, planned as ``unbalance``, is read within the limits.

    pieces: what each fitted weight adds, for their errors.
    """
    planned = _components(np.array([unbalance.static]), np.array([unbalance.moment]), judge)[0]
    lines = _root_of_covariance(pieces, judge, spread) @ DIRECTIONS[len(planned)]
    low, high = _inside(*_discs(planned, lines, judge))
    share = _chi_share(high, len(planned)) - _chi_share(low, len(planned))
    return 100.0 * float(np.maximum(share, 0.0).mean())


def _discs(planned: Floats, lines: Floats, judge: Judge) -> tuple[Complexes, Complexes, Floats]:
    """Every limit that counts: planned vector, (n,), directions of the lines, (n, LINES), radius [g·mm], (n,)."""
    middle, direction = planned[0::2] + 1j * planned[1::2], lines[0::2] + 1j * lines[1::2]
    static = middle.sum(keepdims=True), direction.sum(axis=0, keepdims=True)
    if judge.static_only:
        return *static, np.array([judge.limits.static_gmm * WITHIN])
    radius = np.array([*judge.limits.planes_gmm, judge.limits.static_gmm]) * WITHIN
    return np.append(middle, static[0]), np.concatenate([direction, static[1]]), radius


def _inside(middle: Complexes, direction: Complexes, radius: Floats) -> tuple[Floats, Floats]:
    """From where to where each line is inside all discs, in its own measure; inf to −inf where it never is."""
    square = np.maximum(direction.real**2 + direction.imag**2, np.finfo(float).tiny)
    along = (middle.conj()[:, None] * direction).real
    discriminant = along**2 - square * (np.abs(middle) ** 2 - radius**2)[:, None]
    half = np.sqrt(np.maximum(discriminant, 0.0))
    hits = discriminant >= 0
    enters, leaves = (-along - half) / square, (-along + half) / square
    return np.where(hits, enters, np.inf).max(axis=0), np.where(hits, leaves, -np.inf).min(axis=0)


def _chi_share(distance: Floats, dimensions: int) -> Floats:
    """Half the chi distribution's share up to a distance, with its sign: what lies between it and the middle."""
    half_square = np.minimum(np.abs(distance), FAR) ** 2 / 2
    beyond = np.exp(-half_square) * (1 + half_square if dimensions == 4 else 1)
    share: Floats = np.copysign(1 - beyond, distance) / 2
    return share


def _components(static: Complexes, moment: Complexes, judge: Judge) -> Floats:
    """Unbalances, shape (n,), as real and imaginary parts at the planes, (n, 4), or of the static sum, (n, 2)."""
    if not judge.planes:
        return static[:, None].view(np.float64)
    a, b = judge.planes
    span = a.position_mm - b.position_mm
    in_a = (moment - static * b.position_mm) / span
    return np.stack([in_a, static - in_a], axis=1).view(np.float64)


def _root_of_covariance(pieces: Sequence[Unbalance], judge: Judge, spread: Spread) -> Floats:
    """A square root of the covariance of the residual's components [g·mm].

    One standard deviation of angle turns a piece by so much, one of mass makes it heavier, one of axial
    position moves it: each is a column, and independent of the others.
    """
    static = np.array([p.static for p in pieces], dtype=complex)
    moment = np.array([p.moment for p in pieces], dtype=complex)
    turned, heavier = 1j * np.deg2rad(spread.angle_sd_deg), spread.mass_sd_pct / 100
    errors = _components(
        np.concatenate([static * turned, static * heavier, static * 0]),
        np.concatenate([moment * turned, moment * heavier, static * spread.position_sd_mm]),
        judge,
    )
    radii = [p.radius_mm for p in judge.planes] or [judge.static_radius_mm]
    machine = np.repeat([spread.machine_sd_g * r for r in radii], 2)
    # Not Cholesky: with a spread of zero the matrix is singular and still has a root.
    values, vectors = np.linalg.eigh(errors.T @ errors + np.diag(machine**2))
    root: Floats = vectors * np.sqrt(np.maximum(values, 0.0))
    return root
