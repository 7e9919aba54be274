"""The last turn of a filling's weights: Newton's method on log P, within their stretches."""

from __future__ import annotations

import numpy as np

from .branching import Branching, Incumbent
from .joint_model import Floats, Ints, cholesky, covariance
from .nodes import Level, Nodes
from .pass_probability import COARSE, moments

STEPS = 10
LARGEST_STEP, NO_STEP = 0.1, 2e-5
"""Of one iteration [rad]: the most a block turns, and what counts as none."""

LEAST_CURVATURE = 0.1
"""As a share of (size/limit)²: where log P is flatter along a turn, this much is supposed."""


def polish(search: Branching) -> None:
    """Turn the incumbent's weights to where the gradient of log P is 0, if that takes less effort."""
    best = search.best
    if best is None:
        return
    angle = best.angle
    for _ in range(STEPS):
        turned = np.clip(angle + _newton_step(best, angle), best.low, best.high)
        search.budget.spend(COARSE[best.level.judged.dimension].count)
        settled = bool(np.abs(turned - angle).max() < NO_STEP)
        angle = turned
        if settled:
            break
    if best.level.apart(best.block, angle, best.lips):
        one = np.array([0])
        node = Nodes(
            best.block[None], angle[None], angle[None], one + best.handling, one + best.penalty, one, one * 0.0
        )
        search.offer(best.level, node, angle, best.low, best.high, best.lips)


def _newton_step(best: Incumbent, angle: Floats) -> Floats:
    """Of each block [rad]; 0 where it would leave its stretch."""
    level, block = best.level, best.block[None]
    size = level.columns("size", block)[0]
    gradient, curvature = _derivatives(level, block, size, angle)
    outwards = ((angle <= best.low) & (gradient < 0)) | ((angle >= best.high) & (gradient > 0))
    free = ~outwards
    step = np.zeros(len(angle))
    if free.any():
        values, vectors = np.linalg.eigh(curvature[np.ix_(free, free)])
        flattest = LEAST_CURVATURE * float((size[free] / level.judged.limits.max()).max()) ** 2
        step[free] = -vectors @ ((vectors.T @ gradient[free]) / np.minimum(values, -flattest))
    return np.clip(step, -LARGEST_STEP, LARGEST_STEP)


def _derivatives(level: Level, block: Ints, size: Floats, angle: Floats) -> tuple[Floats, Floats]:
    """Gradient and Hessian of log P by the blocks' directions.

    A turn moves the residual and turns the covariance with it: ∂P/∂Σ = ½ ∇²P (R. L. Plackett, Biometrika 41 (1954)
    351–360); how fast the covariance turns further is left out of the Hessian.
    """
    c = len(level.judged.before)
    root = cholesky(level.covariance(block, angle[None]))
    left = level.residual(size[None], angle[None])
    found = moments(left, root, level.judged.limits, COARSE[2 * c], hessian=True)
    slope, bend = found.gradient[0], np.asarray(found.hessian)[0]
    vectors = (size * np.exp(1j * angle))[:, None] * level.gain
    turn = np.concatenate([(1j * vectors).real, (1j * vectors).imag], axis=1)
    inwards = np.concatenate([-vectors.real, -vectors.imag], axis=1)
    swing = 2j * (level.columns("squares_turned", block)[0] * np.exp(2j * angle))[:, None] * level.pseudo
    swings = covariance(np.zeros((len(angle), c, c)), swing.reshape(-1, c, c))
    of_p = bend + np.outer(slope, slope)
    gradient = turn @ slope + 0.5 * (swings * of_p).sum(axis=(1, 2))
    return gradient, turn @ bend @ turn.T + np.diag(inwards @ slope)
