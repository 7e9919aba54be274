"""The chance that the first check spin passes, with human hands and a real machine.

Model. Every piece lands with independent normal errors of angle, axial position and mass; the machine
adds to each reading plane an independent normal error in each of its two components. To first order in
the errors the residual at the reading planes is then a normal vector about the planned residual, of four
dimensions (two if only the static sum is read) however many pieces there are. The chance that it lies
within all limits is read off one fixed low-discrepancy sample of normal deviates, the same every time:
the additive recurrence n·α mod 1 with the powers of the generalised golden ratio (M. Roberts, *The
unreasonable effectiveness of quasirandom sequences*, 2018), put through the inverse normal distribution.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from ..mechanics.vectors import Unbalance
from .judging import Judge

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

SAMPLE_SIZE = 4096
"""Draws; the error of the chance is then under half a percentage point (tests measure it)."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Standard deviations of what hands and machine do (common practice, no source).

    angle_sd_deg [deg], position_sd_mm axial [mm], mass_sd_pct [%], machine_sd_g per component [g].
    """

    angle_sd_deg: float = 2.0
    position_sd_mm: float = 1.5
    mass_sd_pct: float = 2.0
    machine_sd_g: float = 1.0


def _normal_deviates(dimensions: int) -> Floats:
    """The fixed sample, shape (dimensions, SAMPLE_SIZE)."""
    ratio = 2.0
    for _ in range(64):  # the fixed point of x = (1 + x)^(1/(d+1))
        ratio = (1 + ratio) ** (1 / (dimensions + 1))
    steps = ratio ** -np.arange(1.0, dimensions + 1)[:, None]
    uniform = (0.5 + steps * np.arange(1, SAMPLE_SIZE + 1)) % 1.0
    deviates: Floats = np.vectorize(NormalDist().inv_cdf, otypes=[float])(uniform)
    return deviates


DEVIATES = {dimensions: _normal_deviates(dimensions) for dimensions in (2, 4)}


def pass_chance_pct(unbalance: Unbalance, pieces: Sequence[Unbalance], judge: Judge, spread: Spread) -> float:
    """The chance [%] that what is left, planned as ``unbalance``, is read within the limits.

    pieces: what each fitted weight adds, for their errors.
    """
    planned = _components(np.array([unbalance.static]), np.array([unbalance.moment]), judge)[0]
    drawn = planned[:, None] + _root_of_covariance(pieces, judge, spread) @ DEVIATES[len(planned)]
    limits = judge.acceptance
    static = drawn.reshape(-1, 2, SAMPLE_SIZE).sum(axis=0)
    passes = _size_squared(static) <= (limits.static_g * judge.static_radius_mm) ** 2
    if not judge.static_only:
        for in_plane, plane in zip(np.split(drawn, 2), judge.planes, strict=True):
            passes &= _size_squared(in_plane) <= (limits.per_plane_g * plane.radius_mm) ** 2
    return 100.0 * float(np.count_nonzero(passes)) / SAMPLE_SIZE


def _size_squared(vectors: Floats) -> Floats:
    size: Floats = vectors[0] ** 2 + vectors[1] ** 2
    return size


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
