"""A plan of which the first layout alone is wanted: the same one, for less work."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.api.endpoints.examples.plans import EXAMPLES
from rimpoise_service.api.schemas.plans import PlanRequestSchema
from rimpoise_service.planning.advice import advise
from rimpoise_service.planning.branching import proven_gap
from rimpoise_service.planning.models import CauseFirst, Plan, PlanRequest, Preferences
from rimpoise_service.planning.planner import make_plan
from tests.factories.drawn import plan_request
from tests.factories.seeded import shop_job
from tests.planning.optimiser_wheels import wheel_of

SHOP_JOBS = (20, 58, 43)
"""Of seeded jobs: several layouts each, among them a best effort and some where strips are hidden."""


def told(plan: Plan) -> tuple[object, ...]:
    """Everything that a plan says of what comes first, but for the bound: others may be proven on the way."""
    first = plan.recommended and replace(plan.recommended, least_possible_min=0.0)
    return plan.decision, plan.headline, plan.reasons, first, plan.next_steps, plan.warnings


@pytest.fixture(scope="module")
def usual() -> PlanRequest:
    """Two flanges and two lands, one of them behind five spokes."""
    return plan_request("5_spokes")


@pytest.mark.parametrize("seed", SHOP_JOBS)
def test_it_is_the_one_that_comes_first_of_all(seed: int) -> None:
    request = shop_job(seed)
    assert told(make_plan(request, first_only=True)) == told(make_plan(request))


def test_what_was_cut_short_is_searched_once_more() -> None:
    """Its first share finds no strips behind the spokes that take less than 14.6 min; there are some for 11.7."""
    best = make_plan(shop_job(25), first_only=True).layouts[0]
    assert best.effort_min < 11.8


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(60))
def test_it_is_the_first_of_any_wheel(seed: int) -> None:
    """Where the work runs out more is left for the first, so that it may be another one, within the gap."""
    for request in (shop_job(seed), wheel_of(seed, 1 + seed % 2)):
        first, of_all = make_plan(request, first_only=True), make_plan(request)
        assert first.decision == of_all.decision
        for one, other in zip(first.layouts[:1], of_all.layouts[:1], strict=True):
            assert one.effort_min <= other.effort_min + proven_gap(other.effort_min)


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(EXAMPLES["planFitting"]))
def test_it_is_the_first_of_every_example(name: str) -> None:
    request = PlanRequestSchema().load(EXAMPLES["planFitting"][name].body)
    assert told(make_plan(request, first_only=True)) == told(make_plan(request))


@pytest.mark.parametrize("seed", [20, 58])
def test_it_takes_less_than_half_of_the_work(seed: int) -> None:
    """Where one layout is clearly the best, the others need no search to be left aside."""
    of_all, alone = make_plan(shop_job(seed)), make_plan(shop_job(seed), first_only=True)
    assert len(of_all.layouts) > 2
    assert len(alone.layouts) == 1
    assert alone.work < of_all.work / 2


def test_what_was_not_looked_at_is_not_called_impossible(usual: PlanRequest) -> None:
    not_possible = {r.named.text for r in make_plan(usual).ruled_out}
    assert {r.named.text for r in make_plan(usual, first_only=True).ruled_out} <= not_possible


@pytest.mark.parametrize(
    ("wishes", "alone"),
    [(Preferences(), False), (Preferences(detail="brief"), True), (Preferences(alternatives=False), True)],
)
def test_who_wants_the_first_alone(usual: PlanRequest, wishes: Preferences, *, alone: bool) -> None:
    plan = advise(replace(usual, preferences=wishes)).plan
    assert (plan.alternatives == ()) is alone


def test_a_cause_is_looked_for_first_all_the_same(usual: PlanRequest) -> None:
    """The layout that would come first stays in sight."""
    wary = replace(usual, preferences=Preferences(cause_first_g=CauseFirst(plane_g=10, total_g=20)))
    plan = make_plan(wary, first_only=True)
    assert plan.decision == "find_cause_first"
    assert plan.recommended is None
    assert plan.alternatives == make_plan(wary).alternatives[:1]
