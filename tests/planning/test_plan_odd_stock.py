"""Odd shelves: only heavy weights, clip-ons of unknown length, more kinds than anyone has."""

from __future__ import annotations

import math
import tracemalloc

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import ClipOn, Stock
from rimpoise_service.model.wheel import Flange, Wheel
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.models import Decision, PlanRequest
from rimpoise_service.planning.planner import make_plan
from rimpoise_service.search.block_catalogue import ClipOptions

LIPS = Flange(True, position_mm=-130, radius_mm=215), Flange(True, position_mm=45, radius_mm=215)
WHEEL = Wheel("steel", "factory", "car", inboard=LIPS[0], outboard=LIPS[1])


def request(inboard_g: float, outboard_g: float, *clips: ClipOn) -> PlanRequest:
    called = PointMass(-130, 215, inboard_g, 30), PointMass(45, 215, outboard_g, 200)
    return PlanRequest(TwoPlane(called), WHEEL, Stock(clips))


def test_weights_never_pull_against_each_other() -> None:
    """6 g called in each plane, nothing but 60 g on the shelf: four would cancel out, and nobody fits them."""
    plan = make_plan(request(6, 6, ClipOn("c60", 60.0, "zinc", length_mm=50)))
    assert (plan.decision, plan.layouts) == (Decision.NONE_POSSIBLE, ())


def test_clip_ons_of_unknown_length_do_not_lie_on_top_of_each_other() -> None:
    """70 g called, 40 g the heaviest: two go side by side, 25 mm apart, though they act as points."""
    plan = make_plan(request(70, 70, ClipOn("c40", 40.0, "zinc"), ClipOn("c30", 30.0, "zinc")))
    assert plan.recommended is not None
    for place in ("inboard_flange", "outboard_flange"):
        one, other = (p for p in plan.recommended.pieces if p.place == place)
        apart = math.radians(abs(math.remainder(one.angle_deg - other.angle_deg, 360)))
        assert apart * 215 >= 25 - 1e-6
        assert one.arc_deg == 0


def test_more_pairs_than_there_is_room_for_are_not_formed() -> None:
    clips = [ClipOn(f"c{i}", 1.0 + i, "zinc", length_mm=10) for i in range(200)]
    arcs = [Arc(k * 10.0, 9.0) for k in range(33)]
    tracemalloc.start()
    try:
        options = ClipOptions.on_flange(clips, 215.0, arcs, 2)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert len(options.blocks) == 200 * 33
    assert peak < 50_000_000
