"""Wheels of 30 to 80 g a side in strips alone: two strips on a land are found where one has no room or no mass.

The efforts are those of a search with ten times the work, of this code as well: what holds is that the usual work
is enough. ``test_optimality`` compares with an optimiser of another kind.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.planning.planner import make_plan
from tests.factories.drawn import plan_request, two_plane

ENOUGH_MIN = 0.05
"""By how much the usual work may miss [min]."""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("wheel", "max_pieces", "called", "effort_min"),
    [
        ("3_spokes", 2, (41.5, 66.0, 71.5, 140.0), 17.887),
        ("crossed_lands", 2, (36.0, 315.5, 51.5, 154.5), 14.894),
        ("no_offset", 4, (26.5, 257.0, 57.5, 31.0), 13.757),
        ("10_spokes", 3, (76.5, 355.0, 54.5, 4.0), 13.384),
    ],
)
def test_two_strips_a_land_are_found_within_the_usual_work(
    wheel: str, max_pieces: int, called: tuple[float, float, float, float], effort_min: float
) -> None:
    request = plan_request(wheel, 4)
    wishes = replace(request.preferences, max_pieces_per_plane=max_pieces)
    plan = make_plan(replace(request, reading=two_plane(*called), preferences=wishes))
    assert plan.layouts[0].effort_min <= effort_min + ENOUGH_MIN
