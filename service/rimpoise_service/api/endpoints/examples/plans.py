"""Worked requests for the document, all data invented; every one is answered 200, which a test holds."""

from __future__ import annotations

from typing import Any

from ...http.endpoint import Example
from .machine_readings import OWN_WORDS
from .readings import static, two_plane
from .stock import SHOP_STOCK, STRIP

TWO_PLANE = two_plane((-133.9, 222, 38, 112), (43.9, 222, 22, 287.5)) | {"reports": "correction"}

INNER_LAND: dict[str, Any] = {
    "name": "inner land",
    "side": "inboard",
    "position_mm": -110,
    "radius_mm": 205,
    "width_mm": 40,
    "behind_spokes": False,
    "visible": False,
}
OUTER_LAND: dict[str, Any] = {
    "name": "outer land",
    "side": "outboard",
    "position_mm": -5,
    "radius_mm": 198,
    "width_mm": 35,
    "behind_spokes": True,
    "visible": True,
    "max_height_mm": 8,
}

ALLOY_WHEEL: dict[str, Any] = {
    "rim_size": "7Jx17 ET45",
    "material": "alloy",
    "origin": "factory",
    "vehicle_class": "car",
    "flanges": {
        "inboard": {"present": True, "thickness_mm": 3.2},
        "outboard": {"present": True, "thickness_mm": 3.2},
    },
    "lands": [INNER_LAND, OUTER_LAND],
    "spokes": {"kind": "even", "count": 5, "first_deg": 36, "width_deg": 32},
    "keep_out": [
        {"place": "inner land", "from_deg": 352, "to_deg": 8, "reason": "valve with pressure sensor"},
    ],
}

STEEL_WHEEL: dict[str, Any] = {
    "rim_size": "6Jx15 ET40",
    "material": "steel",
    "origin": "factory",
    "vehicle_class": "car",
    "flanges": {"inboard": {"present": True}, "outboard": {"present": True}},
}

EXAMPLES: dict[str, dict[str, Example]] = {
    "planFitting": {
        "at_places": Example(
            "Steel wheel, the planes at both flanges as the balancer was set to them",
            {
                "reading": {
                    "kind": "two_plane",
                    "spun": "bare",
                    "planes": [
                        {"kind": "at", "place": "inboard_flange", "mass_g": 35, "angle_deg": 80},
                        {"kind": "at", "place": "outboard_flange", "mass_g": 25, "angle_deg": 255},
                    ],
                },
                "wheel": STEEL_WHEEL,
                "stock": {"kind": "builtin", "name": "metric"},
            },
        ),
        "own_words": Example(
            "Just as the balancer shows it: the heavy spot, counterclockwise, ounces and inches",
            {"reading": OWN_WORDS, "wheel": STEEL_WHEEL, "stock": {"kind": "builtin", "name": "ounce"}},
        ),
        "brief": Example(
            "The same for a balancer's small screen: no more than where the weights go",
            {
                "reading": OWN_WORDS,
                "wheel": STEEL_WHEEL,
                "stock": {"kind": "builtin", "name": "ounce"},
                "preferences": {"detail": "brief"},
            },
        ),
        "hidden": Example(
            "Alloy wheel, two-plane reading, weights out of sight",
            {
                "reading": TWO_PLANE,
                "wheel": ALLOY_WHEEL,
                "stock": {"kind": "builtin", "name": "metric"},
                "preferences": {"appearance": "out_of_sight"},
                "inspection": ["none"],
                "reference": "job 1047, front left",
            },
        ),
        "own_stock": Example(
            "The shop's own stock with prices, tighter limits, a careful hand",
            {
                "reading": TWO_PLANE,
                "wheel": ALLOY_WHEEL,
                "stock": SHOP_STOCK,
                "preferences": {"appearance": "clean_face", "max_pieces_per_plane": 1},
                "acceptance": {"kind": "masses", "per_plane_g": 4, "static_g": 3},
                "spread": {"angle_sd_deg": 1, "clip_position_sd_mm": 1, "mass_sd_pct": 2, "machine_sd_g": 0.5},
            },
        ),
        "steel_wheel": Example(
            "Steel wheel, one static reading, ounces",
            {
                "reading": static((-40, 195, 42, 71)),
                "wheel": STEEL_WHEEL,
                "stock": {"kind": "builtin", "name": "ounce"},
                "preferences": {"correction": "static", "styles": ["clip_on"]},
            },
        ),
        "by_grade": Example(
            "Good enough by grade G 40 at 160 km/h, the mass centre outboard of the middle",
            {
                "reading": TWO_PLANE,
                "wheel": ALLOY_WHEEL,
                "stock": {"kind": "builtin", "name": "metric"},
                "acceptance": {
                    "kind": "grade",
                    "grade": "G40",
                    "assembly_mass_kg": 21.5,
                    "speed_kmh": 160,
                    "tyre_size": "225/45 R17",
                    "mass_centre_mm": -30,
                },
            },
        ),
        "repair_first": Example(
            "A damaged tyre: repair or replace comes first",
            {
                "reading": TWO_PLANE,
                "wheel": STEEL_WHEEL,
                "stock": {"kind": "builtin", "name": "metric"},
                "inspection": ["sidewall_bulge", "low_pressure"],
            },
        ),
    },
    "chooseStyles": {
        "alloy": Example(
            "Alloy wheel, nothing on the face",
            {
                "wheel": ALLOY_WHEEL,
                "stock": {"kind": "builtin", "name": "metric"},
                "preferences": {"appearance": "clean_face"},
            },
        ),
        "unknown_flange": Example(
            "An aftermarket wheel whose flange nobody measured yet",
            {
                "wheel": {
                    "material": "alloy",
                    "origin": "aftermarket",
                    "vehicle_class": "light_truck",
                    "offset_mm": 20,
                    "flanges": {
                        "inboard": {"present": True},
                        "outboard": {"present": False},
                    },
                    "lands": [INNER_LAND],
                },
                "stock": SHOP_STOCK,
            },
        ),
    },
    "computeCorrections": {
        "move_inboard": Example(
            "A two-plane call moved from the flanges to two lands",
            {
                "reading": TWO_PLANE,
                "planes": [
                    {"name": "inner land", "position_mm": -110, "radius_mm": 203.2},
                    {"name": "outer land", "position_mm": -5, "radius_mm": 196.2},
                ],
            },
        ),
        "static_only": Example(
            "A static vector and a couple, corrected in one plane, with an old weight still on",
            {
                "reading": {
                    "kind": "static_couple",
                    "position_mm": -45,
                    "static_gmm": 5200,
                    "static_angle_deg": 30,
                    "couple_gmm2": 410000,
                    "couple_angle_deg": 200,
                    "reports": "unbalance",
                    "old_weights": [{"position_mm": -133.9, "radius_mm": 222, "mass_g": 15, "angle_deg": 95}],
                },
                "planes": [{"name": "middle", "position_mm": -45, "radius_mm": 200}],
            },
        ),
        "textbook": Example(
            "Four masses on a shaft, to be balanced in two planes",
            {
                "reading": {
                    "kind": "point_masses",
                    "masses": [
                        {"position_mm": 0, "radius_mm": 180, "mass_g": 80, "angle_deg": 0},
                        {"position_mm": 200, "radius_mm": 160, "mass_g": 100, "angle_deg": 90},
                        {"position_mm": 350, "radius_mm": 150, "mass_g": 120, "angle_deg": 210},
                        {"position_mm": 500, "radius_mm": 200, "mass_g": 60, "angle_deg": 315},
                    ],
                    "reports": "unbalance",
                },
                "planes": [
                    {"name": "A", "position_mm": 100, "radius_mm": 200},
                    {"name": "B", "position_mm": 400, "radius_mm": 200},
                ],
            },
        ),
    },
    "splitBehindSpokes": {
        "even_spokes": Example(
            "60 g between two of five spokes",
            {
                "target": {"mass_g": 60, "angle_deg": 80, "radius_mm": 198},
                "spokes": {"kind": "even", "count": 5, "first_deg": 44, "width_deg": 40},
                "strip": STRIP,
            },
        ),
        "near_enough": Example(
            "10 g half way between two spokes: 5 g behind each leave no more than 2 g",
            {
                "target": {"mass_g": 10, "angle_deg": 36, "radius_mm": 198},
                "spokes": {"kind": "even", "count": 5, "first_deg": 0, "width_deg": 36},
                "strip": STRIP,
                "within_g": 2,
            },
        ),
        "windows": Example(
            "Named spokes, one of them partly taken by a sensor; the least that can be left",
            {
                "target": {"mass_g": 35, "angle_deg": 200, "radius_mm": 222},
                "land_radius_mm": 198,
                "spokes": {
                    "kind": "windows",
                    "windows": [
                        {"name": "long", "centre_deg": 180, "width_deg": 44},
                        {"name": "left", "centre_deg": 236, "width_deg": 26},
                        {"name": "right", "centre_deg": 124, "width_deg": 26},
                    ],
                },
                "strip": STRIP,
                "max_pieces": 3,
                "keep_out": [{"from_deg": 172, "to_deg": 185, "reason": "pressure sensor"}],
                "within_g": 0,
            },
        ),
    },
    "roundToStock": {
        "steps": Example(
            "Two planes, multiples of 5 g, chosen together",
            {
                "targets": [
                    {"plane": "inner", "position_mm": -120, "radius_mm": 210, "mass_g": 23, "angle_deg": 40},
                    {"plane": "outer", "position_mm": 40, "radius_mm": 222, "mass_g": 17.4, "angle_deg": 305},
                ],
                "step_g": 5,
                "max_mass_g": 60,
                "aim": "static_first",
                "per_plane_g": 5,
            },
        ),
        "masses": Example(
            "One plane, the masses in the drawer",
            {
                "targets": [
                    {"plane": "inner", "position_mm": -120, "radius_mm": 210, "mass_g": 23, "angle_deg": 40}
                ],
                "masses_g": [10, 15, 20, 30],
            },
        ),
    },
}
EXAMPLES["printPlan"] = {name: EXAMPLES["planFitting"][name] for name in ("hidden", "repair_first")}
