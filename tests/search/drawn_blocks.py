"""Blocks for the search, drawn by the number."""

from __future__ import annotations

import numpy as np

from rimpoise_service.physics.arrays import Floats
from rimpoise_service.search.blocks import Blocks
from tests.search.brute_force import TURN

ROOM_RAD = 2e-9


def blocks_of(size: Floats, centre: Floats, slack: Floats, half: float) -> Blocks:
    """Blocks that are all of one kind, as long on one side as on the other."""
    n = len(size)
    one = np.ones(n, dtype=np.intp)
    return Blocks(
        size=size,
        centre=centre,
        slack=slack,
        behind=np.full(n, half),
        ahead=np.full(n, half),
        pieces=one,
        mass=size / 200,
        kind=one * 0,
        used=one,
        on_hand=np.full(n, np.inf),
        squares=size**2,
        squares_turned=(size**2).astype(np.complex128),
        first_middle=np.zeros(n),
        last_middle=np.zeros(n),
    )


def separate_blocks(seed: int, count: int) -> tuple[complex, Blocks]:
    """Blocks in windows of their own, and a target: every other one is met exactly by some directions."""
    rng = np.random.default_rng(seed)
    ends = np.sort(rng.uniform(0, TURN, 2 * count))
    half = 1e-3
    centre = (ends[::2] + ends[1::2]) / 2
    slack = np.maximum((ends[1::2] - ends[::2]) / 2 - half, 0.0)
    size = rng.uniform(500, 5000, count)
    if rng.random() < 0.2:
        size[:] = size[0]
    target = complex(*rng.normal(0, 4000, 2))
    if seed % 2:
        target = complex(size @ np.exp(1j * (centre + slack * rng.uniform(-1, 1, count))))
    return target, blocks_of(size, centre, slack, half)
