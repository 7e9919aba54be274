"""Acceptance in grams and by grade, and a judge whose planes have limits of their own."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.unbalance import PointMass, Unbalance
from rimpoise_service.planning.acceptance import Acceptance, Criterion, GradeAcceptance, assumptions, doubts
from rimpoise_service.planning.tolerance_check import ToleranceEvaluator
from tests.cited import Case, cases
from tests.factories.strategies import plane_pairs
from tests.planning.chances import machine_alone_pct

PLANES = [Plane("inboard", -134, 205), Plane("outboard", 44, 222)]
LOPSIDED = GradeAcceptance("G16", 20, speed_kmh=160, rolling_radius_mm=310, mass_centre_mm=-100)
criteria: st.SearchStrategy[Criterion] = st.one_of(
    st.builds(Acceptance, st.floats(1, 20), st.floats(1, 20)),
    st.builds(
        GradeAcceptance,
        st.sampled_from(["G6.3", "G16", "G40"]),
        st.floats(5, 60),
        speed_rpm=st.floats(100, 3000),
        mass_centre_mm=st.one_of(st.none(), st.floats(-300, 300)),
    ),
)


@pytest.mark.parametrize("case", cases("tolerances"), ids=str)
def test_the_published_examples(case: Case) -> None:
    given_, rel = dict(case.inputs), case.tolerance["rel"]
    planes = [Plane(**p) for p in given_.pop("planes")]
    evaluator = ToleranceEvaluator.at(planes, GradeAcceptance(**given_), static_only=False)
    assert evaluator.limits.static_gmm == pytest.approx(case.expected["permissible_gmm"], rel=rel)
    assert evaluator.limits.planes_gmm == pytest.approx(case.expected["planes_gmm"], rel=rel)
    if "planes_g" in case.expected:
        assert [limit.mass_g for limit in evaluator.plane_limits] == pytest.approx(
            case.expected["planes_g"], rel=rel
        )


@given(plane_pairs(), criteria)
def test_a_mass_at_a_planes_limit_takes_all_of_it(planes: list[Plane], criterion: Criterion) -> None:
    """By definition: what is permitted in a plane, put there, is all of its limit and nothing of the other's."""
    evaluator = ToleranceEvaluator.at(planes, criterion, static_only=False)
    for k, limit in enumerate(evaluator.plane_limits):
        there = Unbalance.of([PointMass(limit.plane.position_mm, limit.plane.radius_mm, limit.mass_g, 77)])
        shares = evaluator.shares(np.array(there.static), np.array(there.moment))
        assert shares[1 + k] == pytest.approx(1, rel=1e-6)
        assert shares[2 - k] == pytest.approx(0, abs=1e-6)
        assert shares[0] == pytest.approx(limit.unbalance_gmm / evaluator.limits.static_gmm, rel=1e-6)


def test_the_chance_with_a_limit_for_each_plane_against_drawing_lots() -> None:
    """Monte Carlo, independent of the lines: 200,000 residuals drawn, each held to each plane's own limit."""
    evaluator = ToleranceEvaluator.at(PLANES, LOPSIDED, static_only=False)
    left = Unbalance.of([PointMass(-134, 205, 2.5, 30), PointMass(44, 222, 1.5, 200)])
    rng = np.random.default_rng(8)
    drawn = [
        vector.vector + 2.0 * vector.plane.radius_mm * (rng.normal(size=(2, 200_000)).T @ [1, 1j])
        for vector in evaluator.residual(left).planes
    ]
    passed = np.abs(sum(drawn)) <= evaluator.limits.static_gmm
    for vectors, limit in zip(drawn, evaluator.limits.planes_gmm, strict=True):
        passed &= np.abs(vectors) <= limit
    assert evaluator.limits.planes_gmm[0] > 2 * evaluator.limits.planes_gmm[1]
    chance = machine_alone_pct(left, evaluator, 2)
    assert chance == pytest.approx(100 * passed.mean(), abs=0.4)
    swapped = ToleranceEvaluator.at(PLANES[::-1], LOPSIDED, static_only=False)
    assert machine_alone_pct(left, swapped, 2) == pytest.approx(chance, abs=0.2)


def test_grams_are_at_each_planes_own_radius() -> None:
    """By definition of the contract: per_plane_g at the plane's radius, static_g at the mean of the radii."""
    evaluator = ToleranceEvaluator.at(PLANES, Acceptance(4, 3), static_only=False)
    assert evaluator.limits.planes_gmm == (4 * 205, 4 * 222)
    assert evaluator.limits.static_gmm == 3 * 213.5
    assert [limit.mass_g for limit in evaluator.plane_limits] == [4, 4]
    assert evaluator.static_limit_g == 3


def test_one_plane_and_the_static_sum_have_all_of_it() -> None:
    """ISO 21940-11 (from memory): in one plane all that is permitted may stay there."""
    grade = GradeAcceptance("G40", 20, speed_kmh=200, tyre_size="225/45 R17")
    for evaluator in (
        ToleranceEvaluator.at(PLANES[:1], grade, static_only=False),
        ToleranceEvaluator.at(PLANES, grade, static_only=True),
    ):
        assert evaluator.limits.static_gmm == pytest.approx(4566.8, rel=5e-4)
        assert evaluator.plane_limits == ()


def test_what_was_not_measured_is_said() -> None:
    sized = GradeAcceptance("G40", 20, speed_kmh=200, tyre_size="225/45 R17")
    assert [r.code for r in assumptions(sized, PLANES)] == ["rolling_radius_derived", "mass_centre_assumed"]
    assert [r.code for r in assumptions(sized, PLANES[:1])] == ["rolling_radius_derived"]
    assert assumptions(LOPSIDED, PLANES) == ()
    assert assumptions(Acceptance(), PLANES) == ()


def test_a_mass_centre_beyond_the_planes_is_doubted() -> None:
    outside = GradeAcceptance("G40", 20, speed_rpm=900, mass_centre_mm=44.5)
    assert [r.code for r in doubts(outside, PLANES)] == ["mass_centre_outside"]
    assert [r.code for r in doubts(outside, PLANES[::-1])] == ["mass_centre_outside"]
    assert doubts(outside, PLANES[:1]) == ()
    assert doubts(LOPSIDED, PLANES) == ()
    assert doubts(Acceptance(), PLANES) == ()


def test_a_grade_without_a_speed_says_what_it_needs() -> None:
    with pytest.raises(ValueError, match="speed_rpm, or speed_kmh with rolling_radius_mm or tyre_size"):
        _ = GradeAcceptance("G40", 20, speed_kmh=200).rotation_speed
