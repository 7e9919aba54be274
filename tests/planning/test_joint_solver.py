"""The joint choice against optimisers of another kind that call the same P; its bound against what they find."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
import pytest
from scipy.optimize import minimize

from rimpoise_service.model.arcs import Arc
from rimpoise_service.physics.arrays import Floats
from rimpoise_service.planning.branching import TriedFilling, proven_gap
from rimpoise_service.planning.candidates import PlaceCandidates, Shape
from rimpoise_service.planning.effort import LEAST_PROBABILITY, Effort
from rimpoise_service.planning.joint_model import JudgedResidual
from rimpoise_service.planning.joint_solver import JointSolver
from rimpoise_service.planning.nodes import Level
from rimpoise_service.planning.pass_probability import FINE
from rimpoise_service.planning.shape_candidates import ShapeCandidates
from rimpoise_service.search.branch_and_bound import WorkBudget
from tests.planning.invented_places import RADIUS_MM, clip_place, judged, random_problem
from tests.planning.rules_of_fillings import is_legal, weights_of

WORK = 3_000_000
HOPELESS = 1e9


@cache
def solved(seed: int, most: int) -> JointSolver:
    """A random problem and its solution."""
    residual, places = random_problem(seed, most)
    return solve(residual, places)


def solve(residual: JudgedResidual, places: list[PlaceCandidates], work: int = WORK) -> JointSolver:
    """Whatever is fitted is requested: no grams too many."""
    asked_g = sum(abs(p.required) / p.circle.radius_mm for p in places)
    solver = JointSolver(residual, places, Effort(), WorkBudget(work), asked_g=asked_g)
    solver.solve()
    return solver


class Rival:
    """Random fillings of one level, the best few turned by scipy's Nelder and Mead."""

    def __init__(self, solver: JointSolver, shapes: tuple[Shape, ...]) -> None:
        self.solver, self.shapes = solver, shapes
        self.level = Level(solver.judged, solver.places, shapes)
        self.candidates = [ShapeCandidates(p, s) for p, s in zip(solver.places, shapes, strict=True)]
        self.found = [c.within(math.inf)[0] for c in self.candidates]

    def best(self, rng: random.Random, tries: int, polished: int) -> float:
        """The least effort that it finds [min]."""
        if not all(len(found) for found in self.found):
            return HOPELESS
        drawn = [d for d in (self._draw(rng) for _ in range(tries)) if self.legal(d[0], d[1])]
        drawn.sort(key=lambda d: self.effort(d[0], d[1]))
        return min((self.turned(*d) for d in drawn[:polished]), default=HOPELESS)

    def _draw(self, rng: random.Random) -> tuple[list[int], Floats, Floats, Floats]:
        """Blocks, directions, and the ends of their stretches; most draws are near the exact correction."""
        blocks: list[int] = []
        ends: list[tuple[float, float]] = []
        for place, found in zip(self.solver.places, self.found, strict=True):
            off = place.distance(found) * np.array([rng.expovariate(1.0) for _ in range(len(found))])
            row = int(off.argmin()) if rng.random() < 0.8 else rng.randrange(len(found))
            blocks += found.block[row].tolist()
            low, high = found.low[row] + place.towards, found.high[row] + place.towards
            ends += zip(low.tolist(), high.tolist(), strict=True)
        low, high = np.array(ends).T
        angle = np.array([rng.uniform(a, b) for a, b in ends])
        return blocks, angle, low, high

    def legal(self, blocks: list[int], angle: Floats) -> bool:
        for p, (place, candidates) in enumerate(zip(self.solver.places, self.candidates, strict=True)):
            at = [k for k, q in enumerate(self.level.place_of) if q == p]
            units = [candidates.set.units(blocks[k], float(angle[k])) for k in at]
            if not is_legal(place, weights_of(units)) or sum(map(len, units)) > place.circle.max_pieces:
                return False
        return True

    def effort(self, blocks: list[int], angle: Floats) -> float:
        """The objective in full: handling by pieces and spots, P by the same lines, excess by mass.

        Beyond all bounds where nothing passes once in a hundred times: no layout is made of that.
        """
        p = float(self.level.probability(np.array([blocks]), angle[None], FINE[4])[0])
        handling, mass = 0.0, 0.0
        for k, q in enumerate(self.level.place_of):
            place, all_blocks, per = self.solver.places[q], self.level.blocks[q], self.solver.effort
            pieces = int(all_blocks.pieces[blocks[k]])
            handling += pieces * (per.clip_on_min if place.clip_ons else per.strip_min)
            handling += 0 if place.clip_ons else per.clean_min
            off = abs(math.remainder(float(angle[k]) - place.towards, 2 * math.pi))
            handling += per.mark_min * (off > math.radians(3) + 1e-9)
            mass += float(all_blocks.mass[blocks[k]])
        penalty = self.solver.effort.excess_min_per_g * max(mass - self.solver.asked_g, 0.0)
        return self.solver.effort.expected(handling, p, penalty) if p >= LEAST_PROBABILITY else HOPELESS - p

    def turned(self, blocks: list[int], angle: Floats, low: Floats, high: Floats) -> float:
        def effort(x: Floats) -> float:
            kept = np.clip(x, low, high)
            return self.effort(blocks, kept) if self.legal(blocks, kept) else HOPELESS

        simplex = np.vstack([angle, angle + 0.05 * np.eye(len(angle))])
        found = minimize(effort, angle, method="Nelder-Mead", options={"maxfev": 150, "initial_simplex": simplex})
        return float(found.fun)


def checked(solver: JointSolver) -> TriedFilling:
    """The incumbent, which is legal and whose effort is as it says."""
    best = solver.best
    assert best is not None
    rival = Rival(solver, best.level.shapes)
    assert rival.legal(best.block.tolist(), best.angle)
    again = rival.effort(best.block.tolist(), best.angle)
    at_the_mark = np.isclose(np.abs(best.angle - _towards(best)) % (2 * math.pi), math.radians(3), atol=1e-6).any()
    assert at_the_mark or best.effort == pytest.approx(again, abs=1e-6)
    return best


def _towards(best: TriedFilling) -> Floats:
    return np.array([best.level.places[p].towards for p in best.level.place_of])


@pytest.mark.parametrize("seed", [*range(8), *(pytest.param(n, marks=pytest.mark.slow) for n in range(8, 16))])
def test_one_piece_a_place_is_within_a_fiftieth_of_a_minute(seed: int) -> None:
    """And the bound is under all that a rival finds."""
    solver, rng = solved(seed, 1), random.Random(seed)
    found = Rival(solver, (Shape(1), Shape(1))).best(rng, 150, 4)
    if solver.best is None:
        assert found >= HOPELESS - 1
        return
    best = checked(solver)
    assert solver.least_possible <= min(found, best.effort) + 1e-6
    assert best.effort <= found + proven_gap(best.effort)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_two_a_place_at_every_level(seed: int) -> None:
    """The bound is under all that a rival finds at any level, and where it is close nothing is better."""
    solver, rng = solved(seed, 2), random.Random(seed)
    found = min(Rival(solver, level).best(rng, 60, 2) for level in product(*(p.shapes for p in solver.places)))
    if solver.best is None:
        assert found >= HOPELESS - 1
        return
    best = checked(solver)
    assert solver.least_possible <= min(found, best.effort) + 1e-6
    proven = best.effort - solver.least_possible <= proven_gap(best.effort)
    assert best.effort <= found + (proven_gap(best.effort) if proven else 0.05)


def test_most_are_proven() -> None:
    """Of those that have a solution, within the budget of one plan."""
    gaps = [(s.best.effort - s.least_possible, s.best.effort) for s in (solved(k, 2) for k in range(12)) if s.best]
    assert len(gaps) >= 8
    assert sum(gap <= proven_gap(effort) for gap, effort in gaps) >= 0.75 * len(gaps)


@pytest.mark.parametrize("seed", range(10))
def test_turning_the_pieces_of_an_answer_gains_nothing(seed: int) -> None:
    """Alone or together: less than a fiftieth of a minute."""
    solver = solved(seed, 2)
    if solver.best is not None:
        best = checked(solver)
        rival = Rival(solver, best.level.shapes)
        assert rival.turned(best.block.tolist(), best.angle, best.low, best.high) > best.effort - 0.02


@pytest.mark.parametrize("seed", [17, 24, 31])
def test_turning_two_of_one_place_gains_nothing(seed: int) -> None:
    """Less than a tenth of a second, where each may come in the way of the other."""
    best = checked(solver := solved(seed, 2))
    assert len(best.angle) > len(solver.places)
    rival = Rival(solver, best.level.shapes)
    assert rival.turned(best.block.tolist(), best.angle, best.low, best.high) > best.effort - 0.001


def test_masses_make_up_for_each_other() -> None:
    """37 g at 80° and 23 g at 255°, steps of 5 g: 35 + 20; the nearest, 35 + 25, add up in the sum."""
    called = [37 * np.exp(1j * math.radians(80)), 23 * np.exp(1j * math.radians(255))]
    fives = [float(m) for m in range(5, 65, 5)]
    places = [clip_place(complex(v), *fives, share=float(k)) for k, v in enumerate(called)]
    best = checked(solve(judged((complex(-called[0]), complex(-called[1]))), places))
    masses = [float(best.level.blocks[p].mass[best.block[p]]) for p in range(2)]
    assert masses == [35, 20]


def test_a_shelf_that_runs_out_is_not_overdrawn() -> None:
    """30 g are called twice, one is on hand: the other place takes 25."""
    called = [30 + 0j, -30 + 0j]
    places = [replace(clip_place(v, 25, 30, share=float(k)), scarce=("C-30",)) for k, v in enumerate(called)]
    residual = judged((-called[0], -called[1]))
    for on_hand, masses in ((2, [30, 30]), (1, [25, 30]), (0, [25, 25])):
        solver = JointSolver(
            residual, places, Effort(), WorkBudget(WORK), asked_g=60, on_hand=np.array([on_hand], dtype=np.intp)
        )
        solver.solve()
        assert solver.best is not None
        taken = [
            float(solver.best.level.blocks[p].mass[b]) for p, b in zip((0, 1), solver.best.block, strict=False)
        ]
        assert sorted(taken[:2]) == masses


def test_ceilings_are_kept() -> None:
    """A plane that is over its limit may not get worse, whatever the effort."""
    residual, places = (
        judged((-30 + 0j, -5.5 + 0j)),
        [clip_place(30 + 0j, 30), clip_place(5.5 + 0j, 30, share=1.0)],
    )
    free, kept = (
        solve(replace(residual, ceilings=ceilings), [places[0]])
        for ceilings in (np.full(3, np.inf), np.array([1000.0, 1.0, np.inf]))
    )
    assert free.best is not None
    assert kept.best is None


def test_a_place_may_leave_as_much_as_its_ceiling_and_no_more() -> None:
    """12 g may stay where 12 were before, whatever would pass; where a third of a limit of 5 may, 1.67."""
    residual = replace(judged((-12 + 0j, 0j)), ceilings=np.array([12.0, 5.0, 12.0]) * RADIUS_MM)
    places = [clip_place(12 + 0j, 5), clip_place(0j, 5, share=1.0)]
    solver = JointSolver(residual, places, Effort(), WorkBudget(1000))
    assert [solver.room_within(p, 1e9) for p in (0, 1)] == pytest.approx([12 * RADIUS_MM, 5 * RADIUS_MM])
    assert [solver.room_within(p, 1 / 3) for p in (0, 1)] == pytest.approx([5 / 3 * RADIUS_MM] * 2)
    assert [solver._room(p, 1e-300) for p in (0, 1)] == pytest.approx([12 * RADIUS_MM, 5 * RADIUS_MM])


def test_wide_of_the_mark_nothing_is_found() -> None:
    """5 g where 40 are called: no filling passes once in a hundred times."""
    solver = solve(judged((-40 + 0j, 0j)), [clip_place(40 + 0j, 5)])
    assert solver.best is None
    assert solver.least_possible > solver.effort.expected(0.5, 0.02, 0)


def test_the_couple_bounds_what_one_plane_can_do() -> None:
    """30 g in the other plane stay whatever is fitted here: P is nearly 0 before anything is searched."""
    one = JointSolver(judged((-30 + 0j, -30 + 0j)), [clip_place(30 + 0j, 30)], Effort(), WorkBudget(WORK))
    assert one.most < 1e-4
    two = JointSolver(judged((-30 + 0j, -2 + 0j)), [clip_place(30 + 0j, 30)], Effort(), WorkBudget(WORK))
    assert two.most > 0.5


def test_without_work_nothing_is_proven() -> None:
    residual, places = random_problem(3)
    little = solve(residual, places, work=1)
    assert little.best is None or little.best.effort - little.least_possible > proven_gap(little.best.effort)


def test_what_it_costs_whatever_is_fitted_is_added() -> None:
    residual = judged((-30 + 0j, 0j))
    plain = solve(residual, [clip_place(30 + 0j, 30)])
    dear = JointSolver(residual, plain.places, Effort(), WorkBudget(WORK), penalty=5.0, asked_g=30)
    dear.solve()
    assert plain.best is not None
    assert dear.best is not None
    assert dear.best.effort == pytest.approx(plain.best.effort + 5, abs=1e-6)


def test_a_keep_out_at_the_called_spot_is_straddled() -> None:
    """Judged case: 30 g where the valve is ±8°: 15 g on each side, not one moved clear of it."""
    place = clip_place(30 + 0j, 10, 15, 20, 25, 30, keep_out=(Arc(352, 16),))
    best = checked(solve(judged((-30 + 0j, 0j)), [place]))
    assert best.level.blocks[0].mass[best.block].tolist() == [15, 15]
    assert np.degrees(best.angle) == pytest.approx([-14, 14], abs=4)
