"""What invented balancers show, in their own words."""

from __future__ import annotations

from typing import Any

OWN_WORDS: dict[str, Any] = {
    "kind": "machine",
    "spun": "bare",
    "device": {
        "angle_sense": "counterclockwise",
        "mass_unit": "oz",
        "mass_step": 0.05,
        "zero_below": 0.2,
        "distance_unit": "in",
        "calls": "unbalance",
        "label": "bay 2",
    },
    "shown": {
        "kind": "planes",
        "inboard": {"mass": 1.25, "angle": -68},
        "outboard": {"mass": 0.75, "angle": 255},
    },
    "set_to": {
        "kind": "dialled",
        "distance": 4.1,
        "width": 6,
        "inboard_size": 15,
        "outboard_size": 15,
        "tied": {"kind": "inboard_is", "place": "inboard_flange"},
    },
}
