"""What the wheel is like if a hypothesis is true, and how likely it then passes after something is done to it.

Notation. At the c planes compared, real parts first, then imaginary ones: x (2 c), what is really there as the
machine shows it, less what the hypothesis adds; t, the hypothesis's free numbers; T, what they add for each
unit, taken as linear about the best fit. Beforehand x = expected + N(0, P), P of the reading before and of the
hands; measured = x + adds + T t + N(0, S). So (x, t) is normal, by the normal equations of least squares:

    ( P⁻¹ + S⁻¹   S⁻¹ T        )              ( S⁻¹ )
    ( Tᵀ S⁻¹      Tᵀ S⁻¹ T + 1 )  (δx, δt)  = ( Tᵀ S⁻¹ ) (measured − expected − adds)

What a check spin will show after something is done is linear in x and t: an effect that is undone is left out,
what is fitted is added. What hands made of a piece goes with it: of the deviation x − expected, pieces with the
covariance C share G = C P⁻¹ in the mean, give or take C − G C. So a new piece has its own errors alone. All is
normal; the probability to pass is ``planning.pass_probability``'s.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..physics.arrays import TINY, Complexes, Floats
from ..physics.unbalance import Unbalance
from ..planning.pass_probability import COARSE, components, probability
from ..planning.tolerance_check import WITHIN, ToleranceEvaluator
from .fault_models import Effect, Hypothesis
from .spin_comparison import Resolver, SpinComparison

FLOOR = 1e-12
"""Of the largest eigenvalue: less is rounding. Planes a hair apart, judged far away, make matrices that are
singular."""


@dataclass(frozen=True, slots=True)
class Predicted:
    """What a check spin will show: mean (2 c) [g·mm] and covariance (2 c, 2 c)."""

    mean: Floats
    covariance: Floats


@dataclass(frozen=True, slots=True)
class WheelPosterior:
    """Mean and covariance of (x, t) under a hypothesis."""

    seen: SpinComparison
    hypothesis: Hypothesis
    mean: Floats
    covariance: Floats

    @classmethod
    def of(cls, seen: SpinComparison, hypothesis: Hypothesis) -> WheelPosterior:
        """By the normal equations."""
        resolve = seen.whitening.resolve
        prior, noise = (_inverse(c) for c in (seen.covariances.expected, seen.covariances.after))
        slopes = _slopes(resolve, hypothesis.effects, hypothesis.spreads)
        size = len(prior)
        information = np.zeros((size + slopes.shape[1],) * 2)
        information[:size, :size] = prior + noise
        information[:size, size:] = noise @ slopes
        information[size:, :size] = information[:size, size:].T
        information[size:, size:] = slopes.T @ noise @ slopes + np.eye(slopes.shape[1])
        left = noise @ components(resolve(seen.innovation - hypothesis.adds))
        covariance = _inverse(information)
        change = covariance @ np.concatenate([left, slopes.T @ left])
        change[:size] += components(resolve(seen.expected))
        return cls(seen, hypothesis, change, covariance)

    @property
    def at_planes(self) -> Complexes:
        """The likeliest state of the wheel at the planes compared [g·mm], hypothesis aside."""
        real, imag = np.split(self.mean[: 2 * len(self.seen.planes)], 2)
        return np.asarray(real + 1j * imag)

    def predicted(self, kept: Sequence[Effect], fitted: Unbalance, *, off: Floats, on: Floats) -> Predicted:
        """What a check spin shows with the effects kept, and what was fitted or taken off.

        off, on: covariance (2 c, 2 c) of the hands in what was taken off, and in what is new.
        """
        resolve = self.seen.whitening.resolve
        slopes = _slopes(resolve, kept, self.hypothesis.spreads)
        gone = off @ _inverse(self.seen.covariances.expected)
        shown = np.hstack([np.eye(len(slopes)) - gone, slopes])
        adds = sum((e.adds for e in kept), fitted)
        mean = shown @ self.mean + gone @ components(resolve(self.seen.expected)) + components(resolve(adds))
        more = off - gone @ off + on + self.seen.covariances.again
        return Predicted(mean, shown @ self.covariance @ shown.T + more)


def _inverse(matrix: Floats) -> Floats:
    """The inverse of a positive matrix, scaled to a diagonal of ones first; what rounding made singular stays
    huge."""
    scale = np.sqrt(np.maximum(matrix.diagonal(), TINY))
    values, vectors = np.linalg.eigh(matrix / np.outer(scale, scale))
    values = np.maximum(values, FLOOR * values[-1])
    return np.asarray((vectors / values) @ vectors.T / np.outer(scale, scale))


def _slopes(resolve: Resolver, effects: Sequence[Effect], spreads: Sequence[float]) -> Floats:
    """T, (2 c, free): what the effects together add for each standard deviation of the free numbers."""
    total = np.zeros((2 * len(resolve.positions_mm), len(spreads)))
    for e in effects:
        for k, slope in enumerate(e.slopes):
            total[:, k] += spreads[k] * components(resolve(slope))
    return total


def pass_probabilities(predicted: Sequence[Predicted], evaluator: ToleranceEvaluator) -> Floats:
    """How likely each of several residuals is read within all limits, (n,)."""
    mean, covariance = np.array([p.mean for p in predicted]), np.array([p.covariance for p in predicted])
    planes_gmm = () if evaluator.static_only else evaluator.limits.planes_gmm
    if not planes_gmm:  # the sum alone counts, of whatever planes it was read in
        to_sum = np.kron(np.eye(2), np.ones((1, mean.shape[1] // 2)))
        mean, covariance = mean @ to_sum.T, to_sum @ covariance @ to_sum.T
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, FLOOR * values[:, -1:]))[:, None, :]
    limits = np.array([*planes_gmm, evaluator.limits.static_gmm]) * WITHIN
    c = mean.shape[1] // 2
    return probability(mean[:, :c] + 1j * mean[:, c:], root, limits, COARSE[2 * c])
