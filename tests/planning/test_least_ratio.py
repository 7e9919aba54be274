"""What leaves least where nothing passes: "nothing helps" is never said where brute force finds what does."""

from __future__ import annotations

import math
import random
from itertools import product

import numpy as np
import pytest

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import BUILTIN
from rimpoise_service.model.wheel import Land, Wheel
from rimpoise_service.physics.arrays import Complexes
from rimpoise_service.physics.readings import Static
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.candidates import PlaceCandidates, Shape
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.joint_model import JudgedResidual
from rimpoise_service.planning.joint_solver import JointSolver
from rimpoise_service.planning.least_ratio import CLOSE, LeastRatio, least_ratio
from rimpoise_service.planning.models import PlanRequest, Preferences
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.search.branch_and_bound import WorkBudget
from tests.planning.invented_places import clip_place, judged, strip_place
from tests.planning.rules_of_fillings import is_legal, weights_of

STEP_DEG = 1.0
GRID = np.radians(np.arange(0, 360, STEP_DEG))


def found_by(residual: JudgedResidual, places: list[PlaceCandidates], work: int = 200_000) -> LeastRatio | None:
    """Ours."""
    solver = JointSolver(residual, places, Effort(), WorkBudget(work))
    return least_ratio(solver)


def vectors_at(place: PlaceCandidates) -> Complexes:
    """What one or two weights may do at a place: every legal filling with its directions on a grid."""
    singles = place.block_set(Shape(1))
    each = product(range(len(singles.blocks)), GRID.tolist())
    found = [
        complex(singles.blocks.size[block] * np.exp(1j * angle))
        for block, angle in each
        if is_legal(place, weights_of([singles.units(block, angle)]))
    ]
    if place.circle.max_pieces > 1:
        rng = random.Random(3)
        for _ in range(4000):
            block, other = (rng.randrange(len(singles.blocks)) for _ in range(2))
            near = rng.uniform(-0.8, 0.8) + place.towards
            angles = [near, near + rng.uniform(-0.9, 0.9)]
            units = [singles.units(b, a) for b, a in zip((block, other), angles, strict=True)]
            if is_legal(place, weights_of(units)):
                found.append(sum(u.vector for of_block in units for u in of_block))
    return np.array(found, dtype=np.complex128)


def least_by_brute_force(residual: JudgedResidual, places: list[PlaceCandidates]) -> float:
    """The least of the largest shares that any of these leave and that keep the ceilings."""
    some = [vectors_at(p) for p in places]
    if not all(len(v) for v in some):
        return math.inf
    rng = np.random.default_rng(1)
    some = [v if len(v) < 1500 else v[rng.permutation(len(v))[:1500]] for v in some]
    gains = [p.errors.gain for p in places]
    left = residual.before + sum(
        (v.reshape([-1 if i == k else 1 for k in range(len(some))])[..., None] * g)
        for i, (v, g) in enumerate(zip(some, gains, strict=True))
    )
    allowed = residual.admits(left)
    return float(np.where(allowed, residual.ratios(left).max(axis=-1), math.inf).min())


def random_coarse(seed: int) -> tuple[JudgedResidual, list[PlaceCandidates]]:
    """A shelf of one or two heavy masses, or spokes far from what is called."""
    rng = random.Random(seed)
    two = rng.random() < 0.6
    called = [rng.uniform(4, 40) * np.exp(2j * math.pi * rng.random()) for _ in range(2)]
    before = (complex(-called[0]), complex(-called[1]) * (1 if two or rng.random() < 0.5 else 0))
    places = []
    for k in range(2 if two else 1):
        v = complex(called[k])
        if rng.random() < 0.6:
            masses = rng.sample([15, 20, 30, 40, 50, 60], rng.randint(1, 2))
            out = (Arc(rng.uniform(0, 360), rng.uniform(20, 120)),) * rng.randint(0, 1)
            places.append(clip_place(v, *masses, keep_out=out, most=rng.choice([1, 2]), share=float(k)))
        else:
            arcs = tuple(Arc(rng.uniform(0, 360), rng.uniform(8, 20), str(i)) for i in range(1))
            places.append(strip_place(v, arcs, most=1, share=float(k)))
    residual = judged(before)
    over = np.maximum(residual.limits, np.abs(residual.before @ residual.judged.T) + 10)
    return JudgedResidual(residual.before, residual.limits, over, residual.machine), places


@pytest.mark.slow
@pytest.mark.parametrize("seeds", [range(k, k + 15) for k in range(0, 60, 15)])
def test_never_a_false_nothing_helps(seeds: range) -> None:
    """Where brute force leaves less, so do we; and what we find is what it says."""
    helped = 0
    for residual, places in map(random_coarse, seeds):
        before = float(residual.ratios(residual.before).max())
        least, found = least_by_brute_force(residual, places), found_by(residual, places)
        if found is None:
            assert least >= before * (1 - 1e-9)
            continue
        helped += 1
        is_what_it_says(residual, places, found)
        assert found.ratio < before
        assert found.ratio <= least * 1.25 + CLOSE * before
    assert 3 <= helped < len(seeds)


def is_what_it_says(residual: JudgedResidual, places: list[PlaceCandidates], found: LeastRatio) -> None:
    """Legal weights, that leave the share that is said, and keep the ceilings."""
    left = residual.before.copy()
    for p, place in enumerate(places):
        at = [k for k, q in enumerate(found.level.place_of) if q == p]
        block_set = place.block_set(found.level.shapes[p])
        units = [block_set.units(int(found.block[k]), float(found.angle[k])) for k in at]
        assert is_legal(place, weights_of(units))
        left += sum(u.vector for of_block in units for u in of_block) * place.errors.gain
    assert float(residual.ratios(left).max()) == pytest.approx(found.ratio)
    assert residual.admits(left)


@pytest.mark.parametrize(("called_g", "helps"), [(29.0, False), (32.0, True), (120.0, True)])
def test_a_weight_twice_as_heavy_as_what_is_called_does_not_help(called_g: float, helps: bool) -> None:
    """60 g for 29 leave 31; for 32 they leave 28."""
    residual = judged((-called_g + 0j, 0j), limit_g=1.0)
    assert (found_by(residual, [clip_place(called_g + 0j, 60, most=1)]) is not None) is helps


def test_one_light_weight_that_halves_the_fault_helps() -> None:
    found = found_by(judged((-14 + 0j, 0j)), [clip_place(14 + 0j, 7, most=1)])
    assert found is not None
    assert found.ratio == pytest.approx(7 / 5, rel=1e-3)


def test_a_little_less_is_less() -> None:
    """100 g called and one weight of 1 g: 99 g stay, so it helps."""
    assert found_by(judged((-100 + 0j, 0j)), [clip_place(100 + 0j, 1, most=1)]) is not None


def test_without_work_there_is_no_answer() -> None:
    residual, places = random_coarse(1)
    assert found_by(residual, places, work=0) is None


def test_ceilings_are_kept() -> None:
    """What would leave less at large but brings another quantity over its ceiling is not taken."""
    free = judged((-40 + 0j, 0j))
    place = clip_place(40 + 0j, 30, share=0.3, most=1)
    assert found_by(free, [place]) is not None
    kept = JudgedResidual(free.before, free.limits, np.array([9000.0, 1000.0, 9000.0]), free.machine)
    assert found_by(kept, [place]) is None


def test_all_shapes_are_looked_at() -> None:
    """Two that straddle a valve leave less than one beside it."""
    place = clip_place(60 + 0j, 25, keep_out=(Arc(340, 40),))
    found = found_by(judged((-60 + 0j, 0j)), [place])
    assert found is not None
    assert found.level.shapes in tuple(product([Shape(2)]))


def test_what_leaves_exactly_nothing_is_weighed_too() -> None:
    """Once a fault: its shares of the limits are 0, and their mean was 0 over 0."""
    wheel = Wheel(
        "steel", "factory", "car", "7Jx17 ET45", lands=(Land("land", "inboard", 0.0, 170.0, 40.0, False, False),)
    )
    called = Static(PointMass(0.0, 170.0, 57.0, 0.0), old_weights=(PointMass(0.0, 183.0, 90.0, 0.0),))
    wishes = Preferences(styles=("adhesive",), max_pieces_per_plane=3)
    plan = make_plan(PlanRequest(called, wheel, BUILTIN["metric"], wishes))
    assert plan.layouts
