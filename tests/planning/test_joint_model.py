"""Covariances against draws of pieces with errors, and what a request's planes, limits and spread become."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rimpoise_service.model.stock import BUILTIN
from rimpoise_service.physics.arrays import Complexes, Floats
from rimpoise_service.physics.planes import resolve_in_planes
from rimpoise_service.physics.readings import Static
from rimpoise_service.physics.unbalance import PointMass, Unbalance
from rimpoise_service.planning.context import PlanContext, prepare
from rimpoise_service.planning.error_model import WORSE_G, frame_of, judged_residual, place_errors, shown
from rimpoise_service.planning.joint_model import LEAST_SPREAD, JudgedResidual, PlaceErrors, cholesky, covariance
from rimpoise_service.planning.models import PlanRequest, Preferences
from rimpoise_service.planning.places import find_places
from rimpoise_service.planning.spread import Spread
from tests.factories.by_hand import INNER_MM, NO_FLANGE, OUTER_MM, RADIUS_MM, request, static, two_plane, wheel
from tests.planning.invented_places import errors_at, judged

DRAWS = 400_000
NONE = np.zeros((2, 2), dtype=np.complex128)


def real_and_imaginary(vectors: Complexes) -> Floats:
    """Stacked, (2 c, draws)."""
    return np.concatenate([vectors.real, vectors.imag])


@pytest.mark.parametrize("seed", range(3))
def test_the_covariance_of_a_block_of_touching_pieces_is_that_of_draws(seed: int) -> None:
    """Each of two pieces has errors of its own, along its circle, of mass, along the axis; the machine too."""
    rng = np.random.default_rng(seed)
    errors = PlaceErrors(np.array([0.8, 0.2]), np.array([-1.0, 1.0]) / 150, 0.03**2, 0.05**2, 4.0**2)
    pieces = rng.uniform(2000, 9000, 2) * np.exp(2j * math.pi * rng.random(2))
    machine = 2 * np.diag([250.0**2, 300.0**2])
    drawn: Complexes = np.zeros((2, DRAWS), dtype=np.complex128)
    for v in pieces:
        angle, mass, axial = rng.standard_normal((3, DRAWS)) * [[0.03], [0.05], [4.0]]
        drawn += np.outer(errors.gain, v * (1j * angle + mass)) + np.outer(errors.gain_per_mm, v * axial)
    reading = rng.standard_normal((2, 2, DRAWS)) * np.array([[250.0], [300.0]])
    drawn += reading[0] + 1j * reading[1]
    proper = machine + (np.abs(pieces) ** 2).sum() * errors.proper
    found = covariance(proper, (pieces**2).sum() * errors.pseudo)
    expected = np.cov(real_and_imaginary(drawn))
    assert np.abs(found - expected).max() < 0.01 * np.abs(expected).max()
    root = cholesky(found)
    assert root @ root.T == pytest.approx(found)


def test_the_swing_of_the_pseudo_part_is_never_more_than_its_bound() -> None:
    """wobble ± Re(e^{2iθ} pseudo) has no negative eigenvalue, in any direction."""
    errors = errors_at(0.3)
    wobble = covariance(errors.wobble, NONE)
    for theta in np.linspace(0, math.pi, 13):
        swung = covariance(np.zeros((2, 2)), np.exp(2j * theta) * errors.pseudo)
        assert np.linalg.eigvalsh(wobble - swung).min() >= -1e-15
        assert np.linalg.eigvalsh(covariance(errors.proper, NONE) + swung).min() >= -1e-15


def test_no_spread_is_still_not_singular() -> None:
    """A ten-thousandth of the smallest limit in every direction."""
    certain = replace(judged((10 + 0j, 20j)), machine=np.zeros((2, 2)))
    sd = np.sqrt(np.diag(covariance(certain.machine_and_floor, NONE)))
    assert sd == pytest.approx(np.full(4, LEAST_SPREAD * 1000))


def test_shares_of_limits_and_ceilings() -> None:
    """3 and 4 g at right angles: 5 g in sum."""
    some = replace(judged((10 + 0j, 20j)), ceilings=np.array([601.0, 801.0, 999.0]))
    assert some.ratios(np.array([600 + 0j, 800j])) == pytest.approx([0.6, 0.8, 1.0])
    assert not some.admits(np.array([600 + 0j, 800j]))
    assert replace(some, ceilings=np.array([601.0, 801.0, 1001.0])).admits(np.array([600 + 0j, 800j]))
    assert (
        some.dimension,
        JudgedResidual(np.ones(1, dtype=np.complex128), np.ones(1), np.ones(1), np.eye(1)).dimension,
    ) == (4, 2)


def context_of(made: PlanRequest) -> PlanContext:
    """The request, made ready."""
    context = prepare(made, find_places)
    assert isinstance(context, PlanContext)
    return context


@pytest.mark.parametrize("swapped", [False, True])
def test_the_inner_plane_comes_first_however_it_is_read(swapped: bool) -> None:
    reading = two_plane(30, 40, 20, 210)
    made = request(replace(reading, planes=reading.planes[::-1]) if swapped else reading, wheel())
    context = context_of(made)
    found = judged_residual(context, context.evaluator, 1)
    heavy = [-30 * RADIUS_MM * np.exp(1j * math.radians(40)), -20 * RADIUS_MM * np.exp(1j * math.radians(210))]
    assert found.before == pytest.approx(np.array(heavy))
    assert found.limits == pytest.approx(np.full(3, 1000.0), rel=2e-6)
    turned = judged_residual(context, context.evaluator, 1j)
    assert turned.before == pytest.approx(found.before * 1j)


@pytest.mark.parametrize(("spins", "share"), [(1, 2.0), (4, 1.25)])
def test_both_readings_errors_count(spins: int, share: float) -> None:
    """0.7 g of the check spin, and 0.7 g / √spins of the first reading; a car's machine if none is named."""
    context = replace(context_of(request(two_plane(30, 40, 20, 210), wheel())), spins=spins)
    found = judged_residual(context, context.evaluator, 1)
    component = share * (0.7 * RADIUS_MM) ** 2
    assert found.machine == pytest.approx(np.diag([2 * component] * 2))


@pytest.mark.parametrize("inner", [True, False])
def test_a_shown_zero_may_hide_what_the_display_leaves_out(inner: bool) -> None:
    """Up to 2 g, evenly over the disc: 2²/4 per component, in that plane alone."""
    masses = (0, 20) if inner else (20, 0)
    reading = replace(two_plane(masses[0], 40, masses[1], 210), zero_below_g=2.0)
    context = context_of(request(reading, wheel()))
    more = np.diag(judged_residual(context, context.evaluator, 1).machine) / (2 * RADIUS_MM**2) - 2 * 0.7**2
    assert more == pytest.approx([1.0, 0.0] if inner else [0.0, 1.0])


@pytest.mark.parametrize(("masses", "hidden"), [((0, 20), 1.0), ((20, 0), 1.0), ((20, 20), 0.0)])
def test_a_static_sum_is_as_uncertain_as_a_shown_zero_in_it(masses: tuple[int, int], hidden: float) -> None:
    """What the plane that shows it hides, and nothing for the other."""
    reading = replace(two_plane(masses[0], 40, masses[1], 210), zero_below_g=2.0)
    context = context_of(request(reading, wheel(), preferences=Preferences(correction="static")))
    ((machine,),) = judged_residual(context, context.evaluator, 1).machine
    assert machine / (2 * RADIUS_MM**2) - 2 * 2 * 0.7**2 == pytest.approx(hidden)


@pytest.mark.parametrize(
    ("shown", "in_planes", "in_sum"),
    [({"static_zero": True}, (0.5, 0.5), 2.0), ({"couple_zero": True}, (2.0, -2.0), 0.0)],
)
def test_a_zero_for_static_or_couple_may_hide_as_much(
    shown: dict[str, bool], in_planes: tuple[float, float], in_sum: float
) -> None:
    """Up to 2 g, E|v|² = 2²/2: of the static mass half in each plane, of the couple all in each, opposed."""
    reading = replace(two_plane(20, 40, 20, 210), zero_below_g=2.0, **shown)  # type: ignore[arg-type]
    context = context_of(request(reading, wheel()))
    judged_in_planes = judged_residual(context, context.evaluator, 1).machine / RADIUS_MM**2 - 4 * 0.7**2 * np.eye(
        2
    )
    own, shared = in_planes
    assert judged_in_planes == pytest.approx(np.array([[own, shared], [shared, own]]))
    ((summed,),) = judged_residual(context, replace(context.evaluator, static_only=True), 1).machine
    assert summed / RADIUS_MM**2 - 8 * 0.7**2 == pytest.approx(in_sum)


def test_a_static_sum_has_the_errors_of_both_planes() -> None:
    made = request(two_plane(30, 40, 20, 210), wheel(), preferences=Preferences(correction="static"))
    context = context_of(made)
    found = judged_residual(context, context.evaluator, 1)
    assert found.machine == pytest.approx(np.array([[2 * 2 * 2 * (0.7 * RADIUS_MM) ** 2]]))
    assert (found.dimension, found.limits.shape, found.judged.shape) == (2, (1,), (1, 1))
    errors = place_errors(context, context.evaluator, 30.0, clip_on=True)
    assert (errors.gain.tolist(), errors.gain_per_mm.tolist()) == ([1.0], [0.0])


@pytest.mark.parametrize("radius_mm", [RADIUS_MM, 150.0])
def test_a_static_reading_has_the_errors_of_its_one_plane(radius_mm: float) -> None:
    """One mass is shown, once before and once after; with two flanges as with one."""
    reading = Static(PointMass(0.0, radius_mm, 30, 40))
    for flanges in ({}, {"outboard": NO_FLANGE}):
        context = context_of(request(reading, wheel(**flanges)))
        found = judged_residual(context, context.reporter, 1)
        assert found.machine == pytest.approx(np.array([[2 * 2 * (0.7 * radius_mm) ** 2]]))


def test_ceilings_are_the_limit_or_a_twentieth_of_a_gram_over_what_was_there() -> None:
    """3 g inboard are within: up to the limit then; 20 g outboard: no more than 20.05 g; so with the sum."""
    context = context_of(request(two_plane(3, 0, 20, 0), wheel()))
    found = judged_residual(context, context.evaluator, 1)
    assert found.ceilings == pytest.approx(RADIUS_MM * np.array([5, 20 + WORSE_G, 23 + WORSE_G]), rel=2e-6)


@pytest.mark.parametrize("position_mm", [INNER_MM, -30.0, OUTER_MM, 130.0])
def test_a_weight_shows_in_the_planes_by_its_levers(position_mm: float) -> None:
    """As the two-plane resolution has it; and moved outboard by 1 mm, by the difference."""
    context = context_of(request(two_plane(30, 40, 20, 210), wheel()))
    errors = place_errors(context, context.evaluator, position_mm, clip_on=True)
    vector = 5000 * np.exp(0.7j)
    there = [
        resolve_in_planes(Unbalance.at(z, vector), INNER_MM, OUTER_MM) for z in (position_mm, position_mm + 1)
    ]
    assert vector * errors.gain == pytest.approx(np.array(there[0]))
    assert vector * errors.gain_per_mm == pytest.approx(np.array(there[1]) - np.array(there[0]))
    assert shown(context.evaluator, Unbalance.at(position_mm, vector)) == pytest.approx(np.array(there[0]))


def test_each_style_has_its_own_axial_error_and_each_class_its_machine() -> None:
    made = request(two_plane(30, 40, 20, 210), wheel(), spread=Spread(3.0, 0.7, 2.5, 1.0))
    context = context_of(made)
    for clip_on, sd_mm in ((True, 0.7), (False, 2.5)):
        errors = place_errors(context, context.evaluator, 0.0, clip_on=clip_on)
        assert errors.axial_var == pytest.approx(sd_mm**2)
        assert (errors.angle_var, errors.mass_var) == pytest.approx((math.radians(3) ** 2, 0.01**2))
    heavy = wheel(vehicle_class="heavy_truck")
    assert context_of(request(two_plane(300, 40, 200, 210), heavy, BUILTIN["metric"])).spread.machine_sd_g == 3.0


def test_the_frame_is_the_larger_correction() -> None:
    context = context_of(request(two_plane(30, 40, 20, 210), wheel()))
    assert math.degrees(frame_of(context.called)) == pytest.approx(40)
    nothing = context_of(request(static(7, 77), wheel()))
    assert math.degrees(frame_of(nothing.called)) == pytest.approx(77)
    assert frame_of([replace(v, vector=0j) for v in context.called]) == 0
