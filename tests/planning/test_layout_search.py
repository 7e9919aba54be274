"""What a plan says where its work was not enough: on the largest shelf, and on no example."""

from __future__ import annotations

import pytest

from rimpoise_service.api.endpoints.examples.plans import EXAMPLES
from rimpoise_service.api.schemas.plans import PlanRequestSchema
from rimpoise_service.planning.models import Layout
from rimpoise_service.planning.planner import make_plan
from tests.load.heaviest import everything


def cut_short(layout: Layout) -> bool:
    """Whether its notes say so."""
    return "search_cut_short" in [note.code for note in layout.notes]


def test_the_largest_shelf_is_cut_short_and_tells_its_gap() -> None:
    """200 clip-ons and 20 strips for two flanges and eight lands, four pieces a plane, 6 g where 90 are called."""
    layout = make_plan(PlanRequestSchema().load(everything(6, None))).layouts[0]
    assert cut_short(layout)
    assert not layout.proven_optimal
    assert 0 < layout.least_possible_min < layout.effort_min


def test_what_the_largest_shelf_passes_with_is_found_although_it_is_cut_short() -> None:
    """Two pieces a plane, in a level that is looked at after the work was spent."""
    layout = make_plan(PlanRequestSchema().load(everything(12, None))).layouts[0]
    assert layout.probability > 0.99
    assert layout.effort_min < 2.1


@pytest.mark.parametrize("name", sorted(EXAMPLES["planFitting"]))
def test_no_recommended_layout_of_an_example_is_cut_short(name: str) -> None:
    plan = make_plan(PlanRequestSchema().load(EXAMPLES["planFitting"][name].body))
    assert not [x.name for x in plan.layouts[:1] if cut_short(x)]
