"""The closed forms of the search and its bound against numerical optimisation that knows nothing of either."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from rimpoise_service.physics.arrays import Floats
from rimpoise_service.search.blocks import Blocks
from rimpoise_service.search.closed_form import best_directions
from tests.search.brute_force import TURN
from tests.search.drawn_blocks import ROOM_RAD, blocks_of, separate_blocks


def least_by_descent(target: complex, blocks: Blocks, starts: int, seed: int) -> float:
    """The least residual [g·mm] that gradient descent finds from many starts, each block in its interval."""
    rng = np.random.default_rng(seed)
    scale = float(blocks.size.sum())

    def square(angles: Floats, /) -> float:
        return abs(complex(target - blocks.size @ np.exp(1j * angles)) / scale) ** 2

    def slope(angles: Floats, /) -> Floats:
        left = complex(target - blocks.size @ np.exp(1j * angles)) / scale
        gradient: Floats = -2 * (left.conjugate() * 1j * blocks.size / scale * np.exp(1j * angles)).real
        return gradient

    bounds = list(zip(blocks.centre - blocks.slack, blocks.centre + blocks.slack, strict=True))
    best = np.inf
    for _ in range(starts):
        start = blocks.centre + blocks.slack * rng.uniform(-1, 1, len(blocks))
        done = minimize(square, start, jac=slope, bounds=bounds, method="L-BFGS-B", options={"ftol": 1e-18})
        best = min(best, square(done.x))
    return scale * math.sqrt(best)


@pytest.mark.slow
@pytest.mark.parametrize("count", [3, 4])
def test_closed_forms_are_never_worse_than_descent(count: int) -> None:
    """Blocks that can't touch: then the five steps of the proof must hold for the combination itself."""
    everyone = np.arange(count)[None]
    for seed in range(40):
        target, blocks = separate_blocks(seed, count)
        residual, angles = best_directions(target, blocks, everyone)
        assert (np.abs(angles[0] - blocks.centre + math.pi) % TURN - math.pi <= blocks.slack + ROOM_RAD).all()
        reached = abs(target - complex(blocks.size @ np.exp(1j * angles[0])))
        assert residual[0] == pytest.approx(reached, abs=1e-6)
        assert residual[0] <= least_by_descent(target, blocks, 4, seed) + 1e-3
        if seed % 2:
            assert residual[0] < 1e-4


@pytest.mark.parametrize("count", [1, 2, 3])
def test_closed_forms_are_never_worse_than_a_grid(count: int) -> None:
    """Every direction of every block on a grid; no descent that could be caught in a hollow."""
    points = {1: 2000, 2: 300, 3: 45}[count]
    for seed in range(1000, 1040):
        target, blocks = separate_blocks(seed, count)
        residual, _ = best_directions(target, blocks, np.arange(count)[None])
        total = np.zeros(1, dtype=complex)
        for k in range(count):
            grid = blocks.centre[k] + blocks.slack[k] * np.linspace(-1, 1, points)
            total = (total[:, None] + blocks.size[k] * np.exp(1j * grid)).ravel()
        assert residual[0] <= np.abs(target - total).min() + 1e-6


def test_many_tuples_at_once_are_the_same_as_one_at_a_time() -> None:
    target, blocks = separate_blocks(7, 4)
    picks = np.array(list(combinations(range(4), 3)))
    together, _ = best_directions(target, blocks, picks)
    alone = [best_directions(target, blocks, row[None])[0][0] for row in picks]
    assert together == pytest.approx(alone, abs=1e-9)


def test_an_end_without_a_solution_does_not_hide_the_other() -> None:
    """Once a bug: of four blocks one is bound; at one end the circles miss (nan), at the other they meet."""
    for seed in range(2001, 2400, 2):
        target, blocks = separate_blocks(seed, 4)
        assert best_directions(target, blocks, np.arange(4)[None])[0][0] < 1e-4


def test_equal_opposed_runs_may_cancel() -> None:
    """Two equal blocks opposed leave the third alone: the pair may turn as it likes."""
    blocks = blocks_of(np.array([1000.0, 800, 800]), np.array([0.0, 1.6, 4.7]), np.array([0.2, 0.3, 0.3]), 0.01)
    residual, _ = best_directions(1000 + 0j, blocks, np.arange(3)[None])
    assert residual[0] < 1e-6


def test_overlapping_runs_have_no_place() -> None:
    """Two blocks in one interval that is too short for both."""
    blocks = blocks_of(np.array([1000.0, 1000.0]), np.zeros(2), np.full(2, 0.05), 0.2)
    residual, _ = best_directions(2000 + 0j, blocks, np.arange(2)[None])
    assert residual[0] == np.inf


@given(st.integers(0, 10_000), st.integers(1, 4))
def test_the_bound_is_a_bound(seed: int, count: int) -> None:
    """Rule a: the discs hold the arcs, so no placement comes nearer to the target."""
    target, blocks = separate_blocks(seed, count)
    rng = np.random.default_rng(seed)
    bound = abs(target - blocks.disc_centre.sum()) - blocks.disc_radius.sum()
    for _ in range(20):
        angles = blocks.centre + blocks.slack * rng.uniform(-1, 1, count)
        assert abs(target - complex(blocks.size @ np.exp(1j * angles))) >= bound - 1e-6


@given(st.floats(0, math.pi))
def test_a_disc_holds_its_arc_and_is_no_larger(slack: float) -> None:
    blocks = blocks_of(np.array([1000.0]), np.array([0.7]), np.array([slack]), 0.0)
    arc = 1000 * np.exp(1j * (0.7 + slack * np.linspace(-1, 1, 101)))
    off = np.abs(arc - blocks.disc_centre[0])
    assert off.max() <= blocks.disc_radius[0] + 1e-9
    widest = np.abs(arc[:, None] - arc).max()
    assert blocks.disc_radius[0] <= widest / math.sqrt(3) + 1e-6  # Jung's theorem: no set needs a larger circle
