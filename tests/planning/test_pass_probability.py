"""The pass chance against plain Monte Carlo of the model itself, closed forms, and what can't be otherwise."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import special, stats

from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.unbalance import Unbalance
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.pass_probability import Spread, pass_chance_pct
from rimpoise_service.planning.tolerance_check import ToleranceEvaluator

Complexes = NDArray[np.complex128]
INNER, OUTER = Plane("inboard", -134.0, 220.0), Plane("outboard", 44.0, 218.0)
NARROW = Plane("outboard", -94.0, 205.0)
STATIC = Plane("static", -40.0, 200.0)
USUAL, HANDS = Acceptance(), Spread()


@dataclass(frozen=True)
class Fitted:
    """Pieces as (position [mm], radius [mm], mass [g], angle [deg]) and what is left as planned, as the same."""

    name: str
    planes: tuple[Plane, ...]
    left: tuple[tuple[float, float, float, float], ...]
    pieces: tuple[tuple[float, float, float, float], ...]
    acceptance: Acceptance = USUAL
    spread: Spread = HANDS
    static_only: bool = False

    @property
    def evaluator(self) -> ToleranceEvaluator:
        """Who looks at it."""
        return ToleranceEvaluator.at(self.planes, self.acceptance, static_only=self.static_only)

    @property
    def added(self) -> list[Unbalance]:
        """What each piece adds."""
        return [Unbalance.at(z, cmath.rect(m * r, math.radians(a))) for z, r, m, a in self.pieces]

    @property
    def planned(self) -> Unbalance:
        """What is left on paper."""
        return sum((Unbalance.at(z, cmath.rect(m * r, math.radians(a))) for z, r, m, a in self.left), Unbalance())

    @property
    def chance(self) -> float:
        """Ours [%]."""
        return pass_chance_pct(self.planned, self.added, self.evaluator, self.spread)


CLIPS = ((-134.0, 220.0, 40.0, 12.0), (44.0, 218.0, 30.0, 200.0))
CASES = [
    Fitted("two clips, nothing left", (INNER, OUTER), (), CLIPS),
    Fitted("two clips, 2 g left on one side", (INNER, OUTER), ((-134.0, 220.0, 2.0, 80.0),), CLIPS),
    Fitted("planes in the other order", (OUTER, INNER), ((44.0, 218.0, 3.0, 10.0),), CLIPS),
    Fitted("outside, and yet it may pass", (INNER, OUTER), ((-134.0, 220.0, 5.5, 80.0),), CLIPS),
    Fitted(
        "four strips on lands between the planes",
        (INNER, OUTER),
        ((-100.0, 190.0, 1.5, 300.0), (0.0, 190.0, 1.0, 20.0)),
        tuple((z, 190.0, 25.0, a) for z, a in ((-100.0, 10.0), (-100.0, 50.0), (-5.0, 200.0), (-5.0, 260.0))),
    ),
    Fitted("planes 40 mm apart", (INNER, NARROW), ((-134.0, 220.0, 1.0, 0.0),), ((-110.0, 190.0, 30.0, 45.0),)),
    Fitted("a tight static limit", (INNER, OUTER), ((0.0, 200.0, 1.0, 0.0),), CLIPS, Acceptance(8.0, 2.0)),
    Fitted("a careless hand", (INNER, OUTER), (), CLIPS, spread=Spread(6.0, 6.0, 6.0, 0.5)),
    Fitted("a machine alone", (INNER, OUTER), ((0.0, 200.0, 3.0, 0.0),), (), spread=Spread(0.0, 0.0, 0.0, 2.0)),
    Fitted("no machine", (INNER, OUTER), ((0.0, 200.0, 3.0, 0.0),), CLIPS, spread=Spread(machine_sd_g=0.0)),
    Fitted("statics of two planes", (INNER, OUTER), ((0.0, 200.0, 3.0, 0.0),), CLIPS, static_only=True),
    Fitted("one plane", (STATIC,), ((0.0, 200.0, 2.5, 0.0),), ((-40.0, 210.0, 45.0, 77.0),)),
    Fitted("one plane, unlikely", (STATIC,), ((0.0, 200.0, 7.0, 0.0),), ((-40.0, 210.0, 45.0, 77.0),) * 2),
]
DRAWS = 1_000_000


def read_at(static: Complexes, moment: Complexes, planes: tuple[Plane, ...]) -> list[Complexes]:
    """What the planes show of it [g·mm], by moments about the other plane."""
    if len(planes) == 1:
        return [static]
    a, b = (p.position_mm for p in planes)
    return [(moment - static * b) / (a - b), (moment - static * a) / (b - a)]


def monte_carlo(case: Fitted, rng: np.random.Generator) -> float:
    """The share of a million fittings that pass [%]: pieces turned, moved and heavier, and read by a machine."""
    spread, planned = case.spread, case.planned
    static = np.full(DRAWS, planned.static)
    moment = np.full(DRAWS, planned.moment)
    for z, r, m, a in case.pieces:
        angle = math.radians(a) + math.radians(spread.angle_sd_deg) * rng.standard_normal(DRAWS)
        mass = m * (1 + spread.mass_sd_pct / 100 * rng.standard_normal(DRAWS))
        at = z + spread.position_sd_mm * rng.standard_normal(DRAWS)
        vector, meant = mass * r * np.exp(1j * angle), cmath.rect(m * r, math.radians(a))
        static += vector - meant
        moment += vector * at - meant * z
    shown = [
        vector + spread.machine_sd_g * plane.radius_mm * (rng.standard_normal((DRAWS, 2)) @ [1, 1j])
        for vector, plane in zip(read_at(static, moment, case.planes), case.planes, strict=True)
    ]
    mean_radius = sum(p.radius_mm for p in case.planes) / len(case.planes)
    passed = np.abs(sum(shown)) <= case.acceptance.static_g * mean_radius
    if len(case.planes) == 2 and not case.static_only:
        for vector, plane in zip(shown, case.planes, strict=True):
            passed &= np.abs(vector) <= case.acceptance.per_plane_g * plane.radius_mm
    return 100 * float(passed.mean())


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_against_a_million_fittings(case: Fitted) -> None:
    """Half a point; the million's own standard error is a twentieth."""
    assert case.chance == pytest.approx(monte_carlo(case, np.random.default_rng(20_240_501)), abs=0.5)


@pytest.mark.parametrize("left_g", [0.0, 1.0, 4.0, 5.0, 9.0])
@pytest.mark.parametrize("machine_sd_g", [0.5, 1.0, 3.0])
def test_one_plane_has_a_closed_form(left_g: float, machine_sd_g: float) -> None:
    """Isotropic noise about a point: noncentral chi-square with two degrees of freedom (scipy.stats.ncx2)."""
    case = Fitted(
        "", (STATIC,), ((-40.0, 200.0, left_g, 33.0),), (), Acceptance(5.0, 5.0), Spread(0, 0, 0, machine_sd_g)
    )
    limit = (5.0 / machine_sd_g) ** 2
    expected = stats.ncx2.cdf(limit, 2, (left_g / machine_sd_g) ** 2) if left_g else stats.chi2.cdf(limit, 2)
    assert case.chance == pytest.approx(100 * expected, abs=0.01)


@pytest.mark.parametrize(("left_g", "expected"), [(0.0, 100.0), (4.999, 100.0), (5.0, 100.0), (5.001, 0.0)])
@pytest.mark.parametrize("planes", [(STATIC,), (INNER, OUTER)])
def test_without_any_spread_it_is_certain(left_g: float, expected: float, planes: tuple[Plane, ...]) -> None:
    """On the limit itself it is accepted, so it passes."""
    at = planes[0]
    left = ((at.position_mm, at.radius_mm, left_g, 123.0),)
    case = Fitted("", planes, left, CLIPS, Acceptance(5.0, 50.0 if len(planes) == 2 else 5.0), Spread(0, 0, 0, 0))
    assert case.chance == expected


@given(st.sampled_from(CASES), st.floats(0.2, 12), st.floats(0.2, 12), st.floats(0, 3), st.floats(0, 3))
def test_wider_limits_never_pass_less(
    case: Fitted, per_plane_g: float, static_g: float, more: float, more_static: float
) -> None:
    tight = replace(case, acceptance=Acceptance(per_plane_g, static_g))
    wide = replace(case, acceptance=Acceptance(per_plane_g + more, static_g + more_static))
    assert tight.chance <= wide.chance + 1e-9
    assert 0 <= tight.chance <= 100


@pytest.mark.parametrize("case", [c for c in CASES if len(c.planes) == 2], ids=lambda case: case.name)
def test_more_spread_passes_less_from_the_middle(case: Fitted) -> None:
    """About a perfect residual every error can only do harm (T. W. Anderson's inequality, 1955)."""
    perfect = replace(case, left=())
    chances = [
        replace(perfect, spread=Spread(k * 1.0, k * 1.0, k * 1.0, k * 0.5)).chance for k in (0, 0.5, 1, 2, 4, 8)
    ]
    assert all(more <= less + 0.3 for less, more in pairwise(chances))
    assert chances[0] == 100


def by_many_lines(case: Fitted, rng: np.random.Generator, lines: int) -> float:
    """The same linear model along far more lines, random ones, with scipy's chi-square [%]."""
    spread = case.spread
    columns = []
    for z, r, m, a in case.pieces:
        vector = cmath.rect(m * r, math.radians(a))
        turn, heavier = 1j * math.radians(spread.angle_sd_deg) * vector, spread.mass_sd_pct / 100 * vector
        columns += [(turn, turn * z), (heavier, heavier * z), (0j, vector * spread.position_sd_mm)]
    errors = [read_at(np.array([s]), np.array([m]), case.planes) for s, m in columns]
    real = np.array([[part for v in e for part in (v[0].real, v[0].imag)] for e in errors])
    machine = np.diag(np.repeat([spread.machine_sd_g * p.radius_mm for p in case.planes], 2))
    root = np.linalg.cholesky(real.T @ real + machine**2 + 1e-9 * np.eye(4))
    along = rng.standard_normal((4, lines))
    along = root @ (along / np.linalg.norm(along, axis=0))
    static, moment = np.array([case.planned.static]), np.array([case.planned.moment])
    middle = [complex(v[0]) for v in read_at(static, moment, case.planes)]
    moving = [along[0] + 1j * along[1], along[2] + 1j * along[3]]
    radii = [case.acceptance.per_plane_g * p.radius_mm for p in case.planes]
    mean_radius = sum(p.radius_mm for p in case.planes) / 2
    discs = [*zip(middle, moving, radii, strict=True)]
    discs.append((sum(middle), moving[0] + moving[1], case.acceptance.static_g * mean_radius))
    low, high = np.full(lines, -np.inf), np.full(lines, np.inf)
    for at, way, radius in discs:
        a, b, c = np.abs(way) ** 2, 2 * (at * way.conj()).real, abs(at) ** 2 - radius**2
        root_of = np.sqrt(np.maximum(b * b - 4 * a * c, 0))
        missed = b * b < 4 * a * c
        low = np.where(missed, np.inf, np.maximum(low, (-b - root_of) / (2 * a)))
        high = np.where(missed, -np.inf, np.minimum(high, (-b + root_of) / (2 * a)))
    up_to = [np.sign(x) * special.chdtr(4, x**2) / 2 for x in (low, high)]
    return 100 * float(np.maximum(up_to[1] - up_to[0], 0).mean())


def test_a_thousand_lines_are_right_to_a_third_of_a_point() -> None:
    """As the module says of itself, over sixty fittings; the reference's own error is under 0.05."""
    rng = np.random.default_rng(7)
    off = []
    for _ in range(60):
        pieces = tuple((rng.uniform(-130, 40), 195.0, rng.uniform(5, 60), rng.uniform(0, 360)) for _ in range(3))
        left = tuple((p.position_mm, p.radius_mm, rng.uniform(0, 5), rng.uniform(0, 360)) for p in (INNER, OUTER))
        spread = Spread(rng.uniform(0, 4), rng.uniform(0, 4), rng.uniform(0, 4), rng.uniform(0.2, 2))
        limits = Acceptance(rng.uniform(3, 8), rng.uniform(3, 8))
        case = Fitted("", (INNER, OUTER), left, pieces, limits, spread)
        off.append(abs(case.chance - by_many_lines(case, rng, 60_000)))
    assert max(off) < 1 / 3
