"""Old weights that are on and named: a wheel within its limits keeps them, another gets rid of them.

Common practice, no source: nobody takes a wheel apart that runs true. 20 g sit at 80° on the inboard flange.
"""

from __future__ import annotations

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.advice import AdvisedPlan, advise
from rimpoise_service.planning.models import Decision
from tests.factories.by_hand import INNER_MM, RADIUS_MM, codes, request, two_plane, wheel

OLD = PointMass(INNER_MM, RADIUS_MM, 20, 80)


def read(mass_g: float, angle_deg: float) -> AdvisedPlan:
    """The plan for what was called inboard with the old weight on."""
    reading = two_plane(mass_g, angle_deg, 1, 255, old_weights=(OLD,), spun="old_weights_on")
    return advise(request(reading, wheel()))


@pytest.mark.parametrize("mass_g", [0, 3])
def test_within_with_them_they_stay(mass_g: float) -> None:
    found = read(mass_g, 80)
    assert found.plan.decision == Decision.ALREADY_WITHIN
    assert found.plan.before is not None
    assert found.plan.before.planes[0].mass_g == pytest.approx(mass_g)
    assert codes(found.fitting_steps) == ["wheel_on"]
    assert codes(found.plan.warnings) == []
    assert "old_weights_guess" not in codes(found.cautions)


def test_within_without_them_they_come_off_and_it_is_spun_again() -> None:
    """20 g are called opposite the old 20 g: nothing is left once those are off, and 20 g while they are on."""
    found = read(20, 260)
    assert found.plan.decision == Decision.ALREADY_WITHIN
    assert text_of(found.plan.headline) == "Take the old weights off: without them it is within the limit."
    assert codes(found.fitting_steps) == ["have_ready", "remove_old_weights", "check_spin_bare", "wheel_on"]
    assert codes(found.plan.warnings) == ["old_weights_computed"]
    assert "old_weights_guess" in codes(found.cautions)


def test_over_with_and_without_them_new_ones_are_planned() -> None:
    found = read(10, 80)
    assert found.plan.decision == Decision.FIT
    assert sum(p.mass_g for p in found.plan.layouts[0].pieces) == pytest.approx(30)
    assert "remove_old_weights" in codes(found.fitting_steps)
