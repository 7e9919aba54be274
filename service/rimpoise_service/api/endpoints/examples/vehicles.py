"""Worked requests for vehicles, all data invented."""

from __future__ import annotations

from typing import Any

from ...http.endpoint import Example
from .readings import two_plane

FLANGES = ((-133.9, 218.3), (43.9, 218.3))


def _reading(inboard: tuple[float, float], outboard: tuple[float, float]) -> dict[str, Any]:
    return two_plane((*FLANGES[0], *inboard), (*FLANGES[1], *outboard))


def _plan(inboard: tuple[float, float], outboard: tuple[float, float], **more: Any) -> dict[str, Any]:
    lip = {"present": True, "thickness_mm": 3.2}
    wheel = {
        "material": "alloy",
        "origin": "factory",
        "vehicle_class": "car",
        "flanges": {"inboard": lip, "outboard": lip},
        "rim_size": "7Jx17 ET45",
    }
    stock = {"kind": "builtin", "name": "metric"}
    return {"reading": _reading(inboard, outboard), "wheel": wheel, "stock": stock} | more


def _masses(inboard: tuple[float, float], outboard: tuple[float, float]) -> list[dict[str, Any]]:
    return [
        {"kind": "mass", "position_mm": z, "radius_mm": r, "mass_g": mass, "angle_deg": angle}
        for (z, r), (mass, angle) in zip(FLANGES, (inboard, outboard), strict=True)
    ]


_EXAMPLES = {
    "front_axle": Example(
        "Two wheels: one done as recommended, one with a weight by hand and its second pass still to do",
        {
            "vehicle_details": {"plate": "AB 123", "odometer_km": 48210},
            "wheels": [
                {
                    "position": "front_left",
                    "plan": _plan((35, 80), (25, 255)),
                    "check_spin": {"after": _reading((1.5, 30), (2, 140))},
                    "torque": {"torque_nm": 120, "second_pass": True},
                    "fitted_by": "K. Lund",
                },
                {
                    "position": "front_right",
                    "plan": _plan((20, 310), (10, 45)),
                    "check_spin": {
                        "fitted": _masses((20, 310), (10, 45)),
                        "after": _reading((1, 200), (1.4, 10)),
                    },
                    "torque": {"torque_nm": 120, "second_pass": False},
                    "fitted_by": "K. Lund",
                },
            ],
        },
    ),
    "spare": Example(
        "A road wheel that is already within its limits, and a spare with a finding",
        {
            "wheels": [
                {
                    "position": "rear_left",
                    "plan": _plan((2, 80), (1, 255)),
                    "torque": {"torque_nm": 110, "second_pass": True},
                },
                {"position": "spare", "plan": _plan((12, 60), (8, 40), inspection=["sidewall_bulge"])},
            ],
        },
    ),
}
EXAMPLES: dict[str, dict[str, Example]] = {"finishVehicle": _EXAMPLES, "printVehicle": _EXAMPLES}
