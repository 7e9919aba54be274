"""The last turn of the best fillings' weights: Newton's method on log P, within their stretches and side by side.

The best few are turned, not the best alone: of two that are as good as each other, the one that gains more by it
is the better one.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np

from ..physics.arrays import Bools, Floats, Ints
from .branching import Branching, TriedFilling, hope
from .candidates import ROUNDING_RAD
from .effort import PASSES
from .joint_model import cholesky, covariance
from .neighbours import needed_between, stands
from .nodes import Level
from .pass_probability import COARSE, moments

STEPS = 10
LARGEST_STEP, NO_STEP, SHORT_STEP = 0.1, 1e-3, 1e-3
"""Of one iteration [rad]: the most a block turns, what counts as none, and the least without a gradient."""

LEAST_CURVATURE = 0.1
"""As a share of (size/limit)²: where log P is flatter along a turn, this much is supposed."""

AT_LIMIT = 1e-9
"""What is no further than this from the end of its stretch, or from what its neighbour leaves, is there [rad]."""

NO_DIFFERENCE = 1e-12
"""What blocks that turn together come closer by is rounding [rad]; far less than ``AT_LIMIT`` in all ``STEPS``."""

MOST_AT_ONCE = 4
"""Of so many blocks every set of turns one way or the other is tried; of more, all of them one way."""

TURNED, NEAR_MIN, SELDOM_SHARE = 4, 0.02, 0.25
"""Fillings that are turned; how much more effort than the best of them they may take before [min], or as a share
where that one passes less than half of the time: there a turn gains much."""


def polish(search: Branching) -> None:
    """Turn the best fillings' weights to where the gradient of log P is 0, if that takes less effort."""
    for found in search.near(TURNED):
        if search.best is None or found.polished:
            continue
        least = NEAR_MIN if search.best.probability >= PASSES else SELDOM_SHARE * found.effort
        if found.effort > search.best.effort + hope(found.level, found.effort, least):
            continue
        angle = _turned(search, found)
        if not _stands(found, angle[None])[0]:
            angle = _walked(search, found)
        search.offer(replace(found, angle=angle, polished=True))


def _turned(search: Branching, found: TriedFilling) -> Floats:
    """The directions in which a filling passes most often, as far as steps lead there."""
    angle = found.angle
    for _ in range(STEPS):
        search.budget.spend(COARSE[found.level.judged.dimension].count)
        turned = _stepped(found, angle)
        settled = bool(np.abs(turned - angle).max() < NO_STEP)
        angle = turned
        if settled:
            break
    return angle


def _stands(found: TriedFilling, angle: Floats) -> Bools:
    """Whether a filling may be fitted in directions, (n, k)."""
    return stands(found.level, found.block[None], angle, np.array([found.lips]))


def _walked(search: Branching, found: TriedFilling) -> Floats:
    """The same without a gradient, for fillings that something holds back: the best way on from where they are."""
    level, angle, by, k = found.level, found.angle, LARGEST_STEP, len(found.angle)
    one, lines = np.eye(k), COARSE[level.judged.dimension]
    many = (
        [np.ones((1, k)), -np.ones((1, k))] if k > MOST_AT_ONCE else [np.array(list(product((-1, 1), repeat=k)))]
    )
    ways = np.concatenate([0 * one[:1], one, -one, *many])
    while by > SHORT_STEP:
        tried = np.clip(angle + by * ways, found.low, found.high)
        tried = tried[_stands(found, tried)]
        search.budget.spend(lines.count * len(tried))
        p = level.probability(np.repeat(found.block[None], len(tried), axis=0), tried, lines)
        best: Floats = tried[p.argmax()]
        by = by / 2 if np.abs(best - angle).max() < ROUNDING_RAD else by
        angle = best
    return angle


def _stepped(found: TriedFilling, angle: Floats) -> Floats:
    """One step of Newton's on: blocks at an end stay there, neighbours at theirs turn together."""
    level, block = found.level, found.block[None]
    size = level.columns("size", block)[0]
    gradient, curvature = _derivatives(level, block, size, angle)
    low, high = angle <= found.low + AT_LIMIT, angle >= found.high - AT_LIMIT
    free = ~((low & (gradient < 0)) | (high & (gradient > 0)))
    flattest = LEAST_CURVATURE * float((size / level.judged.limits.max()).max()) ** 2
    i, j = level.pairs
    if not i:
        step = _newton(gradient, curvature, np.eye(len(angle))[:, free], flattest)
        return np.clip(angle + step, found.low, found.high)
    least = needed_between(level, block)[0]
    most, distance = least + np.array([found.lips[level.place_of[k]] for k in j]), angle[j] - angle[i]
    held = np.zeros(len(i), dtype=bool)
    for _ in range(len(i) + 1):
        step = _newton(gradient, curvature, _together(free, i, j, held), flattest)
        closer = np.where(held, 0.0, step[j] - step[i])
        stopped = ((distance <= least + AT_LIMIT) & (closer < 0)) | ((distance >= most - AT_LIMIT) & (closer > 0))
        if not stopped.any():
            break
        held |= stopped
    turned = np.clip(angle + step, found.low, found.high) - angle
    closer = turned[j] - turned[i]
    room = np.maximum(np.where(closer < 0, distance - least, most - distance), 0.0)
    beyond = np.abs(closer) > np.maximum(room, NO_DIFFERENCE)
    share = np.divide(room, np.abs(closer), out=np.ones_like(room), where=beyond)
    return np.clip(angle + turned * float(share.min()), found.low, found.high)


def _together(free: Bools, i: list[int], j: list[int], held: Bools) -> Floats:
    """What may turn: free blocks, those that are held to their neighbour with it; (k, turns)."""
    group = list(range(len(free)))
    for a, b, tied in zip(i, j, held.tolist(), strict=True):
        if tied:
            group[b] = group[a]
    columns = [np.array([g == of for g in group], dtype=float) for of in dict.fromkeys(group)]
    return np.array([c for c in columns if free[c > 0].all()]).reshape(-1, len(free)).T


def _newton(gradient: Floats, curvature: Floats, turns: Floats, flattest: float) -> Floats:
    """The step [rad] to where the gradient along turns, (k, turns), is 0; no longer than ``LARGEST_STEP``."""
    if not turns.shape[1]:
        return np.zeros(len(gradient))
    values, vectors = np.linalg.eigh(turns.T @ curvature @ turns)
    steps = -vectors @ ((vectors.T @ (turns.T @ gradient)) / np.minimum(values, -flattest))
    return np.asarray(np.clip(turns @ steps, -LARGEST_STEP, LARGEST_STEP))


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
