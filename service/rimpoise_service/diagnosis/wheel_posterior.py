"""What the wheel is like if a hypothesis is true, and how likely it then passes after something is done to it.

Notation. At the c planes compared, real parts first, then imaginary ones: x (2 c), what is really there as the
machine shows it, less what the hypothesis adds; t, the hypothesis's free numbers; T, what they add for each
unit, taken as linear about the best fit. Beforehand x = expected + N(0, P), P of the reading before and of the
hands; measured = x + adds + T t + N(0, S). So (x, t) is normal, by the normal equations of least squares:

    ( P⁻¹ + S⁻¹   S⁻¹ T          )              ( S⁻¹ )
    ( Tᵀ S⁻¹      Tᵀ S⁻¹ T + σ⁻² )  (δx, δt)  = ( Tᵀ S⁻¹ ) (measured − expected − adds)

What a check spin will show after something is done is linear in x and t: an effect that is undone is left out,
what is fitted is added. Its distribution is normal, its probability to pass is ``planning.pass_probability``'s.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..physics.unbalance import Unbalance
from ..planning.pass_probability import DIRECTIONS, DISCS
from ..planning.tolerance_check import WITHIN, ToleranceEvaluator
from .fault_models import Effect, Hypothesis
from .spin_comparison import Complexes, Floats, Resolver, SpinComparison

EVERY = 4
"""Of the lines that a plan's chance is looked at along, every fourth is enough to rank actions: half a point."""

FAR = 37.0


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
        slopes = _slopes(resolve, hypothesis.effects, len(hypothesis.spreads))
        size = len(prior)
        information = np.zeros((size + slopes.shape[1],) * 2)
        information[:size, :size] = prior + noise
        information[:size, size:] = noise @ slopes
        information[size:, :size] = information[:size, size:].T
        information[size:, size:] = slopes.T @ noise @ slopes + np.diag([s**-2.0 for s in hypothesis.spreads])
        left = noise @ _real(resolve(seen.innovation - hypothesis.adds))
        covariance = np.linalg.inv(information)
        change = covariance @ np.concatenate([left, slopes.T @ left])
        change[:size] += _real(resolve(seen.expected))
        return cls(seen, hypothesis, change, covariance)

    @property
    def at_planes(self) -> Complexes:
        """The likeliest state of the wheel at the planes compared [g·mm], hypothesis aside."""
        real, imag = np.split(self.mean[: 2 * len(self.seen.planes)], 2)
        return np.asarray(real + 1j * imag)

    def predicted(self, kept: Sequence[Effect], fitted: Unbalance, hands: Floats) -> Predicted:
        """What a check spin shows with the effects that are kept, and what was fitted with its covariance (c,
        c)."""
        resolve = self.seen.whitening.resolve
        slopes = _slopes(resolve, kept, len(self.hypothesis.spreads))
        shown = np.hstack([np.eye(len(slopes)), slopes])
        adds = sum((e.adds for e in kept), fitted)
        more = np.kron(np.eye(2), hands + self.seen.covariances.after)
        return Predicted(shown @ self.mean + _real(resolve(adds)), shown @ self.covariance @ shown.T + more)


def _inverse(covariance: Floats) -> Floats:
    return np.kron(np.eye(2), np.linalg.pinv(covariance, hermitian=True))


def _real(vector: Complexes) -> Floats:
    return np.concatenate([vector.real, vector.imag])


def _slopes(resolve: Resolver, effects: Sequence[Effect], free: int) -> Floats:
    """T, (2 c, free): what the effects together add for each unit of the free numbers."""
    total = np.zeros((2 * len(resolve.positions_mm), free))
    for e in effects:
        for k, slope in enumerate(e.slopes):
            total[:, k] += _real(resolve(slope))
    return total


def pass_probabilities(predicted: Sequence[Predicted], evaluator: ToleranceEvaluator) -> Floats:
    """How likely each of several residuals is read within all limits, (n,)."""
    mean = np.array([p.mean for p in predicted])
    root = np.linalg.cholesky(np.array([p.covariance for p in predicted]))
    planes_gmm = () if evaluator.static_only else evaluator.limits.planes_gmm
    limits = np.array([*planes_gmm, evaluator.limits.static_gmm]) * WITHIN
    size, n = mean.shape[1], len(limits)
    middle, lines = mean @ DISCS[size].T, DISCS[size] @ root @ DIRECTIONS[size][:, ::EVERY]
    x, y, dx, dy = middle[:, :n, None], middle[:, n:, None], lines[:, :n], lines[:, n:]
    square = np.maximum(dx * dx + dy * dy, np.finfo(float).tiny)
    along = x * dx + y * dy
    discriminant = along * along - square * (x * x + y * y - (limits**2)[:, None])
    half = np.sqrt(np.maximum(discriminant, 0.0))
    enters = np.where(discriminant >= 0, -along - half, np.inf) / square
    high = ((half - along) / square).min(axis=1)
    low = np.minimum(enters.max(axis=1), high)
    return np.asarray((_chi_share(high, size) - _chi_share(low, size)).mean(axis=1))


def _chi_share(distance: Floats, dimensions: int) -> Floats:
    """Half the chi distribution's share up to a distance, with its sign."""
    half_square = np.minimum(np.abs(distance), FAR) ** 2 / 2
    beyond = np.exp(-half_square) * (1 + half_square if dimensions == 4 else 1)
    return np.asarray(np.copysign(1 - beyond, distance) / 2)
