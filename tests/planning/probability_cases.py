"""Random residuals, covariances and limits; and P by counting quasi-random points that are inside all discs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.stats import norm, qmc

from rimpoise_service.physics.arrays import Complexes, Floats
from rimpoise_service.planning.pass_probability import Quadrature, probability

COUNTED = 2**19
"""Points of a count: its error is about a fiftieth of a percentage point."""


@dataclass(frozen=True)
class ProbabilityCase:
    """m, (c,) [g·mm]; √Σ, (2 c, 2 c) [g·mm]; limits, (3,) or (1,) [g·mm]."""

    residual: Complexes
    root: Floats
    limits: Floats

    def by(self, quadrature: Quadrature) -> float:
        """P along these lines."""
        return float(probability(self.residual[None], self.root, self.limits, quadrature)[0])


def random_case(rng: np.random.Generator, dimension: int) -> ProbabilityCase:
    """Limits of 700 to 1500 g·mm, up to all of them left, errors from a tenth to the whole of a limit."""
    limits, residual, axes = _any(rng, dimension)
    sd = rng.uniform(0.1, 1.0) * limits.min() * rng.uniform(0.3, 1.0, dimension)
    return ProbabilityCase(residual, np.linalg.cholesky((axes * sd**2) @ axes.T), limits)


def long_case(rng: np.random.Generator, dimension: int) -> ProbabilityCase:
    """The same with errors up to twenty times as large in one direction as in the others."""
    limits, residual, axes = _any(rng, dimension)
    sd = rng.uniform(0.1, 0.6) * limits.min() * np.append(rng.uniform(0.05, 0.6, dimension - 1), 1.0)
    return ProbabilityCase(residual, np.linalg.cholesky((axes * sd**2) @ axes.T), limits)


def _any(rng: np.random.Generator, dimension: int) -> tuple[Floats, Complexes, Floats]:
    """Limits, what is left, and axes of the errors."""
    c = dimension // 2
    limits = rng.uniform(700, 1500, 3 if c == 2 else 1)
    residual = rng.uniform(0, 1, c) * limits[:c] * np.exp(2j * np.pi * rng.random(c))
    return limits, residual, np.linalg.qr(rng.standard_normal((dimension, dimension)))[0]


@cache
def _normal_points(dimension: int) -> Floats:
    """Sobol's points, scrambled with a fixed seed, as standard normal numbers, (dimension, COUNTED)."""
    uniform = qmc.Sobol(dimension, seed=7).random(COUNTED)
    return np.asarray(norm.ppf(np.clip(uniform, 1e-12, 1 - 1e-12)).T)


def counted(case: ProbabilityCase) -> float:
    """P as a share of points: complex numbers and their sizes, nothing of lines."""
    c = len(case.residual)
    errors = case.root @ _normal_points(2 * c)
    shown = case.residual[:, None] + errors[:c] + 1j * errors[c:]
    passed = np.ones(COUNTED, dtype=bool)
    for vector, limit in zip([*shown, shown.sum(axis=0)] if c > 1 else shown, case.limits, strict=True):
        passed &= vector.real**2 + vector.imag**2 <= limit**2
    return float(passed.mean())


@cache
def many_lines(dimension: int) -> Quadrature:
    """Lines of quite another kind, and 16 times as many: Sobol's normal points, scaled to length 1."""
    points = _normal_points(dimension)[:, : 2**16]
    return Quadrature(points / np.linalg.norm(points, axis=0), 0.0, 0.0)
