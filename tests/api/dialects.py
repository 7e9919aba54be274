"""Three invented balancers as they show a wheel, what they call, and the same wheel by place and by position.

The wheel: 7Jx17 ET45, so its flanges are at -45 -+ 3.5 in and at 218.3 mm (ISO 4000-2 Table 4, from memory).
"""

from __future__ import annotations

import cmath
import math
from typing import Any

OZ, INCH, RADIUS_MM = 28.349523125, 25.4, 218.3
FLANGES_MM = (-45 - 3.5 * INCH, -45 + 3.5 * INCH)
WHEEL = {
    "rim_size": "7Jx17 ET45",
    "material": "steel",
    "origin": "factory",
    "vehicle_class": "car",
    "flanges": {"inboard": {"present": True}, "outboard": {"present": True}},
}

OWN_DATUM = {
    "kind": "machine",
    "spun": "bare",
    "device": {"label": "bay 1, distances from its body", "mass_step": 1},
    "shown": {"kind": "planes", "inboard": {"mass": 35, "angle": 80}, "outboard": {"mass": 25, "angle": 255}},
    "set_to": {
        "kind": "dialled",
        "distance": 105,
        "width": 7,
        "inboard_size": 17.188976,
        "outboard_size": 17.188976,
        "tied": {"kind": "inboard_is", "place": "inboard_flange"},
    },
}
HEAVY_SPOT = {
    "kind": "machine",
    "spun": "bare",
    "device": {
        "label": "bay 2, the heavy spot",
        "angle_sense": "counterclockwise",
        "mass_unit": "oz",
        "mass_step": 0.05,
        "distance_unit": "in",
        "calls": "unbalance",
    },
    "shown": {"kind": "planes", "inboard": {"mass": 1.25, "angle": -68}, "outboard": {"mass": 0.75, "angle": 255}},
    "set_to": {
        "kind": "dialled_two",
        "inboard_distance": 4,
        "outboard_distance": 11,
        "inboard_size": 17.188976,
        "outboard_size": 17.188976,
        "tied": {"kind": "mounting_face", "distance": 4 + (45 + 3.5 * INCH) / INCH},
    },
}
STATIC_COUPLE = {
    "kind": "machine",
    "spun": "bare",
    "device": {"label": "bay 3", "seen_from": "inboard", "mass_step": 1},
    "shown": {
        "kind": "static_couple",
        "static": {"mass": 30, "angle": 50},
        "couple": {"mass": 20, "valve_at": {"kind": "clock", "clock": "4:00"}},
    },
    "set_to": {"kind": "places", "inboard": "inboard_flange", "outboard": "outboard_flange"},
}


def corrections(name: str) -> tuple[complex, complex]:
    """What is called inboard and outboard, in g at the flanges, clockwise seen from outboard; by hand."""
    at = {
        # as they stand
        "own datum": (cmath.rect(35, math.radians(80)), cmath.rect(25, math.radians(255))),
        # counterclockwise, so the other way round; the heavy spot, so half a turn on; ounces
        "heavy spot": (
            cmath.rect(1.25 * OZ, math.radians(68 + 180)),
            cmath.rect(0.75 * OZ, math.radians(-255 + 180)),
        ),
    }
    if name in at:
        return at[name]
    # seen from inboard the other way round; the valve at 4:00 from there is at -120° from outboard, so that the
    # weight, at the top, is at 120° of the valve; half the static mass a side, the couple outboard, opposed in
    static, couple = cmath.rect(30, math.radians(-50)), cmath.rect(20, math.radians(120))
    return static / 2 - couple, static / 2 + couple


DIALECTS: dict[str, dict[str, Any]] = {
    "own datum": OWN_DATUM,
    "heavy spot": HEAVY_SPOT,
    "static and couple": STATIC_COUPLE,
}


PLANE = {"name": "a", "position_mm": 0, "radius_mm": 200}
PLACED = {"kind": "static", "plane": {"kind": "at", "place": "inboard_flange", "mass_g": 30, "angle_deg": 40}}
POSITIONED = {
    "kind": "static",
    "plane": {
        "kind": "position",
        "position_mm": FLANGES_MM[0],
        "radius_mm": RADIUS_MM,
        "mass_g": 30,
        "angle_deg": 40,
    },
}
SHOWN = {
    "kind": "machine",
    "shown": {"kind": "static", "mass": 30, "angle": 40},
    "set_to": {"kind": "place", "place": "inboard_flange"},
}
