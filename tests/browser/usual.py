"""Requests for the sheets of usual wheels, invented: those that fill a page the most."""

from __future__ import annotations

from typing import Any

STOCK = {"kind": "builtin", "name": "metric"}
LIP, NO_LIP = {"present": True, "thickness_mm": 3.0}, {"present": False}
SPOKES = {"kind": "even", "count": 5, "first_deg": 18, "width_deg": 22}


def land(name: str, side: str, position_mm: float, radius_mm: float, width_mm: float) -> dict[str, Any]:
    """A band for strips; an outboard one is behind the spokes and can be seen."""
    seen = side == "outboard"
    place = {"position_mm": position_mm, "radius_mm": radius_mm, "width_mm": width_mm}
    return {"name": name, "side": side, **place, "behind_spokes": seen, "visible": seen}


INSIDE, BEHIND = land("inner land", "inboard", -60, 190, 40), land("outer land", "outboard", -15, 178, 25)
LEFT = land("left band", "inboard", -30, 190, 25)
RIGHT = land("right band", "outboard", 30, 190, 25) | {"behind_spokes": False, "visible": False}


def wheel(inboard: Any, outboard: Any, *lands: Any, **more: Any) -> dict[str, Any]:
    """An alloy wheel of a car, unless it says otherwise."""
    flanges = {"inboard": inboard, "outboard": outboard}
    kept = {"material": "alloy", "origin": "factory", "vehicle_class": "car", "rim_size": "6.5Jx16 ET40"}
    return {**kept, "flanges": flanges, **({"lands": list(lands)} if lands else {}), **more}


def at(place: str, mass_g: float, angle_deg: float) -> dict[str, Any]:
    """What was read at a place."""
    return {"kind": "at", "place": place, "mass_g": mass_g, "angle_deg": angle_deg}


def asked(described: Any, *planes: Any, **wishes: Any) -> dict[str, Any]:
    """A plan request: static with one plane."""
    static, dynamic = {"kind": "static", "plane": planes[0]}, {"kind": "two_plane", "planes": list(planes)}
    reading = static if len(planes) == 1 else dynamic
    return {"reading": reading, "wheel": described, "stock": STOCK, "preferences": wishes}


FLANGES = (at("inboard_flange", 28, 75), at("outboard_flange", 12, 210))
HIDDEN = (at("inboard_flange", 45, 10), at("outboard_flange", 52, 200))
ONE_LIP = wheel(LIP, NO_LIP, BEHIND, finish="polished", spokes=SPOKES)
TWO_LANDS = wheel(NO_LIP, NO_LIP, INSIDE, BEHIND, finish="clear_coated", spokes=SPOKES)
MOTORCYCLE = wheel(NO_LIP, NO_LIP, LEFT, RIGHT, vehicle_class="motorcycle", rim_size="MT5.50x17")
TRUCK = wheel(LIP, LIP, material="steel", vehicle_class="heavy_truck", rim_size="8.25x22.5 ET165")

USUAL: dict[str, dict[str, Any]] = {
    "two_clips": asked(wheel(LIP, LIP), *FLANGES),
    "clip_and_hidden_strips_polished": asked(ONE_LIP, *HIDDEN, appearance="out_of_sight"),
    "two_rows_of_strips": asked(TWO_LANDS, at("inboard_flange", 35, 75), at("outboard_flange", 22, 210)),
    "static_strip": asked(TWO_LANDS, at("inner land", 35, 75)),
    "static_clip": asked(wheel(LIP, LIP), at("inboard_flange", 35, 75)),
    "one_lip": asked(wheel(LIP, NO_LIP), at("inboard_flange", 40, 75), at("outboard_flange", 38, 260)),
    "motorcycle": asked(MOTORCYCLE, at("left band", 18, 75), at("right band", 14, 310)),
    "truck": asked(TRUCK, at("inboard_flange", 180, 75), at("outboard_flange", 120, 210)),
    "too_much": asked(wheel(LIP, LIP), at("inboard_flange", 180, 75), at("outboard_flange", 160, 210)),
}
