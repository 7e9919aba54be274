"""The probability that a residual, with all its errors, is read within every limit.

Notation. Judged planes 1 … c (two; one where the static sum alone is judged); m, shape (c,): the planned
residual there as complex vectors [g·mm]; Σ, shape (2 c, 2 c): covariance of its real parts, then its imaginary
parts [g²·mm²]; K: the residuals within all limits, a disc for each plane and one for their sum.

1. Errors are taken to first order here (``reported_chance`` knows the rest), so the residual that is read is
   normal about m, and P(m) = Pr(m + √Σ·z in K).
2. Every limit is a disc, so along a line through m what passes is one interval, from a quadratic, and its share
   of the line is known in closed form: the distance from m is chi-distributed with 2 c degrees of freedom. P is
   the mean over a fixed set of lines.
3. K is convex, so log P is concave in m (A. Prékopa, Acta Sci. Math. 34 (1973) 335–343): a tangent of log P at
   one residual bounds P at all others. Gradient and Hessian are moments of z over K (Stein's identity), in closed
   form along each line as well.
4. K is symmetric about 0, so P is largest at m = 0, and larger still for a smaller Σ (T. W. Anderson,
   Proc. Am. Math. Soc. 6 (1955) 170–176).

The lines of four dimensions are a rank-1 lattice (I. H. Sloan, S. Joe, *Lattice Methods for Multiple
Integration*, 1994) turned into directions by Hopf's map; those of two dimensions are evenly spaced. The same lines
every time. Steps of a lattice: of some thousand tried at random, those whose worst error over 1,200 random cases
is least. A mirrored case has the same probability but for the lines' error; along lines ``with_mirror_images``
exactly the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..physics.arrays import TINY, Complexes, Floats

LEAST = 1e-12
"""What a probability is at the least, so that its logarithm has a slope."""

AT_ONCE = 4096
"""Residuals times lines that are looked at together: some arrays of 98 kB."""

FAR = 37.0
"""Standard deviations beyond which nothing is left that a double can hold."""


FARTHEST, PER_SD = 8, 100
"""How far the table of the normal distribution goes, and its entries for each standard deviation."""

_NORMAL = np.linspace(-FARTHEST, FARTHEST, 2 * FARTHEST * PER_SD + 1)
_NORMAL_SHARE = np.array([0.5 * math.erfc(-x / math.sqrt(2)) for x in _NORMAL.tolist()])
NORMAL_ERROR = 1e-5
"""How far the straight line between two entries may be from the normal distribution."""


@dataclass(frozen=True)
class Quadrature:
    """Lines to integrate along: unit vectors, (2 c, N).

    P is right to ``share`` of what does not pass, and ``least`` (a test measures it).
    """

    directions: Floats
    share: float
    least: float

    @property
    def count(self) -> int:
        """How many lines."""
        return int(self.directions.shape[1])

    def error(self, p: Floats) -> Floats:
        """How far P may be off."""
        return self.share * (1 - np.minimum(p, 1.0)) + self.least


def _lattice_lines(points: int, second: int, third: int, share: float, least: float) -> Quadrature:
    """Lines of four dimensions: (Re 1, Re 2, Im 1, Im 2) of a lattice's points."""
    i = np.arange(points)
    even, one, two = (i + 0.5) / points, 2 * np.pi * (i * second / points), 2 * np.pi * (i * third / points)
    first, other = np.sqrt(even) * np.exp(1j * (one + np.pi)), np.sqrt(1 - even) * np.exp(1j * two)
    return Quadrature(np.stack([first.real, other.real, first.imag, other.imag]), share, least)


def _even_lines(count: int, share: float, least: float) -> Quadrature:
    """Lines of two dimensions."""
    angle = np.pi * (np.arange(count) + 0.5) / count
    return Quadrature(np.stack([np.cos(angle), np.sin(angle)]), share, least)


def with_mirror_images(lines: Quadrature) -> Quadrature:
    """The same lines and their mirror images."""
    half = len(lines.directions) // 2
    images = np.concatenate([lines.directions[:half], -lines.directions[half:]])
    return Quadrature(np.concatenate([lines.directions, images], axis=1), lines.share, lines.least)


FINE = {4: _lattice_lines(4096, 3463, 1683, 1.6e-3, 4e-5), 2: _even_lines(128, 3e-3, 5e-5)}
"""What P is, by its dimension."""

MIDDLE = {4: _lattice_lines(1024, 587, 381, 4e-3, 1e-4), 2: FINE[2]}
"""For bounds that coarse lines leave open, before fine ones."""

COARSE = {4: _lattice_lines(192, 41, 25, 2.1e-2, 3e-4), 2: _even_lines(32, 1.2e-2, 3e-4)}
"""For looking ahead."""

DISCS = {2: np.eye(2), 4: np.kron(np.eye(2), [[1, 0], [0, 1], [1, 1]])}
"""From the residual's components to those of what is judged: itself, or both planes and their sum."""


@dataclass(frozen=True, slots=True)
class Moments:
    """P of several residuals, shape (n,), and the gradient (n, 2 c) and Hessian (n, 2 c, 2 c) of log P there."""

    probability: Floats
    gradient: Floats
    hessian: Floats | None


def components(residual: Complexes) -> Floats:
    """Real parts, then imaginary ones; shape (…, c) → (…, 2 c).

    >>> components(np.array([1 + 3j, 2 + 4j]))
    array([1., 2., 3., 4.])
    """
    return np.concatenate([residual.real, residual.imag], axis=-1)


def probability(residual: Complexes, root: Floats, limits: Floats, quadrature: Quadrature) -> Floats:
    """P of several residuals, shape (n,).

    residual: (n, c) [g·mm]; root: √Σ, (2 c, 2 c) or one for each [g·mm]; limits: of each plane, then of the sum,
    (3,); or of the sum alone, (1,) [g·mm].
    """
    shares = np.zeros(len(residual))
    for rows, lines in _at_once(len(residual), quadrature.count):
        part = quadrature.directions[:, lines]
        low, high = _intervals(residual[rows], root[rows] if root.ndim > 2 else root, limits, part)
        t = np.stack([low, high])
        below, above = _chi_share(t, np.exp(-0.5 * t * t), root.shape[-1])
        shares[rows] += (above - below).sum(axis=1)
    return shares * (0.5 / quadrature.count)


def moments(
    residual: Complexes, root: Floats, limits: Floats, quadrature: Quadrature, *, hessian: bool = False
) -> Moments:
    """P of several residuals with the derivatives of log P; the arguments are those of ``probability``."""
    n, dimension = len(residual), root.shape[-1]
    shares, mean_z, square = np.zeros(n), np.zeros((n, dimension)), np.zeros((n, dimension, dimension))
    for rows, lines in _at_once(n, quadrature.count):
        part = quadrature.directions[:, lines]
        low, high = _intervals(residual[rows], root[rows] if root.ndim > 2 else root, limits, part)
        t = np.stack([low, high])
        bell = np.exp(-0.5 * t * t)
        below, above = _chi_share(t, bell, dimension)
        shares[rows] += (above - below).sum(axis=1)
        below, above = _first_moment(np.abs(t), bell, dimension)
        mean_z[rows] += (above - below) @ part.T
        if hessian:
            below, above = _second_moment(t, bell, dimension)
            square[rows] += ((above - below)[:, None, :] * part) @ part.T
    p = np.maximum(shares * (0.5 / quadrature.count), LEAST)
    back = np.linalg.inv(root)
    gradient = (np.swapaxes(back, -1, -2) @ mean_z[:, :, None])[:, :, 0] / (quadrature.count * p[:, None])
    if not hessian:
        return Moments(p, gradient, None)
    of_log = square / (quadrature.count * p[:, None, None]) - np.eye(dimension)
    of_log = np.swapaxes(back, -1, -2) @ of_log @ back - gradient[:, :, None] * gradient[:, None, :]
    return Moments(p, gradient, of_log)


def shares_along(middle: Floats, along: Floats, limits: Floats) -> Floats:
    """The share of each line that passes, (N,), each through a residual of its own.

    middle: (N, 2 q) and along: (2 q, N), what is judged as real parts, then imaginary ones.
    """
    low, high = _inside(middle.T[None], along[None], limits)
    t = np.stack([low, high])
    below, above = _chi_share(t, np.exp(-0.5 * t * t), 4 if len(limits) > 1 else 2)
    return np.asarray(0.5 * (above - below)[0])


def _at_once(rows: int, lines: int) -> Iterator[tuple[slice, slice]]:
    """Which residuals and lines to look at together, so that what is computed stays near the processor."""
    several = max(AT_ONCE // lines, 1)
    for row in range(0, rows, several):
        for line in range(0, lines, AT_ONCE):
            yield slice(row, row + several), slice(line, line + AT_ONCE)


def _intervals(residual: Complexes, root: Floats, limits: Floats, directions: Floats) -> tuple[Floats, Floats]:
    """From where to where each line through each residual is inside all limits, (n, N)."""
    discs = DISCS[root.shape[-1]]
    along = (discs @ root) @ directions
    return _inside((components(residual) @ discs.T)[:, :, None], along if along.ndim > 2 else along[None], limits)


def _inside(middle: Floats, along: Floats, limits: Floats) -> tuple[Floats, Floats]:
    """From where to where lines are inside all discs, in standard deviations; nowhere: twice the same place.

    middle, along: (n, 2 q, N), or what broadcasts to it.
    """
    n = len(limits)
    x, y, dx, dy = middle[:, :n], middle[:, n:], along[:, :n], along[:, n:]
    square = dx * dx
    square += dy * dy
    np.maximum(square, TINY, out=square)
    b, outside = x * dx, x * x + y * y - (limits * limits)[:, None]
    b += y * dy
    half = b * b
    half -= square * outside
    missed = half < 0 if (outside > 0).any() else None
    np.sqrt(np.maximum(half, 0.0, out=half), out=half)
    np.reciprocal(square, out=square)
    leaves = half - b
    leaves *= square
    enters = np.add(half, b, out=half)
    enters *= -square
    if missed is not None:
        enters[missed] = np.inf
    high = leaves.min(axis=1)
    low = np.minimum(enters.max(axis=1), high)
    return np.minimum(np.maximum(low, -FAR), FAR), np.minimum(np.maximum(high, -FAR), FAR)


def _chi_share(t: Floats, bell: Floats, dimension: int) -> Floats:
    """Share of the chi distribution up to |t|, with the sign of t."""
    return np.copysign(1 - bell * (1 + 0.5 * t * t if dimension == 4 else 1.0), t)


def _first_moment(t: Floats, bell: Floats, dimension: int) -> Floats:
    """∫ s p(s) ds from 0 to t, where p is the density along a line; even in t, so t = |t|."""
    normal = math.sqrt(math.pi / 2) * _erf(t, bell)
    if dimension == 4:
        return 0.25 * (3 * normal - (t * t * t + 3 * t) * bell)
    return 0.5 * (normal - t * bell)


def _second_moment(t: Floats, bell: Floats, dimension: int) -> Floats:
    """∫ s² p(s) ds from 0 to t, with the sign of t."""
    h = 0.5 * t * t
    if dimension == 4:
        return np.copysign(2 - (2 + 2 * h + h * h) * bell, t)
    return np.copysign(1 - (1 + h) * bell, t)


def _erf(t: Floats, bell: Floats) -> Floats:
    """erf(t/√2) for t ≥ 0, bell = exp(−t²/2): Abramowitz & Stegun 7.1.26, right to 1.5e-7."""
    k = 1 / (1 + 0.3275911 / math.sqrt(2) * t)
    series = ((((1.061405429 * k - 1.453152027) * k + 1.421413741) * k - 0.284496736) * k + 0.254829592) * k
    return 1 - series * bell


def normal_share(x: Floats) -> Floats:
    """Φ(x), no less than it is."""
    at = np.minimum(np.maximum((x + FARTHEST) * PER_SD, 0), len(_NORMAL) - 2)
    entry = at.astype(np.intp)
    share = _NORMAL_SHARE[entry]
    return np.asarray(share + (_NORMAL_SHARE[entry + 1] - share) * (at - entry) + NORMAL_ERROR)


def normal_quantile(share: float) -> float:
    """x with Φ(x) = share."""
    return float(np.interp(share, _NORMAL_SHARE, _NORMAL))
