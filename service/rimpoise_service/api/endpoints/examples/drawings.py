"""Worked requests of the drawings, all data invented."""

from __future__ import annotations

from typing import Any

from ...http.endpoint import Example
from .plans import ALLOY_WHEEL, TWO_PLANE

ANSWERED: dict[str, Any] = {
    "decision": "fit",
    "recommended": {
        "name": "adhesive on inner land + adhesive on outer land behind the spokes",
        "pieces": [
            {
                "kind": "planned",
                "place": "inner land",
                "style": "adhesive",
                "sku": "A-105",
                "mass_g": 40,
                "segments": 8,
                "position_mm": -110,
                "radius_mm": 203.2,
                "angle_deg": 112.5,
                "window": None,
                "arc_deg": 35.774,
                "hidden": True,
            },
            {
                "kind": "planned",
                "place": "outer land",
                "style": "adhesive",
                "sku": "A-105",
                "mass_g": 25,
                "segments": 5,
                "position_mm": -5,
                "radius_mm": 196.2,
                "angle_deg": 256.4,
                "window": "4",
                "arc_deg": 23.15,
                "hidden": True,
            },
        ],
        "residual": {"static_g": 1.9},
        "pass_chance_pct": 86.21,
    },
}

EXAMPLES: dict[str, dict[str, Example]] = {
    "drawPlan": {
        "plan_request": Example(
            "A plan request, on letter paper",
            {
                "kind": "request",
                "request": {
                    "reading": TWO_PLANE,
                    "wheel": ALLOY_WHEEL,
                    "stock": {"kind": "builtin", "name": "metric"},
                    "preferences": {"appearance": "out_of_sight"},
                },
                "paper": "letter",
            },
        ),
        "answer_and_wheel": Example(
            "A plan's answer, cut down to what is drawn, and its wheel",
            {"kind": "plan", "plan": ANSWERED, "wheel": ALLOY_WHEEL},
        ),
        "answer": Example("A plan's answer as it came, without the wheel", {"kind": "plan", "plan": ANSWERED}),
    },
}
