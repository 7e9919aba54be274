"""A hand-made wheel, shelf and reading whose numbers are round, so that answers can be worked out on paper."""

from __future__ import annotations

from typing import Any

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import ClipOn, Stock, Strip
from rimpoise_service.model.wheel import Flange, KeepOut, Land, Wheel
from rimpoise_service.physics.readings import Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.models import Layout, Plan, PlanRequest, Preferences

INNER_MM, OUTER_MM, RADIUS_MM = -100.0, 100.0, 200.0
INBOARD = Flange(present=True, position_mm=INNER_MM, radius_mm=RADIUS_MM)
OUTBOARD = Flange(present=True, position_mm=OUTER_MM, radius_mm=RADIUS_MM)
NO_FLANGE = Flange(present=False)

BOTH = "clip-on on inboard flange + clip-on on outboard flange"
ONE_PIECE = Preferences(max_pieces_per_plane=1)


def wheel(**other: Any) -> Wheel:
    """Steel, both flanges measured, no lands; any of it otherwise."""
    reported: dict[str, Any] = {
        "material": "steel",
        "origin": "factory",
        "vehicle_class": "car",
        "inboard": INBOARD,
        "outboard": OUTBOARD,
    }
    return Wheel(**(reported | other))


def land(name: str, position_mm: float, **other: Any) -> Land:
    """A land at the flanges' radius that can't be seen."""
    reported: dict[str, Any] = {
        "side": "inboard" if position_mm < 0 else "outboard",
        "radius_mm": RADIUS_MM,
        "width_mm": 30.0,
        "behind_spokes": False,
        "visible": False,
    }
    return Land(name=name, position_mm=position_mm, **(reported | other))


def keep_out(place: str, from_deg: float, to_deg: float) -> KeepOut:
    """A valve there."""
    return KeepOut(place, Arc.between(from_deg, to_deg), "valve")


def clips(*masses_g: float, **other: Any) -> tuple[ClipOn, ...]:
    """A clip-on of each mass, short enough to act nearly as a point."""
    reported: dict[str, Any] = {"material": "zinc", "length_mm": 10.0, "height_mm": 10.0}
    return tuple(ClipOn(sku=f"C-{m:g}", mass_g=m, **(reported | other)) for m in masses_g)


def strip(segment_mass_g: float = 5.0, **other: Any) -> Strip:
    """A strip of short segments."""
    reported: dict[str, Any] = {
        "sku": f"S-{segment_mass_g:g}",
        "material": "steel",
        "segment_length_mm": 10.0,
        "width_mm": 20.0,
        "thickness_mm": 4.0,
        "max_segments": 12,
    }
    return Strip(segment_mass_g=segment_mass_g, **(reported | other))


FIVES = Stock(clips(*range(5, 65, 5)), (strip(),))


def two_plane(inner_g: float, inner_deg: float, outer_g: float, outer_deg: float, **other: Any) -> TwoPlane:
    """Corrections called in the planes of the flanges."""
    inner = PointMass(INNER_MM, RADIUS_MM, inner_g, inner_deg)
    outer = PointMass(OUTER_MM, RADIUS_MM, outer_g, outer_deg)
    return TwoPlane((inner, outer), **other)


CALLED = two_plane(30, 40, 20, 210)


def static(mass_g: float, angle_deg: float, **other: Any) -> Static:
    """A correction called in the middle."""
    return Static(PointMass(0.0, RADIUS_MM, mass_g, angle_deg), **other)


def fitted(plan: Plan) -> list[tuple[str, float, int]]:
    """The recommended pieces: place, mass [g], and angle to the nearest degree."""
    assert plan.recommended is not None
    return [(p.place, p.mass_g, round(p.angle_deg) % 360) for p in plan.recommended.pieces]


def codes(remarks: Any) -> list[str]:
    """Their codes."""
    return [r.code for r in remarks]


def reasons(plan: Any, layout: str) -> list[str]:
    """Why a layout was ruled out."""
    return next((codes(r.reasons) for r in plan.ruled_out if r.name == layout), [])


def request(reading: Any, wheel: Wheel, stock: Stock = FIVES, **other: Any) -> PlanRequest:
    """A question."""
    return PlanRequest(reading, wheel, stock, **other)


def layout(plan: Plan, name: str) -> Layout:
    """The layout of that name."""
    return next(found for found in plan.layouts if found.name == name)
