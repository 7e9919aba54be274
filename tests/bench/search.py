"""A split behind spokes and a plan of six layouts, beside what a user would write."""

from __future__ import annotations

import math
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, hstack

from rimpoise_service.model.stock import BUILTIN, Strip
from rimpoise_service.model.wheel import Flange, Land, Wheel, even_spokes
from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.physics.readings import TwoPlane, reading_planes
from rimpoise_service.physics.unbalance import PointMass, polar
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.models import PlanRequest
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.planning.strip_split import SplitRequest, split
from rimpoise_service.planning.tolerance_check import ToleranceEvaluator

from .timing import cpu_ms, table

STRIP = Strip("BAR-5", "steel", 5.0, 16.0, 19.0, 3.6, 12)
GRIDS_DEG, MILP_GRID_DEG, SIDES = (1.0, 0.25), 4.0, 16
SPLIT = SplitRequest(
    PlaneVector(Plane("called", 0.0, 200.0), polar(40 * 200, 17)),
    200.0,
    even_spokes(5, 0, 40),
    STRIP,
    within_g=0.0,  # the least that can be left, as brute force and milp look for it
)
WHEEL = Wheel(
    "alloy",
    "aftermarket",
    "car",
    rim_size="7Jx17 ET45",
    inboard=Flange(True, thickness_mm=3.2),
    outboard=Flange(True, thickness_mm=3.2),
    lands=(
        Land("inner land", "inboard", -110, 200, 30, False, False),
        Land("spoke land", "outboard", -25, 190, 40, True, True),
    ),
    spokes=even_spokes(5, 0, 36),
)
JOB = PlanRequest(
    TwoPlane((PointMass(-133.9, 218.3, 22, 40), PointMass(43.9, 218.3, 17, 150))), WHEEL, BUILTIN["metric"]
)
TWO_CLIPS = PlanRequest(
    JOB.reading, Wheel("alloy", "aftermarket", "car", "7Jx17 ET45", None, *(WHEEL.inboard,) * 2), JOB.stock
)


def strips_on_grid(step_deg: float) -> NDArray[np.complex128]:
    """Every strip behind every spoke at every grid angle, as vectors [g·mm]."""
    found = []
    for spoke in SPLIT.spokes:
        segment = math.degrees(STRIP.segment_length_mm / SPLIT.land_radius_mm)
        for n in range(1, 1 + int(spoke.width_deg / segment)):
            half = n * segment / 2
            size = n * STRIP.segment_mass_g * (SPLIT.land_radius_mm - STRIP.thickness_mm / 2)
            size *= math.sin(math.radians(half)) / math.radians(half)
            slack = spoke.width_deg / 2 - half
            angles = spoke.centre_deg + np.arange(-slack, slack + 1e-9, step_deg)
            found.append(size * np.exp(1j * np.radians(angles)))
    return np.concatenate(found)


def brute_force(step_deg: float) -> float:
    """The least residual of two strips on the grid [g·mm]: the ten lines one writes first."""
    strips = strips_on_grid(step_deg)
    left = SPLIT.target.vector - strips
    return min(float(np.abs(x - strips).min()) for x in left)


def by_milp() -> float:
    """The same by mixed-integer programming: at most two grid strips, the norm a polygon of so many sides."""
    strips = strips_on_grid(MILP_GRID_DEG)
    normals = np.exp(-1j * 2 * np.pi * np.arange(SIDES) / SIDES)[:, None]
    sides = csr_array(-(normals * strips).real)
    minus_bound = csr_array(-np.ones((SIDES, 1)))
    norm = LinearConstraint(hstack([sides, minus_bound]), -np.inf, -(normals[:, 0] * SPLIT.target.vector).real)
    count = LinearConstraint(np.append(np.ones(len(strips)), 0)[None, :], 0, 2)
    whole: Any = np.append(np.ones(len(strips)), 0)
    cost = np.append(np.zeros(len(strips)), 1)
    upper = np.append(np.ones(len(strips)), np.inf)
    solved: Any = milp(cost, constraints=[norm, count], integrality=whole, bounds=Bounds(0, upper))
    chosen = strips[np.round(solved.x[:-1]).astype(bool)].sum()
    return float(abs(SPLIT.target.vector - chosen))


def report() -> None:
    """Print both tables, and that all found the same."""
    ours = split(SPLIT)
    print(f"left of 40 g [g·mm]: ours {ours.residual.unbalance_gmm:.3f}, proven {ours.proven_optimal}")
    for grid in GRIDS_DEG:
        print(f"  brute force on {grid}°: {brute_force(grid):.3f}")
    print(
        f"  milp on {MILP_GRID_DEG}°: {by_milp():.3f}; brute force on the same: {brute_force(MILP_GRID_DEG):.3f}"
    )
    rows = {
        "ours": cpu_ms(lambda: split(SPLIT)),
        **{f"numpy brute force, {grid}°": cpu_ms(partial(brute_force, grid)) for grid in GRIDS_DEG},
        f"scipy milp, {MILP_GRID_DEG}°, {SIDES} sides": cpu_ms(by_milp, at_least_s=2, rounds=2),
    }
    table("a split of 40 g behind five spokes", "ours", rows)
    plan = make_plan(JOB)
    evaluator = ToleranceEvaluator.at(reading_planes(JOB.reading), Acceptance(), static_only=False)
    print(f"plan: {plan.decision}, {len(plan.layouts)} layouts, judged at {[p.name for p in evaluator.planes]}")
    gaps = [layout.effort_min - layout.least_possible_min for layout in plan.layouts]
    print(f"gaps of effort [min]: mean {sum(gaps) / len(gaps):.3f}, worst {max(gaps):.3f}; work {plan.work}")
    rows = {
        "plan of six layouts, all of it": cpu_ms(lambda: make_plan(JOB)),
        "plan of a two-clip wheel": cpu_ms(lambda: make_plan(TWO_CLIPS)),
        "one split": rows["ours"],
    }
    table("a plan", "one split", rows)
