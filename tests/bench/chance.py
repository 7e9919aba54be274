"""The chance to pass beside plain Monte Carlo, and the time of the joint choice of two clip-ons."""

from __future__ import annotations

import math

import numpy as np

from rimpoise_service.physics.readings import unbalance_of
from rimpoise_service.planning.arrangements import arrangements
from rimpoise_service.planning.context import PlanContext, prepare
from rimpoise_service.planning.error_model import judged_residual, layout_probability
from rimpoise_service.planning.layout_search import PLAN_WORK
from rimpoise_service.planning.layout_solver import solve
from rimpoise_service.planning.places import find_places
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.search.branch_and_bound import WorkBudget

from .search import TWO_CLIPS
from .timing import cpu_ms, table

DRAWS = 1_000_000
LAYOUT = make_plan(TWO_CLIPS).layouts[0]
WHEEL = unbalance_of(TWO_CLIPS.reading)


def context() -> PlanContext:
    """The two-clip wheel, made ready."""
    ready = prepare(TWO_CLIPS, find_places)
    assert isinstance(ready, PlanContext)
    return ready


def monte_carlo(draws: int) -> float:
    """The chance [%] by drawing every piece's angle, place and mass and both readings' errors: no linearising."""
    ready, rng = context(), np.random.default_rng(7)
    spread, judged = ready.spread, judged_residual(ready, ready.evaluator, 1)
    static, moment = np.full(draws, WHEEL.static), np.full(draws, WHEEL.moment)
    for p in LAYOUT.pieces:
        turned = np.exp(1j * np.radians(p.angle_deg + rng.normal(0, spread.angle_sd_deg, draws)))
        vector = p.effective_gmm * (1 + rng.normal(0, spread.mass_sd_pct / 100, draws)) * turned
        static = static + vector
        moment = moment + vector * (p.position_mm + rng.normal(0, spread.clip_position_sd_mm, draws))
    inner, outer = sorted(ready.evaluator.planes, key=lambda plane: plane.position_mm)
    span = inner.position_mm - outer.position_mm
    in_inner = (moment - static * outer.position_mm) / span
    shown = np.stack([in_inner, static - in_inner], axis=1).astype(np.complex128)
    for k, plane in enumerate((inner, outer)):
        sd = (spread.machine_sd_g or 0.0) * math.sqrt(1 + 1 / ready.spins) * plane.radius_mm
        shown[:, k] += sd * (rng.normal(size=draws) + 1j * rng.normal(size=draws))
    return 100 * float((judged.ratios(shown) <= 1).all(axis=1).mean())


def ours() -> float:
    """The same, reported."""
    ready = context()
    return 100 * layout_probability(ready, ready.evaluator, LAYOUT.required, LAYOUT.pieces)


def our_joint() -> float:
    """The least effort of a clip-on on each flange [min]."""
    ready = context()
    both = next(a for a in arrangements(ready.seen.places, static=False)[0] if a.way == "two_planes")
    layout = solve(ready, both, WorkBudget(PLAN_WORK))
    assert layout is not None
    return layout.effort_min


def report() -> None:
    """Print both tables, and that both sides found the same."""
    print(f"chance: ours {ours():.2f} %, {DRAWS} draws {monte_carlo(DRAWS):.2f} %")
    rows = {
        "ours": cpu_ms(ours),
        "Monte Carlo, 10,000 draws (± 0.5 points)": cpu_ms(lambda: monte_carlo(10_000)),
        "Monte Carlo, 1,000,000 draws": cpu_ms(lambda: monte_carlo(DRAWS), rounds=2),
    }
    table("the chance to pass", "ours", rows)
    print(f"least effort of two clip-ons: {our_joint():.4f} min")
    table("the joint choice for two clip-ons", "ours", {"ours": cpu_ms(our_joint)})
