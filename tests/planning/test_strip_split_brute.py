"""Splitting against truth from outside: brute force, local refinement, and mixed-integer programming.

Two halves make "the best". Never worse: no combination found in another way leaves less. Never better: what is
said to be left is what the pieces leave, added up from scratch, and the pieces break no rule.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import Strip
from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.physics.unbalance import polar
from rimpoise_service.planning.strip_split import SplitRequest, split
from tests.factories.strategies import random_job, split_jobs
from tests.search.brute_force import best_combinations, brute_force, faults, polished, pull_gmm

WORSE_GMM = 1e-6
"""As much as floating point may make an exact answer worse [g·mm]."""


def gap_gmm(split_request: SplitRequest) -> float:
    """How much more brute force leaves than our answer [g·mm], after checking that it is one."""
    answer = split(split_request)
    assert faults(split_request, answer) == []
    assert answer.proven_optimal
    grid, kept = brute_force(split_request)
    best = min([grid, *(polished(split_request, chosen) for chosen in kept)])
    assert answer.residual.unbalance_gmm <= best + WORSE_GMM * (1 + best)
    return best - answer.residual.unbalance_gmm


@pytest.mark.slow
@pytest.mark.parametrize(
    ("seeds", "windows", "segments", "pieces"),
    [
        (range(20), 15, 8, 1),
        (range(100, 180), 15, 8, 2),
        (range(200, 240), 3, 3, 2),
        (range(300, 345), 6, 4, 3),
        (range(400, 440), 4, 3, 4),
    ],
)
def test_random_wheels(seeds: range, windows: int, segments: int, pieces: int) -> None:
    """Hundreds of wheels. Nearly always brute force, once refined, ends at the very same residual."""
    gaps = [gap_gmm(random_job(seed, windows, segments, pieces)) for seed in seeds]
    assert sum(gap < 1e-3 for gap in gaps) >= 0.9 * len(gaps)


@pytest.mark.slow
@given(split_jobs(15, 8, (1, 2)))
@settings(max_examples=60)
def test_edges_with_one_or_two_pieces(split_request: SplitRequest) -> None:
    """Windows that touch, point keep-outs, the endless land, nothing on hand, no target, few segments a piece."""
    gap_gmm(split_request)


@pytest.mark.slow
@given(split_jobs(4, 3, (3, 4)))
@settings(max_examples=50)
def test_edges_with_three_or_four_pieces(split_request: SplitRequest) -> None:
    gap_gmm(split_request)


@given(split_jobs(8, 8, (1, 2, 3, 4)))
def test_no_rule_is_broken(split_request: SplitRequest) -> None:
    answer = split(split_request)
    assert faults(split_request, answer) == []
    assert answer.residual.unbalance_gmm <= abs(split_request.target.vector) + 1e-9


MASS_SHARE = 0.2
"""Grams left over that are worth a gram of strip."""


def order_faults(requested: SplitRequest) -> list[str]:
    """What is wrong with an answer's place in the order: within, then fewest pieces, then the least cost."""
    answer, at_mm = split(requested), requested.target.plane.radius_mm
    within = requested.within_g * at_mm
    found = [] if answer.proven_optimal else ["not proven"]
    if answer.residual.unbalance_gmm > within + WORSE_GMM:  # then nothing is: gap_gmm knows the rest
        _, kept = brute_force(requested, keep=6)
        return found + [f"{c} is within" for c in kept if polished(requested, c) < within - WORSE_GMM]
    pieces = len(answer.pieces)
    if pieces and abs(requested.target.vector) < within - WORSE_GMM:
        found.append("nothing is enough")
    for fewer in range(1, pieces):
        others = best_combinations(requested, fewer, 6)
        found += [f"{c} are fewer" for c in others if polished(requested, c) < within - WORSE_GMM]
    ours = answer.residual.unbalance_gmm + MASS_SHARE * at_mm * sum(p.mass_g for p in answer.pieces)
    for chosen in best_combinations(requested, pieces, 12, MASS_SHARE * at_mm) if pieces else []:
        left = polished(requested, chosen)
        mass = requested.strip.segment_mass_g * sum(spot.segments for spot in chosen)
        if left < within - WORSE_GMM and left + MASS_SHARE * at_mm * mass < ours - WORSE_GMM * (1 + ours):
            found.append(f"{chosen} costs less")
    return found


@pytest.mark.slow
@pytest.mark.parametrize("within_g", [0.5, 2.0, 6.0])
@pytest.mark.parametrize(
    ("seeds", "windows", "segments", "pieces"),
    [(range(15), 15, 8, 1), (range(100, 125), 15, 8, 2), (range(300, 310), 6, 4, 3), (range(400, 410), 4, 3, 4)],
)
def test_the_order_within(seeds: range, windows: int, segments: int, pieces: int, within_g: float) -> None:
    """No fewer pieces are within, and none of as many leave and weigh less together."""
    for seed in seeds:
        requested = random_job(seed, windows, segments, pieces, within_g)
        assert faults(requested, split(requested)) == []
        assert order_faults(requested) == []


@given(split_jobs(8, 6, (1, 2), st.sampled_from([0.0, 0.3, 2.0, 10.0])))
@settings(max_examples=60)
def test_the_order_at_the_edges(requested: SplitRequest) -> None:
    assert faults(requested, split(requested)) == []
    assert order_faults(requested) == []


GRID_DEG = 2
SIDES = 48
SEEDS = [0, 1, 2, 3, 4, 5, 6, 10, 11, 12, 13]
"""Left out are those for which the solver takes more than seconds."""


def grid_job(seed: int) -> SplitRequest:
    """A wheel on a grid of 2°, segments of 4°, so that touching pieces are on the grid too."""
    rng = np.random.default_rng(seed)
    radius = 200.0
    segment_mm = math.radians(4) * radius
    ends = np.sort(rng.choice(np.arange(0, 360, GRID_DEG), 8, replace=False))
    spokes = tuple(Arc(float(a), float(b - a), str(a)) for a, b in zip(ends[::2], ends[1::2], strict=True))
    strip = Strip("s", "steel", 5.0, segment_mm, 19.0, 4.0, 3, on_hand=int(rng.integers(4, 13)))
    target = polar(rng.uniform(10, 50) * radius, rng.uniform(0, 360))
    return SplitRequest(
        PlaneVector(Plane("p", 0, radius), target), radius, spokes, strip, int(rng.integers(2, 5)), within_g=0.0
    )


def milp_residual(split_request: SplitRequest) -> float:
    """The best of the grid's pieces [g·mm], by the mixed-integer solver: a polygon stands for the circle."""
    pieces: list[tuple[int, complex, NDArray[np.float64]]] = []
    for spoke in split_request.spokes:
        for segments in range(1, split_request.strip.max_segments + 1):
            width = 4 * segments
            for start in range(0, int(spoke.width_deg) - width + 1, GRID_DEG):
                covers = np.zeros(360 // GRID_DEG)
                first = int(spoke.start_deg + start) // GRID_DEG
                covers[np.arange(first, first + width // GRID_DEG) % len(covers)] = 1
                middle = spoke.start_deg + start + width / 2
                vector = polar(pull_gmm(split_request.strip, split_request.land_radius_mm, segments), middle)
                pieces.append((segments, vector, covers))
    vectors = np.array([v for _, v, _ in pieces])
    sides = np.exp(-2j * math.pi * np.arange(SIDES) / SIDES)
    # Re((T − Σ x v) e^{−iφ}) ≤ t for every side; the last variable is t, in kilogram-millimetres.
    towards = np.column_stack([-(sides[:, None] * vectors).real / 1000, -np.ones(SIDES)])
    covers_once = np.column_stack([np.array([c for _, _, c in pieces]).T, np.zeros(360 // GRID_DEG)])
    ones = np.append(np.ones(len(pieces)), 0)
    used = np.append([s for s, _, _ in pieces], 0)
    assert split_request.strip.on_hand is not None
    found = milp(
        np.append(np.zeros(len(pieces)), 1),
        constraints=[
            LinearConstraint(towards, -np.inf, -(sides * split_request.target.vector).real / 1000),
            LinearConstraint(covers_once, -np.inf, 1),
            LinearConstraint(ones, -np.inf, split_request.max_pieces),
            LinearConstraint(used, -np.inf, split_request.strip.on_hand),
        ],
        integrality=np.append(np.ones(len(pieces)), 0),
        bounds=Bounds(0, np.append(np.ones(len(pieces)), np.inf)),
        options={"mip_rel_gap": 1e-3},
    )
    assert found.x is not None
    return float(abs(split_request.target.vector - vectors @ np.round(found.x[:-1])))


@pytest.mark.parametrize("seed", SEEDS)
def test_mixed_integer_programming_finds_nothing_better(seed: int) -> None:
    """And its best is near ours: each piece is at the most half a grid step from where it should be."""
    split_request = grid_job(seed)
    answer, theirs = split(split_request), milp_residual(split_request)
    assert faults(split_request, answer) == []
    assert answer.residual.unbalance_gmm <= theirs + WORSE_GMM
    shift = math.radians(GRID_DEG / 2) * sum(
        pull_gmm(split_request.strip, split_request.land_radius_mm, p.segments) for p in answer.pieces
    )
    assert theirs <= (answer.residual.unbalance_gmm + shift) / math.cos(math.pi / SIDES) * 1.001 + 1
