"""How well a cause of one free size explains a measurement, and how likely it makes it.

Notation. y is the innovation: what was measured less what was expected, a complex vector whose components all
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
from numpy.typing import NDArray

Complexes = NDArray[np.complex128]

FAR = 30.0
"""From here on, in standard deviations, tails are taken from their asymptotes."""

BESSEL_DIRECT = 500.0
"""Up to here the Bessel function itself is a double; its logarithm's asymptote serves beyond."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The best size of a cause, what it leaves unexplained, its log evidence and how many numbers were free."""

    size: complex
    left: Complexes
    log_evidence: float
    free: int

    @property
    def chi_square(self) -> float:
        """What stays, squared, in squared standard deviations."""
        return square(self.left)


def square(y: Complexes) -> float:
    """The squared length |y|².

    >>> square(np.array([3 + 4j]))
    25.0
    """
    return float(np.vdot(y, y).real)


def exactly(y: Complexes) -> Fit:
    """A cause without a size: it says y = 0.

    >>> exactly(np.array([2 + 0j])).log_evidence
    -2.0
    """
    return Fit(0.0, y, -square(y) / 2, 0)


def between(y: Complexes, direction: Complexes, longest: float) -> Fit:
    """A cause y = t·direction, every size t from 0 to the longest equally likely beforehand."""
    sd = 1 / math.sqrt(square(direction))
    best = float(np.vdot(direction, y).real) * sd**2
    size = min(max(best, 0.0), longest)
    share = _log_normal_share(-best / sd, (longest - best) / sd)
    charge = share + math.log(math.sqrt(2 * math.pi) * sd / longest)
    return Fit(size, y - size * direction, -square(y - best * direction) / 2 + charge, 1)


def about_zero(y: Complexes, direction: Complexes, spread: float) -> Fit:
    """A cause y = t·direction, the size t normal about 0 beforehand with that standard deviation."""
    variance = 1 / square(direction)
    size = float(np.vdot(direction, y).real) * variance
    left = y - size * direction
    total = variance + spread**2
    return Fit(size, left, -square(left) / 2 - size**2 / total / 2 + math.log(variance / total) / 2, 1)


def any_vector(y: Complexes, direction: Complexes, spread: float) -> Fit:
    """A cause y = c·direction with a complex c, each component normal about 0 beforehand with that spread."""
    variance = 1 / square(direction)
    size = complex(np.vdot(direction, y)) * variance
    left = y - size * direction
    total = variance + spread**2
    return Fit(size, left, -square(left) / 2 - abs(size) ** 2 / total / 2 + math.log(variance / total), 2)


def turned(y: Complexes, vector: Complexes, spread_rad: float) -> Fit:
    """A cause y = vector·(e^{ix} − 1): a vector that was turned by x [rad], beforehand about 0 with that spread.

    Beforehand x is distributed after von Mises, the normal distribution of the circle; the mean of e^{κ cos} over
    it is a Bessel function of the length of the two summed as vectors (K. V. Mardia and P. E. Jupp, *Directional
    Statistics*, 2000, from memory).
    """
    where_it_is = y + vector
    pull = complex(np.vdot(vector, where_it_is))
    size = math.atan2(pull.imag, pull.real)
    left = where_it_is - vector * complex(math.cos(size), math.sin(size))
    before, here = spread_rad**-2, abs(pull)
    both = abs(pull + before)
    longer = (2 * before * pull.real + before**2) / (both + here) if both + here else 0.0  # both − here, exactly
    charge = _log_bessel_beyond(both) + longer - _log_bessel_beyond(before) - before
    return Fit(size, left, -square(left) / 2 + charge, 1)


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


def _log_bessel_beyond(x: float) -> float:
    """log I0(x) − x, the logarithm of the scaled modified Bessel function of order 0.

    >>> _log_bessel_beyond(0)
    0.0
    """
    if x < BESSEL_DIRECT:
        return math.log(float(np.i0(x))) - x
    return -math.log(2 * math.pi * x) / 2 + 1 / (8 * x)
