"""Blocks beside each other on one circle: what is free of it between their ends, and where they may stand."""

from __future__ import annotations

import math

import numpy as np

from ..physics.arrays import Bools, Floats, Ints
from .candidates import ROUNDING_RAD
from .nodes import Level, Nodes

SWEEPS = 3
"""Over the neighbours of a place, each moved so that it may stand beside the one before."""


def needed_between(level: Level, block: Ints) -> Floats:
    """What neighbours, (n, k), cover of the circle between their directions [rad], (n, pairs)."""
    i, j = level.pairs
    return np.asarray(level.columns("ahead", block)[:, i] + level.columns("behind", block)[:, j])


def apart(level: Level, block: Ints, angle: Floats, lips: Floats) -> Bools:
    """Whether no two blocks overlap, and neighbours leave no more free than lips, (n,).

    block, angle: (n, k); lips: (n, places); what is the same for all n may be given once.
    """
    i, j = level.pairs
    if not i:
        return np.ones(max(len(block), len(angle)), dtype=bool)
    free = angle[:, j] - angle[:, i] - needed_between(level, block)
    most = lips[:, [level.place_of[k] for k in j]]
    stand = ((free >= -ROUNDING_RAD) & (free <= most + ROUNDING_RAD)).all(axis=1)
    ahead, behind = level.columns("ahead", block), level.columns("behind", block)
    for first, *_, last in (of_place for of_place in level.blocks_of if len(of_place) > 1):
        around = angle[:, last] - angle[:, first] + ahead[:, last] + behind[:, first]
        stand &= around <= 2 * math.pi + ROUNDING_RAD
    return np.asarray(stand)


def stands(level: Level, block: Ints, angle: Floats, lips: Floats) -> Bools:
    """Whether blocks may be fitted in these directions: they keep every ceiling and stand apart, (n,)."""
    return level.judged.admits(level.left(block, angle)) & apart(level, block, angle, lips)


def may_stand(level: Level, nodes: Nodes, lips: Floats) -> Bools:
    """Whether neighbours can stand in a box: they don't overlap, nor leave more free than lips, (n, places)."""
    i, j = level.pairs
    if not i:
        return np.ones(len(nodes), dtype=bool)
    needed = needed_between(level, nodes.block)
    widest, narrowest = nodes.high[:, j] - nodes.low[:, i], nodes.low[:, j] - nodes.high[:, i]
    most = needed + lips[:, [level.place_of[k] for k in j]]
    return np.asarray(((widest >= needed - ROUNDING_RAD) & (narrowest <= most + ROUNDING_RAD)).all(axis=1))


def moved(level: Level, block: Ints, angle: Floats, box: tuple[Floats, Floats], lips: Floats) -> Floats:
    """Directions (n, k) near to those given, in which neighbours may stand; where their box has none, no better.

    box: from where to where, (n, k); lips: of each place, (n, places).
    """
    if not level.pairs[0]:
        return angle
    (low, high), angle = box, angle.copy()
    size, needed = level.columns("size", block), needed_between(level, block)
    for _ in range(SWEEPS):
        for pair, (i, j) in enumerate(zip(*level.pairs, strict=True)):
            gap, covered = angle[:, j] - angle[:, i], needed[:, pair]
            wanted = np.minimum(np.maximum(gap, covered), covered + lips[:, level.place_of[j]])
            # the sum of both keeps its direction, nearly
            first = angle[:, i] - (wanted - gap) * size[:, j] / (size[:, i] + size[:, j])
            second = np.clip(np.clip(first, low[:, i], high[:, i]) + wanted, low[:, j], high[:, j])
            first = np.clip(second - wanted, low[:, i], high[:, i])
            differs = wanted != gap
            angle[:, i] = np.where(differs, first, angle[:, i])
            angle[:, j] = np.where(differs, second, angle[:, j])
    return angle
