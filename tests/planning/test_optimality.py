"""Every layout takes the least effort: against brute force over masses with scipy's polish, on a hundred wheels.

``python -m tests.bench optimisers`` does the same on nine hundred.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.planning.arrangements import arrangements
from rimpoise_service.planning.places import find_places
from rimpoise_service.planning.planner import make_plan
from tests.planning.optimality import Tally, look_at
from tests.planning.optimiser_wheels import KINDS, heavy_wheel_of, wheel_of
from tests.planning.optimisers import least_effort
from tests.planning.own_set_up import set_up
from tests.planning.weighed import weigh

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("seed", range(60))
def test_one_piece_a_place(seed: int) -> None:
    tally = Tally()
    look_at(wheel_of(seed, 1), tally)
    assert tally.faults == []


@pytest.mark.parametrize("seed", range(1000, 1040))
def test_two_pieces_a_place(seed: int) -> None:
    tally = Tally()
    look_at(wheel_of(seed, 2), tally)
    assert tally.faults == []


@pytest.mark.parametrize("seed", range(12))
def test_two_strips_a_land_on_a_heavy_wheel(seed: int) -> None:
    tally = Tally()
    look_at(heavy_wheel_of(seed, 2), tally)
    assert tally.faults == []


@pytest.mark.parametrize(
    ("seed", "pieces"), [(183, 1), (439, 1), (10008, 2), (10281, 2), (10155, 2), (10203, 2), (10105, 2), (444, 1)]
)
def test_what_once_was_missed(seed: int, pieces: int) -> None:
    """Beyond what was supposed; held by a ceiling or by the lip; after the work was spent; what seldom passes."""
    tally = Tally()
    look_at(wheel_of(seed, pieces), tally)
    assert tally.faults == []


def test_the_optimisers_can_fail_a_plan() -> None:
    """A plan of a shelf that lacks the best weights, held against the whole shelf, takes too long."""
    request = wheel_of(0, 1)
    poor = replace(request.stock, clip_ons=request.stock.clip_ons[:3])
    (arrangement, *_) = arrangements(
        find_places(request.wheel, request.stock, request.preferences).places, static=False
    )[0]
    problem = set_up(request, arrangement.places, 0)
    best = least_effort(problem)
    assert best is not None
    worse = make_plan(replace(request, stock=poor)).layouts[0]
    assert weigh(problem, worse).effort > best.effort + 0.02


def test_every_kind_of_wheel_is_there() -> None:
    """And most of them can be done."""
    tally = Tally()
    decisions = [str(look_at(wheel_of(seed, 1), tally).decision) for seed in range(2 * len(KINDS))]
    assert decisions.count("fit") >= len(KINDS)
    assert len(tally.gaps) >= len(KINDS)
