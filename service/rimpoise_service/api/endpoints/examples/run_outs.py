"""Worked requests for run-out, all data invented; and their drawing and sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ...http.endpoint import Example

ASSEMBLY = (0.73, 1.18, 1.45, 1.57, 1.58, 1.51, 1.26, 0.85, 0.4, 0.04, -0.01, 0.24)
SIDEWALL = (
    0.86,
    0.93,
    1.03,
    1.07,
    1.07,
    0.96,
    0.84,
    0.68,
    1.21,
    0.37,
    0.27,
    0.22,
    0.21,
    0.27,
    0.32,
    0.34,
    0.46,
    0.48,
    0.49,
    0.51,
    0.53,
    0.56,
    0.61,
    0.72,
)
INNER = (0.23, 0.36, 0.42, 0.48, 0.45, 0.37, 0.3, 0.16, 0.07, 0.04, 0.07, 0.12)
OUTER = (0.18, 0.27, 0.33, 0.4, 0.45, 0.44, 0.4, 0.25, 0.14, 0.04, 0.02, 0.09)
HUB = (-0.02, -0.01, 0.03, 0.01, 0.06, 0.02, 0.06, 0.02)
"""Readings [mm] at even angles from the mark on."""


def _trace(part: str, direction: str, readings: Sequence[float]) -> dict[str, Any]:
    step = 360 / len(readings)
    angles = [step * i for i in range(len(readings))]
    return {"direction": direction, "part": part, "angle_deg": angles, "reading_mm": [*readings]}


WHOLE: dict[str, Any] = {
    "traces": [
        _trace("assembly", "radial", ASSEMBLY),
        _trace("assembly", "lateral", SIDEWALL),
        _trace("rim_inboard", "radial", INNER),
        _trace("rim_outboard", "radial", OUTER),
    ],
    "wheel_mass_kg": 20,
    "planes": {
        "inboard": {"position_mm": -134, "radius_mm": 218.3},
        "outboard": {"position_mm": 44, "radius_mm": 218.3},
    },
    "wheel": {
        "rim_size": "7Jx17",
        "offset_mm": 45,
        "material": "alloy",
        "origin": "factory",
        "vehicle_class": "car",
    },
    "force_first_harmonic": {"force_n": 95, "angle_deg": 130},
}
HUB_ALONE: dict[str, Any] = {
    "traces": [_trace("hub", "radial", HUB)],
    "limits": [{"part": "hub", "direction": "radial", "total_mm": 0.05}],
}

HUB_EXAMPLE = {"hub": Example("A hub against a limit of its maker's", HUB_ALONE)}

EXAMPLES: dict[str, dict[str, Example]] = {
    "judgeRunOut": {
        "turn": Example("A tyre that runs out on a rim that hardly does, with its force", WHOLE),
        **HUB_EXAMPLE,
    },
    "drawRunOut": HUB_EXAMPLE,
    "printRunOut": HUB_EXAMPLE,
}
