"""What the joint choice of masses and angles is about: the places of one layout as the judged planes see them.

Notation. c judged planes (one where the static sum alone is judged). A weight at a place is a vector v [g·mm]
in the place's plane; in the judged planes it is v·gain, and moved outboard by 1 mm it gets v·gain_per_mm more.
Each piece has independent errors: of angle, v·iε; of mass, v·ε; along the axis, v·ε·gain_per_mm. A covariance of
complex residuals is kept as its proper part E[εε*] and its pseudo part E[εε], both (c, c): a block of touching
pieces v_j adds Σ|v_j|² to the first and Σv_j² to the second, whatever its direction; and so both are sums of
two numbers a place.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..physics.arrays import Bools, Complexes, Floats

ROUNDING = 1e-12
"""A share of a covariance's trace that is no more than rounding."""

LEAST_SPREAD = 1e-4
"""A standard deviation in every direction, as a share of the smallest limit, whatever the spread."""


@dataclass(frozen=True, eq=False)
class PlaceErrors:
    """How vectors at a place, and their errors, show in the judged planes.

    gain, gain_per_mm: (c,) [-] and [1/mm]; angle_var [rad²], mass_var [-], axial_var [mm²]: variances of one
    piece's errors.
    """

    gain: Floats
    gain_per_mm: Floats
    angle_var: float
    mass_var: float
    axial_var: float

    @cached_property
    def proper(self) -> Floats:
        """What a piece of 1 g·mm adds to the proper part, (c, c)."""
        shape = np.outer(self.gain, self.gain) * (self.angle_var + self.mass_var)
        return np.asarray(shape + np.outer(self.gain_per_mm, self.gain_per_mm) * self.axial_var)

    @cached_property
    def pseudo(self) -> Floats:
        """What a piece of 1 g·mm at 0° adds to the pseudo part, (c, c)."""
        shape = np.outer(self.gain, self.gain) * (self.mass_var - self.angle_var)
        return np.asarray(shape + np.outer(self.gain_per_mm, self.gain_per_mm) * self.axial_var)

    @cached_property
    def wobble(self) -> Floats:
        """How far the pseudo part may swing for each g²·mm² of Σv², as a proper part, (c, c)."""
        shape = np.outer(self.gain, self.gain) * abs(self.mass_var - self.angle_var)
        return np.asarray(shape + np.outer(self.gain_per_mm, self.gain_per_mm) * self.axial_var)


@dataclass(frozen=True, eq=False)
class JudgedResidual:
    """What is judged: the residual before fitting, the limits, and the machine's part of the covariance.

    before: (c,) [g·mm] in the planes; limits: of each plane, then of the sum (or of the sum alone), (q,) [g·mm];
    ceilings: what may not be exceeded even outside the limits, (q,) [g·mm]; machine: proper part, (c, c) [g²·mm²].
    """

    before: Complexes
    limits: Floats
    ceilings: Floats
    machine: Floats

    @cached_property
    def machine_and_floor(self) -> Floats:
        """The machine's part, and a little in every direction so that it is never singular."""
        floor = LEAST_SPREAD * float(self.limits.min())
        return np.asarray(self.machine + 2 * floor**2 * np.eye(len(self.before)))

    @cached_property
    def judged(self) -> Floats:
        """Rows that make the judged quantities of a residual, (q, c)."""
        c = len(self.before)
        return np.vstack([np.eye(c), np.ones((1, c))]) if c > 1 else np.ones((1, 1))

    @property
    def dimension(self) -> int:
        """Of the residual as real numbers."""
        return 2 * len(self.before)

    def ratios(self, residual: Complexes) -> Floats:
        """Shares of the limits that residuals (…, c) take, (…, q)."""
        return np.abs(residual @ self.judged.T) / self.limits

    def admits(self, residual: Complexes) -> Bools:
        """Whether residuals (…, c) keep every ceiling."""
        return np.asarray((np.abs(residual @ self.judged.T) <= self.ceilings).all(axis=-1))


def covariance(proper: Floats, pseudo: Complexes) -> Floats:
    """Of real parts, then imaginary parts: (…, c, c) → (…, 2 c, 2 c)."""
    c = proper.shape[-1]
    real = np.empty((*np.broadcast_shapes(proper.shape, pseudo.shape)[:-2], 2 * c, 2 * c))
    real[..., :c, :c], real[..., c:, c:] = proper + pseudo.real, proper - pseudo.real
    real[..., :c, c:] = real[..., c:, :c] = pseudo.imag
    return real * 0.5


def cholesky(of: Floats) -> Floats:
    """A square root of a covariance, (…, 2 c, 2 c); a little of its trace keeps it from being singular."""
    size = of.shape[-1]
    rounding = ROUNDING * np.trace(of, axis1=-2, axis2=-1)[..., None, None] * np.eye(size)
    return np.asarray(np.linalg.cholesky(of + rounding), dtype=np.float64)
