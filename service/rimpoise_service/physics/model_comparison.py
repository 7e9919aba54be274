"""How well a cause of one free size explains a measurement, and how likely it makes it.

Notation. y is the innovation: what was measured less what was expected, a real vector whose components all
carry independent normal errors of standard deviation 1 (it has been *whitened*). A cause of size t says that
y = f(t) + error.

1. Its fit is the t of least χ² = |y − f(t)|²; what stays is y − f(t).
2. Its evidence is the mean of exp(−χ²/2) over the sizes it could have had beforehand: the marginal likelihood.
   A cause that could have explained anything is thereby charged for it. The Bayesian information criterion
   is the large-sample limit of the same charge; here are two to four numbers, and every integral is closed.

The ratio of two evidences is the odds between two causes that were equally likely beforehand (R. E. Kass and
A. E. Raftery, *Bayes Factors*, J. Am. Stat. Assoc. 90, 1995, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .arrays import Floats

FAR = 30.0
"""From here on, in standard deviations, tails are taken from their asymptotes."""

ANGLES = np.arange(720) * (math.pi / 360)
"""Half a degree apart all around [rad]: sums over them are integrals of what is wider than ``WIDE`` of them."""

WIDE = 2.0
NEWTON_STEPS = 30


@dataclass(frozen=True, slots=True)
class Fit:
    """The best size of a cause, what it leaves unexplained, its log evidence and how many numbers were free."""

    size: complex
    left: Floats
    log_evidence: float
    free: int

    @property
    def chi_square(self) -> float:
        """What stays, squared, in squared standard deviations."""
        return square(self.left)


def square(y: Floats) -> float:
    """The squared length |y|².

    >>> square(np.array([3.0, 4.0]))
    25.0
    """
    return float(y @ y)


def exactly(y: Floats) -> Fit:
    """A cause without a size: it says y = 0.

    >>> exactly(np.array([2.0, 0.0])).log_evidence
    -2.0
    """
    return Fit(0.0, y, -square(y) / 2, 0)


def between(y: Floats, direction: Floats, longest: float) -> Fit:
    """A cause y = t·direction, every size t from 0 to the longest equally likely beforehand."""
    sd = 1 / math.sqrt(square(direction))
    best = float(direction @ y) * sd**2
    size = min(max(best, 0.0), longest)
    share = _log_normal_share(-best / sd, (longest - best) / sd)
    charge = share + math.log(math.sqrt(2 * math.pi) * sd / longest)
    return Fit(size, y - size * direction, -square(y - best * direction) / 2 + charge, 1)


def about_zero(y: Floats, direction: Floats, spread: float, low: float, high: float) -> Fit:
    """A cause y = t·direction, the size t normal about 0 beforehand with that spread, but within bounds."""
    variance = 1 / square(direction)
    best = float(direction @ y) * variance
    total = variance + spread**2
    mean, sd = best * spread**2 / total, spread * math.sqrt(variance / total)
    within = _log_normal_share((low - mean) / sd, (high - mean) / sd) - _log_normal_share(
        low / spread, high / spread
    )
    charge = math.log(variance / total) / 2 - best**2 / total / 2 + within
    size = min(max(best, low), high)
    return Fit(size, y - size * direction, -square(y - best * direction) / 2 + charge, 1)


def any_vector(y: Floats, direction: Floats, across: Floats, spread: float) -> Fit:
    """A cause y = a·direction + b·across, both sizes normal about 0 beforehand with that standard deviation.

    The size is a + ib.
    """
    both = np.column_stack([direction, across])
    variance = np.linalg.inv(both.T @ both)
    sizes = variance @ both.T @ y
    left = y - both @ sizes
    total = variance + spread**2 * np.eye(2)
    charge = float(sizes @ np.linalg.solve(total, sizes)) / 2
    share = math.log(float(np.linalg.det(variance) / np.linalg.det(total))) / 2
    return Fit(complex(*sizes), left, -square(left) / 2 - charge + share, 2)


def turned(y: Floats, vector: Floats, across: Floats, spread_rad: float) -> Fit:
    """A cause y = vector·(cos x − 1) + across·sin x: a vector that was turned by x [rad] towards what is across.

    Beforehand x is about 0 with that spread, after von Mises, the normal distribution of the circle (K. V. Mardia
    and P. E. Jupp, *Directional Statistics*, 2000, from memory). The evidence is a sum over the circle, or
    Laplace's approximation where one peak is narrower than its steps.
    """
    narrow = spread_rad**-2
    left = y[:, None] + np.outer(vector, 1 - np.cos(ANGLES)) - np.outer(across, np.sin(ANGLES))
    chi_square = np.einsum("ij,ij->j", left, left)
    beforehand = narrow * (np.cos(ANGLES) - 1)
    log_all = _log_mean(beforehand)
    size, _ = _steepest(y, vector, across, 0.0, float(ANGLES[chi_square.argmin()]))
    likely = beforehand - chi_square / 2
    peak, curvature = _steepest(y, vector, across, narrow, float(ANGLES[likely.argmax()]))
    if curvature * (WIDE * ANGLES[1]) ** 2 < 1:
        log_evidence = _log_mean(likely) - log_all
    else:
        top = narrow * (math.cos(peak) - 1) - square(_left(y, vector, across, peak)) / 2
        log_evidence = top - math.log(2 * math.pi * curvature) / 2 - log_all
    return Fit(math.remainder(size, 2 * math.pi), _left(y, vector, across, size), log_evidence, 1)


def _left(y: Floats, vector: Floats, across: Floats, x: float) -> Floats:
    """What stays after a turn by x [rad]."""
    return y + vector * (1 - math.cos(x)) - across * math.sin(x)


def _steepest(y: Floats, vector: Floats, across: Floats, narrow: float, x: float) -> tuple[float, float]:
    """The angle [rad] near x where χ²/2 − narrow·cos x is least, by Newton's method, and its curvature there."""
    for _ in range(NEWTON_STEPS):
        left, turn = _left(y, vector, across, x), vector * math.sin(x) - across * math.cos(x)
        least = square(turn)
        curvature = least + float(left @ (vector * math.cos(x) + across * math.sin(x))) + narrow * math.cos(x)
        if curvature <= 0:  # not yet near: the steps between the angles bound what is left to go
            curvature = max(least, 1e-300)
        step = (float(left @ turn) + narrow * math.sin(x)) / curvature
        x -= max(-ANGLES[1], min(ANGLES[1], step))
        if abs(step) < 1e-12:
            break
    return x, curvature


def _log_mean(logs: Floats) -> float:
    """The logarithm of the mean of what these are the logarithms of."""
    top = float(logs.max())
    return top + math.log(float(np.exp(logs - top).mean()))


def _log_normal_share(low: float, high: float) -> float:
    """The logarithm of the standard normal distribution's share between two bounds, far out in the tails too.

    >>> _log_normal_share(-1, 1)
    -0.3817
    """
    if low + high < 0:
        low, high = -high, -low
    if low > FAR:
        return -(low**2) / 2 - math.log(low * math.sqrt(2 * math.pi))
    share = (math.erfc(low / math.sqrt(2)) - math.erfc(high / math.sqrt(2))) / 2
    # Nothing left between two bounds that are one to rounding: as wide as they are, at the density there.
    return (
        math.log(share)
        if share > 0
        else -(low**2) / 2 + math.log(max(high - low, 1e-300) / math.sqrt(2 * math.pi))
    )
