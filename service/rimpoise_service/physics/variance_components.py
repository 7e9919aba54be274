"""Variance components: what shares of a spread come from which source, by maximum likelihood.

Notation. Block i holds ν_i independent normal vectors of mean zero and the sum S_i of their y yᵀ. Their covariance
is linear in the variances θ_j ≥ 0 that all blocks share, one for each source; V_i0 is known, as of rounding:

    V_i(θ) = V_i0 + Σ_j θ_j A_ij,    D(θ) = −2 log likelihood = Σ_i (ν_i log det V_i + tr V_i⁻¹ S_i) + constant.

Unknown means are removed beforehand by contrasts, so that this is the restricted likelihood of H. D. Patterson and
R. Thompson (Biometrika 58, 1971, from memory): without it two spins a wheel would halve every variance.

1. Fisher scoring: score ½ Σ_i (tr V⁻¹AV⁻¹S − ν tr V⁻¹A), information ½ Σ_i ν tr V⁻¹A_jV⁻¹A_k. A variance at 0
   whose score is not positive stays there; a step that makes D larger is halved.
2. The interval of θ_j holds every value at which D, least over all others, is within 3.841 of its least: that
   is the 95 % point of χ² with one degree of freedom (profile likelihood). It may begin at 0 or have no end.
3. A block is an outlier where tr V⁻¹S, which is χ² with ν d degrees of freedom, is so large that one block in a
   hundred lists of this length would be.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from .arrays import TINY, Bools, Floats

CONFIDENCE = 0.95
CHI_SQUARE_95 = NormalDist().inv_cdf((1 + CONFIDENCE) / 2) ** 2
"""The 95 % point of χ² with one degree of freedom, 3.841."""

OUTLIER_LEVEL = 0.01
"""Share of lists without any fault in which an outlier is named; common practice, no source."""

MOSTLY = 0.5
"""From this share on a block is mostly what is known."""

MAX_STEPS, MAX_HALVINGS = 200, 40
CONVERGED = 1e-8
"""A step that promises a smaller decrease of D than this ends the search."""

WARM = 1e-3
"""A search goes on from the last one's end, with no variance less than this share of an equal one."""

ROOT_TOLERANCE, ROOT_STEPS = 1e-4, 60
BRACKET = 2.0
NO_END = 1e6
"""An interval's end beyond so many times the estimate is none."""


@dataclass(frozen=True, slots=True)
class Blocks:
    """n blocks of vectors with d components each, and p sources.

    scatter: S, (n, d, d); freedom: ν, (n,); parts: A, (p, n, d, d); known: V_0, (n, d, d).
    """

    scatter: Floats
    freedom: Floats
    parts: Floats
    known: Floats

    def __len__(self) -> int:
        return len(self.freedom)

    @property
    def dimensions(self) -> int:
        """Components of a vector."""
        return int(self.scatter.shape[1])

    def covariances(self, variances: Floats) -> Floats:
        """V of every block, (n, d, d)."""
        return np.asarray(self.known + np.tensordot(variances, self.parts, 1))

    def only(self, kept: Bools) -> Blocks:
        """Some of the blocks."""
        return Blocks(self.scatter[kept], self.freedom[kept], self.parts[:, kept], self.known[kept])

    def known_shares(self, variances: Floats) -> Floats:
        """tr V⁻¹V_0 / d of every block, from 0 to 1, (n,)."""
        inverse = np.linalg.inv(self.covariances(variances))
        return np.asarray(np.einsum("nij,nji->n", inverse, self.known) / self.dimensions)

    def sizes(self, variances: Floats) -> Floats:
        """tr V⁻¹S of every block, (n,)."""
        inverse = np.linalg.inv(self.covariances(variances))
        return np.asarray(np.einsum("nij,nji->n", inverse, self.scatter))


@dataclass(frozen=True, slots=True)
class Component:
    """A source's variance and its interval; high is None where the data set no end."""

    variance: float
    low: float
    high: float | None


@dataclass(frozen=True, slots=True)
class _Optimum:
    variances: Floats
    deviance: float
    information: Floats


def estimate_components(stacks: Sequence[Blocks]) -> tuple[Component, ...]:
    """The variance of every source, with its profile interval of 95 %.

    stacks: blocks with equally many components are one stack. A source that takes part in no block comes out as 0
    with an interval from 0 without an end.
    """
    taking_part = _taking_part(stacks)
    best = _minimise(stacks, _start(stacks, taking_part), ~taking_part)
    return tuple(
        Component(float(best.variances[j]), *_interval(stacks, best, j, ~taking_part))
        if taking_part[j]
        else Component(0.0, 0.0, None)
        for j in range(len(taking_part))
    )


def maximum_likelihood(stacks: Sequence[Blocks]) -> Floats:
    """The variances alone, without intervals."""
    taking_part = _taking_part(stacks)
    return _minimise(stacks, _start(stacks, taking_part), ~taking_part).variances


def _taking_part(stacks: Sequence[Blocks]) -> Bools:
    return np.array([any(s.parts[j].any() for s in stacks) for j in range(stacks[0].parts.shape[0])])


def _start(stacks: Sequence[Blocks], free: Bools) -> Floats:
    """Every source makes an equal share of the whole scatter."""
    scatter = sum(float(np.trace(s.scatter, axis1=1, axis2=2).sum()) for s in stacks)
    traces = np.array(
        [
            sum(float(s.freedom @ np.trace(s.parts[j], axis1=1, axis2=2)) for s in stacks)
            for j in range(stacks[0].parts.shape[0])
        ]
    )
    shares = np.divide(scatter, traces, out=np.zeros(len(traces)), where=free)
    return np.asarray(shares / max(int(free.sum()), 1))


def _deviance(stacks: Sequence[Blocks], variances: Floats) -> float:
    """D, infinite where a covariance is singular."""
    total = 0.0
    for stack in stacks:
        covariances = stack.covariances(variances)
        signs, logs = np.linalg.slogdet(covariances)
        if not (signs > 0).all():
            return math.inf
        total += float(stack.freedom @ logs)
        total += float(np.einsum("nij,nji->", np.linalg.inv(covariances), stack.scatter))
    return total


def _slopes(stacks: Sequence[Blocks], variances: Floats) -> tuple[Floats, Floats]:
    """Score and information."""
    count = len(variances)
    score, information = np.zeros(count), np.zeros((count, count))
    for stack in stacks:
        inverse = np.linalg.inv(stack.covariances(variances))
        ratios = inverse @ stack.parts
        explained = np.einsum("pnij,njk,nki->p", ratios, inverse, stack.scatter, optimize=True)
        score += (explained - np.einsum("pnii,n->p", ratios, stack.freedom)) / 2
        information += np.einsum("pnij,qnji,n->pq", ratios, ratios, stack.freedom, optimize=True) / 2
    return score, information


def _minimise(stacks: Sequence[Blocks], start: Floats, fixed: Bools) -> _Optimum:
    """The variances of least deviance, those that are fixed as they are; infinite if it is so at the start."""
    variances, deviance = start, _deviance(stacks, start)
    if math.isinf(deviance):
        return _Optimum(variances, deviance, np.zeros((len(start), len(start))))
    for _ in range(MAX_STEPS):
        score, information = _slopes(stacks, variances)
        free = ~fixed & ((variances > 0) | (score > 0))
        step = np.zeros_like(variances)
        step[free] = _solve(information[np.ix_(free, free)], score[free])
        if score @ step < CONVERGED:
            return _Optimum(variances, deviance, information)
        variances, deviance, moved = _take(stacks, variances, deviance, step)
        if not moved:
            break
    return _Optimum(variances, deviance, information)


def _solve(information: Floats, score: Floats) -> Floats:
    """The step of equal information; sources that act alike share it."""
    scale = np.sqrt(np.maximum(np.diag(information), TINY))
    step = np.linalg.lstsq(information / np.outer(scale, scale), score / scale, rcond=1e-10)[0]
    return np.asarray(step / scale)


def _take(
    stacks: Sequence[Blocks], variances: Floats, deviance: float, step: Floats
) -> tuple[Floats, float, bool]:
    """The longest of step, half of it, a quarter … that lowers the deviance, if any."""
    for _ in range(MAX_HALVINGS):
        tried = np.maximum(variances + step, 0.0)
        tried_deviance = _deviance(stacks, tried)
        if tried_deviance < deviance:
            return tried, tried_deviance, True
        step = step / 2
    return variances, deviance, False


def _interval(stacks: Sequence[Blocks], best: _Optimum, source: int, absent: Bools) -> tuple[float, float | None]:
    """Where the profile of a source's standard deviation crosses the limit, as variances."""
    fixed = absent.copy()
    fixed[source] = True
    limit, warm, least = math.sqrt(CHI_SQUARE_95), best.variances, WARM * _start(stacks, ~absent)

    def beyond(sd: float) -> float:
        """How far the signed root of the profile is beyond the limit."""
        nonlocal warm
        start = np.where(fixed & ~absent, sd**2, np.maximum(warm, least))
        found = _minimise(stacks, start, fixed)
        if math.isfinite(found.deviance):
            warm = found.variances
        return min(math.sqrt(max(found.deviance - best.deviance, 0.0)) - limit, 1e6)

    sd = math.sqrt(best.variances[source])
    scale = sd or (1 / max(best.information[source, source], TINY)) ** 0.25
    low = 0.0
    if sd and beyond(0.0) > 0:
        inside, outside = sd, sd / BRACKET
        while beyond(outside) < 0:
            inside, outside = outside, outside / BRACKET
        low = _root(beyond, inside, outside)
    warm, inside, outside = best.variances, sd, scale * BRACKET
    while beyond(outside) < 0:
        inside, outside = outside, outside * BRACKET
        if outside > NO_END * scale:
            return low**2, None
    return low**2, _root(beyond, inside, outside) ** 2


def _root(beyond: Callable[[float], float], inside: float, outside: float) -> float:
    """Where the function crosses zero, by false position with halving (Illinois)."""
    at_inside, at_outside = beyond(inside), beyond(outside)
    side = 0
    for _ in range(ROOT_STEPS):
        middle = (inside * at_outside - outside * at_inside) / (at_outside - at_inside)
        found = beyond(middle)
        if abs(found) < ROOT_TOLERANCE or abs(outside - inside) < ROOT_TOLERANCE * abs(middle):
            break
        if found < 0:
            inside, at_inside = middle, found
            at_outside = at_outside / 2 if side < 0 else at_outside
            side = -1
        else:
            outside, at_outside = middle, found
            at_inside = at_inside / 2 if side > 0 else at_inside
            side = 1
    return middle


def chi_square_limit(freedom: Floats | float, chance: float) -> Floats:
    """What χ² with so many degrees of freedom is above with that chance (Wilson and Hilferty 1931, from memory).

    A cube of a normal variable: in the far tail of 2 degrees of freedom it is up to 8 % high, less for more.

    >>> float(chi_square_limit(10, 0.05))  # 18.307 in any table
    18.29
    """
    nu = np.asarray(freedom, float)
    spread = 2 / (9 * nu)
    return np.asarray(nu * (1 - spread + NormalDist().inv_cdf(1 - chance) * np.sqrt(spread)) ** 3)


def outlying(stacks: Sequence[Blocks], variances: Floats) -> list[Bools]:
    """Which blocks of each stack don't belong to the others.

    Sizes are held to their own median first: several outliers together would otherwise hide each other. Blocks
    that are mostly what is known don't take part in it: they are small whatever the variances.
    """
    sizes = [s.sizes(variances) for s in stacks]
    freedom = [s.freedom * s.dimensions for s in stacks]
    telling = np.concatenate([s.known_shares(variances) < MOSTLY for s in stacks])
    typical = np.concatenate([q / chi_square_limit(f, 0.5) for q, f in zip(sizes, freedom, strict=True)])
    inflation = float(np.median(typical[telling])) if telling.any() else 1.0
    level = OUTLIER_LEVEL / len(typical)
    return [q > inflation * chi_square_limit(f, level) for q, f in zip(sizes, freedom, strict=True)]
