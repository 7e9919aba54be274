"""A plan's pieces spun with the unbalance in a rigid-body simulator: the bearing feels what is said to be left."""

from __future__ import annotations

import pytest

from rimpoise_service.model.stock import BUILTIN
from rimpoise_service.physics.readings import PointMasses
from rimpoise_service.physics.unbalance import PointMass, Unbalance
from rimpoise_service.planning.models import Layout, PlanRequest
from rimpoise_service.planning.planner import make_plan
from tests.factories.by_hand import wheel
from tests.factories.seeded import shop_job
from tests.planning.test_mujoco import Felt, agree, predicted, random_masses, spin

GRAINS = 60
"""Masses that a piece is laid out as along its arc."""


def laid(layout: Layout, grains: int) -> list[PointMass]:
    """The pieces as so many point masses each, evenly along their arcs."""
    return [
        PointMass(
            p.position_mm, p.radius_mm, p.mass_g / grains, p.angle_deg + p.arc_deg * ((k + 0.5) / grains - 0.5)
        )
        for p in layout.pieces
        for k in range(grains)
    ]


def said(layout: Layout) -> Felt:
    """What the answer predicts: the force of its static sum, and its couple moved to the datum."""
    middle = sum(v.plane.position_mm for v in layout.residual.planes) / 2
    return predicted(Unbalance(layout.residual.static, layout.residual.couple + layout.residual.static * middle))


@pytest.mark.parametrize("seed", [*range(4), *(pytest.param(n, marks=pytest.mark.slow) for n in range(4, 8))])
def test_two_clips_leave_the_force_and_couple_that_are_said(seed: int) -> None:
    """Clip-ons on both flanges, each a point where it acts: effective_gmm at its angle."""
    masses = tuple(random_masses(seed))
    plan = make_plan(PlanRequest(PointMasses(masses), wheel(), BUILTIN["metric"]))
    layout = plan.layouts[0]
    assert {p.style for p in layout.pieces} == {"clip_on"}
    points = [
        PointMass(p.position_mm, p.radius_mm, p.effective_gmm / p.radius_mm, p.angle_deg) for p in layout.pieces
    ]
    agree(spin([*masses, *points]), said(layout), [*masses, *points])


def near(expected: Felt, felt: Felt, most: float) -> bool:
    """To a hundred-thousandth of what all masses could do, at 100 mm: so many grains make no perfect arc."""
    return abs(felt.force - expected.force) <= 1e-5 * most and abs(felt.moment - expected.moment) <= 1e-3 * most


@pytest.mark.slow
@pytest.mark.parametrize("seed", [3, 5, 12, 17])
def test_pieces_along_their_arcs_do_the_same(seed: int) -> None:
    """Every layout of a shop's job: clip-ons and strips laid out along their arcs, the simulator adds them up."""
    request = shop_job(seed)
    masses = random_masses(seed)
    plan = make_plan(PlanRequest(PointMasses(tuple(masses)), request.wheel, request.stock))
    assert any(layout.residual.planes for layout in plan.layouts)
    for layout in (found for found in plan.layouts if found.residual.planes):
        grains = laid(layout, GRAINS)
        most = sum(abs(m.vector) for m in (*masses, *grains)) * predicted(Unbalance(1 + 0j)).force.real
        assert near(said(layout), spin([*masses, *grains]), most)
