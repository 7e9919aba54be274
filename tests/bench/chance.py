"""The chance to pass beside plain Monte Carlo, and the joint choice beside brute force over the same grid."""

from __future__ import annotations

import numpy as np

from rimpoise_service.model.stock import ClipOn
from rimpoise_service.physics.distributed_mass import arc_factors
from rimpoise_service.physics.readings import reading_planes, unbalance_of
from rimpoise_service.physics.unbalance import Unbalance
from rimpoise_service.planning.acceptance import default_acceptance
from rimpoise_service.planning.arrangements import arrangements
from rimpoise_service.planning.joint_solver import POWER, fill
from rimpoise_service.planning.pass_probability import Spread, pass_chance_pct
from rimpoise_service.planning.places import find_places
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.planning.tolerance_check import ToleranceEvaluator
from rimpoise_service.search.blocks import Complexes
from rimpoise_service.search.branch_and_bound import MAX_WORK, WorkBudget

from .search import TWO_CLIPS
from .timing import cpu_ms, table

DRAWS = 1_000_000
SPREAD = Spread()
JUDGE = ToleranceEvaluator.at(reading_planes(TWO_CLIPS.reading), default_acceptance(None), static_only=False)
WHEEL = unbalance_of(TWO_CLIPS.reading)
PIECES = (make_plan(TWO_CLIPS).layouts[0]).pieces
FITTED = [p.unbalance for p in PIECES]


def monte_carlo(draws: int) -> float:
    """The chance [%] by drawing every piece's angle, place and mass and the machine's error: no linearising."""
    rng = np.random.default_rng(7)
    static, moment = np.full(draws, WHEEL.static), np.full(draws, WHEEL.moment)
    for p in PIECES:
        turned = np.exp(1j * np.radians(p.angle_deg + rng.normal(0, SPREAD.angle_sd_deg, draws)))
        heavier = 1 + rng.normal(0, SPREAD.mass_sd_pct / 100, draws)
        vector = p.effective_gmm * heavier * turned
        static, moment = (
            static + vector,
            moment + vector * (p.position_mm + rng.normal(0, SPREAD.position_sd_mm, draws)),
        )
    for plane in JUDGE.planes:
        error = SPREAD.machine_sd_g * plane.radius_mm * (rng.normal(size=draws) + 1j * rng.normal(size=draws))
        static, moment = static + error, moment + error * plane.position_mm
    return 100 * float((JUDGE.shares(static, moment).max(axis=0) <= 1).mean())


def brute_force_joint() -> float:
    """The least cost of one stock mass at a whole degree on each flange: all of them, plane against plane."""
    places = find_places(TWO_CLIPS.wheel, TWO_CLIPS.stock, TWO_CLIPS.preferences).places
    turns = np.exp(1j * np.radians(np.arange(360)))
    found: list[Complexes] = []
    for place in places:
        clips = [i for i in place.items if isinstance(i, ClipOn)]
        half = np.array([(c.length_mm or 0) / 2 / place.radius_mm for c in clips])
        size = np.array([c.mass_g for c in clips]) * place.radius_mm * arc_factors(half)
        vectors: Complexes = np.outer(size, turns).ravel()
        found.append(vectors)
    least = np.inf
    inner, outer = places
    for block in found[0].reshape(-1, 90):
        static = WHEEL.static + block[:, None] + found[1]
        moment = WHEEL.moment + block[:, None] * inner.position_mm + found[1] * outer.position_mm
        least = min(least, float((JUDGE.shares(static, moment) ** POWER).sum(axis=0).min()))
    return least


def our_joint() -> float:
    """The same by the joint choice."""
    seen = find_places(TWO_CLIPS.wheel, TWO_CLIPS.stock, TWO_CLIPS.preferences)
    both = next(a for a in arrangements(seen.places, static=False)[0] if a.way == "two_planes")
    units = fill(both, WHEEL, JUDGE, WorkBudget(MAX_WORK))[0].units
    left = sum(
        (Unbalance.at(p.position_mm, u.vector) for p, us in zip(both.places, units, strict=True) for u in us),
        WHEEL,
    )
    return float((JUDGE.shares(np.array(left.static), np.array(left.moment)) ** POWER).sum())


def report() -> None:
    """Print both tables, and that both sides found the same."""
    left = sum(FITTED, WHEEL)
    ours, drawn = pass_chance_pct(left, FITTED, JUDGE, SPREAD), monte_carlo(DRAWS)
    print(f"chance: ours {ours:.2f} %, {DRAWS} draws {drawn:.2f} %")
    rows = {
        "ours": cpu_ms(lambda: pass_chance_pct(left, FITTED, JUDGE, SPREAD)),
        "Monte Carlo, 10,000 draws (± 0.5 points)": cpu_ms(lambda: monte_carlo(10_000)),
        "Monte Carlo, 1,000,000 draws": cpu_ms(lambda: monte_carlo(DRAWS), rounds=2),
    }
    table("the chance to pass", "ours", rows)
    print(f"least cost of two clip-ons: ours {our_joint():.6f}, brute force {brute_force_joint():.6f}")
    rows = {
        "ours, with survey and options": cpu_ms(our_joint),
        "numpy brute force over the same grid": cpu_ms(brute_force_joint, rounds=2),
    }
    table("the joint choice for two clip-ons", "ours, with survey and options", rows)
