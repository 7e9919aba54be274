"""Invented wheels and plans to draw."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import BUILTIN
from rimpoise_service.model.wheel import Flange, KeepOut, Land, Wheel, even_spokes
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.models import STYLES, CauseFirst, PlanRequest, Preferences, Style

LIP = Flange(present=True, thickness_mm=3.2)
ALLOY = Wheel(
    "alloy",
    "aftermarket",
    "car",
    rim_size="7Jx17 ET45",
    inboard=LIP,
    outboard=LIP,
    lands=(
        Land("inner land", "inboard", -110.0, 205.0, 40.0, behind_spokes=False, visible=False),
        Land("outer land", "outboard", -5.0, 198.0, 30.0, behind_spokes=True, visible=True),
    ),
    spokes=even_spokes(5, 0.0, 34.0),
    keep_out=(
        KeepOut("inner land", Arc.between(350.0, 10.0), "valve"),
        KeepOut("outer land", Arc.between(350.0, 10.0), "valve"),
        KeepOut("outer land", Arc.between(186.0, 201.0), "weld"),
    ),
)
MEASURED = (
    Flange(present=True, thickness_mm=3.0, position_mm=-130.0, radius_mm=221.0),
    Flange(present=True, thickness_mm=3.0, position_mm=42.0, radius_mm=222.0),
)
WHEELS: dict[str, Wheel] = {
    "3_spokes": replace(ALLOY, spokes=even_spokes(3, 17.0, 50.0)),
    "5_spokes": ALLOY,
    "10_spokes": replace(ALLOY, spokes=even_spokes(10, 0.0, 16.0)),
    "15_spokes": replace(ALLOY, spokes=even_spokes(15, 5.0, 9.0)),
    "close_together": ALLOY,
    "no_spokes": replace(ALLOY, spokes=()),
    "no_rim": replace(ALLOY, rim_size=None, inboard=None, outboard=None),
    "no_offset": replace(ALLOY, rim_size="7Jx17"),
    "measured_flanges": replace(ALLOY, rim_size="7Jx17", inboard=MEASURED[0], outboard=MEASURED[1]),
    "flanges_alone": replace(
        ALLOY, rim_size=None, inboard=MEASURED[0], outboard=MEASURED[1], lands=(), spokes=(), keep_out=()
    ),
    "crossed_lands": replace(
        ALLOY,
        lands=(*ALLOY.lands, Land("between", "inboard", -95.0, 200.0, 40.0, behind_spokes=False, visible=False)),
    ),
}
CASES = [*((name, 2) for name in WHEELS), ("5_spokes", 1), ("15_spokes", 4), ("3_spokes", 3)]


def two_plane(inner_g: float, inner_deg: float, outer_g: float, outer_deg: float) -> TwoPlane:
    """Corrections called at the flanges of a 7Jx17 ET45 rim."""
    return TwoPlane((PointMass(-133.9, 218.3, inner_g, inner_deg), PointMass(43.9, 218.3, outer_g, outer_deg)))


def plan_request(name: str = "5_spokes", max_pieces: int = 2, **other: Any) -> PlanRequest:
    """A wheel by its name, to be planned with so many pieces a plane: some close together, some long."""
    reading: TwoPlane = two_plane(38.0, 112.0, 26.0, 250.0)
    styles: tuple[Style, ...] = STYLES
    if name == "close_together":
        reading, styles = two_plane(38.0, 8.0, 26.0, 12.0), ("clip_on",)
    if max_pieces > 2:
        reading, styles = two_plane(110.0, 112.0, 95.0, 250.0), ("adhesive",)
    never = CauseFirst(None, 10_000)
    wishes = Preferences("out_of_sight", styles, max_pieces_per_plane=max_pieces, cause_first_g=never)
    return PlanRequest(reading, WHEELS[name], BUILTIN["metric"], wishes, **other)
