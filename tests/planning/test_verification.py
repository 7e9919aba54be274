"""The independent check: a good plan's pieces with one property spoilt at a time, and a search that lies."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.examples.plans import EXAMPLES
from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import Stock
from rimpoise_service.model.wheel import even_spokes
from rimpoise_service.planning import layout_solver
from rimpoise_service.planning.joint_solver import JointSolver
from rimpoise_service.planning.layout_solver import Filling
from rimpoise_service.planning.models import Piece, PlanRequest
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.planning.verification import PlanFault, verify
from rimpoise_service.search.blocks import FittedWeight
from tests.factories.by_hand import INBOARD, NO_FLANGE, clips, keep_out, land, strip, two_plane, wheel

WHEEL = wheel(
    inboard=replace(INBOARD, max_height_mm=10.0),
    outboard=NO_FLANGE,
    lands=(land("face land", 100, visible=True, behind_spokes=True, max_height_mm=4.0),),
    spokes=even_spokes(6, 0, 40),
    keep_out=(keep_out("inboard_flange", 170, 190), keep_out("face land", 350, 10)),
)
STOCK = Stock(clips(20, 30, on_hand=2), (strip(on_hand=12, width_mm=30.0),))
CALLED = PlanRequest(two_plane(30, 40, 40, 210), WHEEL, STOCK)


def good() -> list[Piece]:
    """A clip-on inboard, two strips behind spokes 4 and 5: a plan that passes."""
    plan = make_plan(CALLED)
    pieces = next(found.pieces for found in plan.layouts if len({p.window for p in found.pieces}) == 3)
    assert [p.style for p in pieces] == ["clip_on", "adhesive", "adhesive"]
    verify(CALLED, pieces)
    return list(pieces)


CLIP, FOURTH, FIFTH = range(3)


def spoilt(index: int, **changes: Any) -> list[Piece]:
    """The good pieces, one of them otherwise."""
    pieces = good()
    pieces[index] = replace(pieces[index], **changes)
    return pieces


@pytest.mark.parametrize(
    ("index", "changes", "fault"),
    [
        (CLIP, {"mass_g": 31.0}, "C-30 of 31.0 g is not in stock"),
        (FOURTH, {"mass_g": 21.0}, "S-5 of 21.0 g is not in stock"),
        (CLIP, {"sku": "C-99"}, "C-99 of 30 g is not in stock"),
        (FOURTH, {"sku": "S-99"}, "S-99 of .* g is not in stock"),
        (CLIP, {"style": "adhesive"}, "C-30 of 30 g is not in stock"),
        (CLIP, {"segments": 6}, "C-30 of 30 g is not in stock"),
        (FOURTH, {"segments": None}, "S-5 of .* g is not in stock"),
        (FOURTH, {"segments": 13, "mass_g": 65.0}, "S-5 of 65.0 g is not in stock"),
        (CLIP, {"angle_deg": 180.0}, "C-30 at 180.0° touches valve"),
        (CLIP, {"angle_deg": 168.7}, "C-30 at 168.7° touches valve"),
        (FOURTH, {"angle_deg": 200.0}, "S-5 at 200.0° sticks out from behind spoke 4"),
        (FOURTH, {"window": "5"}, "S-5 at .* sticks out from behind spoke 5"),
        (FOURTH, {"window": "nave"}, "S-5 at .* sticks out from behind spoke nave"),
        (CLIP, {"place": "outboard_flange"}, "is not in the plane of outboard_flange"),
        (CLIP, {"place": "hub"}, "is not in the plane of hub"),
        (CLIP, {"place": "rim"}, "is not in the plane of rim"),
        (CLIP, {"position_mm": 0.0}, "C-30 at 0.0 mm is not in the plane of inboard_flange"),
        (FOURTH, {"position_mm": -60.0}, "S-5 at -60.0 mm is not in the plane of face land"),
        (FOURTH, {"place": "nave"}, "is not in the plane of nave"),
        (CLIP, {"radius_mm": 198.0}, "radius_mm of C-30 on inboard_flange is 198.0, not 200"),
        (FOURTH, {"radius_mm": 200.0}, "radius_mm of S-5 on face land is 200.0, not 198"),
        (CLIP, {"effective_gmm": 6000.0}, "effective_gmm of C-30 on inboard_flange is 6000.0, not 5999.3"),
        (CLIP, {"arc_deg": 0.0}, "arc_deg of C-30 on inboard_flange is 0.0, not 2.86"),
        (CLIP, {"hidden": False}, "C-30 at .* on inboard_flange is hidden"),
        (FOURTH, {"hidden": False}, "S-5 at .* on face land is hidden"),
        (CLIP, {"length_mm": None}, "length_mm of C-30 on inboard_flange is 0.0, not 10"),
        (FOURTH, {"length_mm": 10.0}, "length_mm of S-5 on face land is 10.0, not"),
    ],
)
def test_one_property_spoilt(index: int, changes: dict[str, Any], fault: str) -> None:
    with pytest.raises(PlanFault, match=fault):
        verify(CALLED, spoilt(index, **changes))


def test_pieces_that_overlap() -> None:
    pieces = good()
    with pytest.raises(PlanFault, match=r"S-5 at .* and S-5 at .* overlap"):
        verify(CALLED, [*pieces, replace(pieces[FIFTH], angle_deg=pieces[FIFTH].angle_deg + 1)])


TOUCHING = replace(WHEEL, spokes=(Arc.centred(200, 30, "a"), Arc.centred(230, 30, "b"), Arc.centred(275, 30, "c")))
"""b touches a; c is apart."""


@pytest.mark.parametrize(
    ("spokes", "angle_deg", "arc_deg", "window", "behind"),
    [
        (TOUCHING.spokes, 215.0, 20.0, "a and b", True),
        (TOUCHING.spokes, 215.0, 60.0, "a and b", True),
        (TOUCHING.spokes, 215.0, 60.1, "a and b", False),
        (TOUCHING.spokes, 195.0, 10.0, "a", True),
        (TOUCHING.spokes, 252.0, 10.0, "b to c", False),
        (TOUCHING.spokes, 252.0, 30.0, "b to c", False),
        ((Arc.centred(0, 360, "disc"),), 180.0, 90.0, "disc", True),  # over the seam
        (even_spokes(7, 0, 360 / 7), 33.0, 170.0, "1 to 7", True),
        (even_spokes(7, 0, 50), 33.0, 60.0, "1 and 2", False),
        ((), 33.0, 10.0, "1", False),
    ],
)
def test_spokes_that_touch_are_one_cover(
    spokes: tuple[Arc, ...], angle_deg: float, arc_deg: float, window: str, behind: bool
) -> None:
    wheel_so = replace(WHEEL, spokes=spokes, keep_out=())
    there = spoilt(FOURTH, angle_deg=angle_deg, arc_deg=arc_deg, window=window, hidden=behind)[FOURTH]
    with pytest.raises(PlanFault) as found:  # of another shape than its weight, but is it hidden?
        verify(replace(CALLED, wheel=wheel_so), [there])
    assert ("sticks out" in str(found.value)) != behind
    assert "is hidden" not in str(found.value)
    assert "is visible" not in str(found.value)


def test_every_fault_is_reported() -> None:
    with pytest.raises(PlanFault, match=r"touches valve.*radius_mm"):
        verify(CALLED, spoilt(CLIP, angle_deg=180.0, radius_mm=190.0))


def with_shelf(stock: Stock) -> PlanRequest:
    return replace(CALLED, stock=stock)


@pytest.mark.parametrize(
    ("plan_request", "fault"),
    [
        (with_shelf(Stock(clips(20, 30, on_hand=0), STOCK.strips)), "1 of C-30 taken, 0 on hand"),
        (with_shelf(Stock(STOCK.clip_ons, (strip(on_hand=7, width_mm=30.0),))), "9 of S-5 taken, 7 on hand"),
        (
            with_shelf(Stock(clips(20, 30, height_mm=10.5), STOCK.strips)),
            "C-30 is 10.5 mm high where 10.0 mm",
        ),
        (
            with_shelf(Stock(clips(20, 30, height_mm=None), STOCK.strips)),
            "C-30 is None mm high where 10.0 mm",
        ),
        (with_shelf(Stock(STOCK.clip_ons, (strip(width_mm=30.1),))), "S-5 is wider than face land"),
        (with_shelf(Stock(STOCK.clip_ons, (strip(thickness_mm=4.1),))), "S-5 is 4.1 mm high where 4.0 mm clear"),
        (with_shelf(Stock(STOCK.clip_ons)), "S-5 of .* g is not in stock"),
    ],
)
def test_a_shelf_or_a_clearance_that_is_not_so(plan_request: PlanRequest, fault: str) -> None:
    """The same pieces, and another shop or brake than they were planned for."""
    with pytest.raises(PlanFault, match=fault):
        verify(plan_request, good())


def beside_the_brake(clearance_mm: float | None) -> PlanRequest:
    """5 mm from the face land to the nearest part, of which so many must stay free."""
    near = land("face land", 100, visible=True, behind_spokes=True, gap_mm=5.0, clearance_mm=clearance_mm)
    return replace(CALLED, wheel=replace(WHEEL, lands=(near,)))


def test_a_clearance_that_is_given_is_kept_instead_of_the_usual() -> None:
    """Strips of 4 mm: there is room if 1 mm must stay free, none if it is 1.5 mm, or the usual 3."""
    verify(beside_the_brake(1.0), good())
    for clearance_mm, room_mm in ((1.5, 3.5), (None, 2.0)):
        with pytest.raises(PlanFault, match=f"S-5 is 4.0 mm high where {room_mm} mm clear"):
            verify(beside_the_brake(clearance_mm), good())


def test_the_search_is_not_believed(monkeypatch: pytest.MonkeyPatch) -> None:
    """It says that it leaves half of what its pieces leave."""
    honest = layout_solver.found_filling

    def lying(solver: JointSolver) -> Filling | None:
        filling = honest(solver)
        return filling and replace(filling, limit_ratio=filling.limit_ratio / 2)

    monkeypatch.setattr(layout_solver, "found_filling", lying)
    with pytest.raises(PlanFault, match=r"the search leaves .* of the limits, the check"):
        make_plan(CALLED)


def test_a_lie_is_an_error_of_ours_with_an_id_and_no_internals(monkeypatch: pytest.MonkeyPatch) -> None:
    """Heavier by a tenth, as if the stock had it."""
    honest = layout_solver.Filling.weights

    def lying(self: Filling, direction: Callable[[float], float]) -> list[list[FittedWeight]]:
        found = honest(self, direction)
        return [[replace(w, size=w.size * 1.1, mass_g=w.mass_g * 1.1) for w in of] for of in found]

    monkeypatch.setattr(layout_solver.Filling, "weights", lying)
    with create_app().test_client() as client:
        response = client.post("/v1/plans", json=EXAMPLES["planFitting"]["hidden"].body)
    problem = response.get_json()
    assert (response.status_code, response.content_type) == (500, "application/problem+json")
    assert problem["instance"].startswith("urn:uuid:")
    said = response.get_data(as_text=True)
    assert not [word for word in ("Fault", "stock", "CLIP", "Traceback", ".py", "check") if word in said]


@pytest.mark.parametrize(
    ("index", "place"), [(CLIP, "face land"), (FOURTH, "inboard_flange"), (FOURTH, "outboard_flange")]
)
def test_a_style_on_the_other_styles_surface(index: int, place: str) -> None:
    """A clip-on on a land, or a strip on a flange, is a fault wherever it is along the axis."""
    for position_mm in (-100.0, 100.0):
        with pytest.raises(PlanFault, match=f"is not in the plane of {place}"):
            verify(CALLED, spoilt(index, place=place, position_mm=position_mm))
