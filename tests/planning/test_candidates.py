"""Ways to fill a place: what they take from the shelves, and what bounds their number."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rimpoise_service.model.stock import ClipOn, Stock, Strip
from rimpoise_service.model.wheel import Flange, Land, Wheel, even_spokes
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning import candidates as module
from rimpoise_service.planning.acceptance import default_acceptance
from rimpoise_service.planning.candidates import CandidateArrays, CandidatePool
from rimpoise_service.planning.models import PlanRequest, Preferences
from rimpoise_service.planning.places import Place, find_places
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.search.branch_and_bound import WorkBudget

LIP = Flange(True, thickness_mm=3.2, radius_mm=200.0)
WHEEL = Wheel(
    "alloy",
    "aftermarket",
    "car",
    inboard=replace(LIP, position_mm=-130.0),
    outboard=replace(LIP, position_mm=40.0),
)
CLIPS = tuple(ClipOn(f"clip {g}", float(g), "zinc", length_mm=20.0, on_hand=2) for g in (5, 10, 15, 20))
STOCK = Stock(CLIPS, ())
READING = TwoPlane((PointMass(-130.0, 200.0, 31.0, 77.0), PointMass(40.0, 200.0, 24.0, 211.0)))


def ways_of(place: Place, pieces: int, leave_gmm: float) -> CandidateArrays:
    slot = CandidatePool(place, 30 * 200.0 + 0j, np.inf, 8, WorkBudget(1_000_000))
    return slot.ways(pieces).and_whole_degrees(slot, pieces, leave_gmm)


@pytest.fixture
def place() -> Place:
    return find_places(WHEEL, STOCK, Preferences(max_pieces_per_plane=2)).places[0]


@pytest.mark.parametrize("pieces", [0, 1, 2])
def test_what_is_taken_is_what_the_weights_are(pieces: int, place: Place) -> None:
    found = ways_of(place, pieces, leave_gmm=2500.0)
    skus = [clip.sku for clip in CLIPS]
    taken = found.taken(skus)
    assert taken.shape == (len(found.vectors), len(skus))
    for way in range(len(found.vectors)):
        units = [unit.item.sku for unit in found[way].units]
        assert taken[way].tolist() == [units.count(sku) for sku in skus]
        assert taken[way].sum() == pieces


def test_shelves_that_nobody_asks_about_do_not_count(place: Place) -> None:
    assert ways_of(place, 1, 2500.0).taken(["none"]).sum() == 0


def test_whole_degrees_come_the_same_in_any_blocks(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = ways_of(place, 2, leave_gmm=2500.0)
    assert len(whole.vectors) > 50
    monkeypatch.setattr(module, "TURNED_AT_ONCE", 1)
    assert np.array_equal(ways_of(place, 2, leave_gmm=2500.0).vectors, whole.vectors)


def test_too_many_whole_degrees_are_left_out(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    searched = ways_of(place, 1, leave_gmm=0.0)
    monkeypatch.setattr(module, "MAX_TURNED", 3)
    assert np.array_equal(ways_of(place, 1, leave_gmm=2500.0).vectors, searched.vectors)


def test_a_plan_without_them_is_still_a_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two of each mass on hand: neither plan takes more, and the one with whole degrees leaves no more."""
    request = PlanRequest(READING, WHEEL, STOCK, acceptance=default_acceptance(None))
    exact = make_plan(request)
    monkeypatch.setattr(module, "MAX_TURNED", 0)
    for plan in (exact, coarse := make_plan(request)):
        assert plan.recommended
        skus = [piece.sku for piece in plan.recommended.pieces]
        assert max(map(skus.count, skus)) <= 2
    assert exact.layouts[0].limit_ratio <= coarse.layouts[0].limit_ratio + 1e-9


def test_of_two_strips_the_ways_that_leave_least_come_first() -> None:
    """Whichever strip they are of; a light one that leaves much is no way at all where eight better ones are."""
    strips = tuple(
        Strip(f"strip {g}", "steel", g, segment_length_mm=12.0, width_mm=15.0, thickness_mm=3.0, max_segments=12)
        for g in (1.3, 4.7)
    )
    spokes = even_spokes(5, 20, 40)
    land = Land("land", "inboard", -110.0, 190.0, 30.0, behind_spokes=True, visible=True)
    wheel = Wheel("alloy", "factory", "car", lands=(land,), spokes=spokes)
    place = find_places(wheel, Stock((), strips), Preferences()).places[-1]
    slot = CandidatePool(place, 30 * 190.0 + 0j, np.inf, 8, WorkBudget(1_000_000))
    for pieces in (1, 2):
        ways = slot.ways(pieces)
        left = abs(slot.target - ways.vectors)
        assert len(left) == 8
        assert (np.diff(left) > -1e-6).all()
        assert ways.least == pytest.approx(left[0])
