"""Worked requests for check spins and tyre turns, all data invented."""

from __future__ import annotations

from typing import Any

from ...http.endpoint import Example
from .readings import static, two_plane

BEFORE: dict[str, Any] = two_plane((-133.9, 222, 40.6, 112), (43.9, 222, 20.8, 287.5))
FITTED: list[dict[str, Any]] = [
    {"kind": "mass", "position_mm": -133.9, "radius_mm": 222, "mass_g": 40, "angle_deg": 112},
    {"kind": "mass", "position_mm": 43.9, "radius_mm": 222, "mass_g": 20, "angle_deg": 287.5},
]

EXAMPLES: dict[str, dict[str, Example]] = {
    "explainCheckSpin": {
        "shifted": Example(
            "The inboard clip-on went on some degrees off",
            {
                "before": BEFORE,
                "fitted": FITTED,
                "after": two_plane((-133.9, 222, 10.4, 31), (43.9, 222, 1.3, 281)),
            },
        ),
        "static": Example(
            "One strip, read statically, on a machine that repeats well",
            {
                "before": static((-40, 195, 42, 71)),
                "fitted": [
                    {
                        "kind": "mass",
                        "style": "adhesive",
                        "position_mm": -60,
                        "radius_mm": 195,
                        "mass_g": 40,
                        "angle_deg": 71,
                    }
                ],
                "after": static((-40, 195, 12, 70)),
                "acceptance": {"kind": "masses", "per_plane_g": 4, "static_g": 4},
                "spread": {"machine_sd_g": 0.5},
                "reclamped": "no",
            },
        ),
        "couple": Example(
            "Readings as static vector and couple, reported at two planes",
            {
                "before": {
                    "kind": "static_couple",
                    "position_mm": -45,
                    "static_gmm": 5200,
                    "static_angle_deg": 30,
                    "couple_gmm2": 410000,
                    "couple_angle_deg": 200,
                    "reports": "unbalance",
                },
                "fitted": [
                    {"kind": "mass", "position_mm": -120, "radius_mm": 200, "mass_g": 30, "angle_deg": 219},
                    {"kind": "mass", "position_mm": 20, "radius_mm": 200, "mass_g": 10, "angle_deg": 140},
                ],
                "after": {
                    "kind": "static_couple",
                    "position_mm": -45,
                    "static_gmm": 900,
                    "static_angle_deg": 310,
                    "couple_gmm2": 120000,
                    "couple_angle_deg": 95,
                    "reports": "unbalance",
                },
                "planes": [
                    {"name": "inner", "position_mm": -120, "radius_mm": 200},
                    {"name": "outer", "position_mm": 20, "radius_mm": 200},
                ],
            },
        ),
    },
    "weighTyreTurn": {
        "half_turn": Example(
            "Much weight in two planes; the tyre was turned by half a turn and read again",
            {
                "readings": [
                    two_plane((-133.9, 222, 62, 112), (43.9, 222, 48, 131)),
                    two_plane((-133.9, 222, 31, 196), (43.9, 222, 24, 215)),
                ],
                "turn_deg": 180,
                "stock": {"kind": "builtin", "name": "metric"},
            },
        ),
        "static": Example(
            "Two static readings, a third of a turn between them",
            {
                "readings": [
                    static((-40, 195, 42, 71)),
                    static((-40, 195, 55, 118)),
                ],
                "turn_deg": 120,
                "stock": {"kind": "builtin", "name": "ounce"},
                "worth_g": 28.35,
                "machine_sd_g": 0.5,
            },
        ),
    },
}
