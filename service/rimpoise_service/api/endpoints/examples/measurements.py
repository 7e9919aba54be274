"""Worked requests of the measuring operations, for the document; invented, or with their source."""

from __future__ import annotations

from typing import Any

from ...http.endpoint import Example
from .readings import static, two_plane


def _vibrations(*pairs: tuple[float, float]) -> list[dict[str, float]]:
    return [{"amplitude": amplitude, "phase_deg": phase} for amplitude, phase in pairs]


def _trial(plane: str, mass_g: float, angle_deg: float, *pairs: tuple[float, float]) -> dict[str, Any]:
    return {"plane": plane, "mass_g": mass_g, "angle_deg": angle_deg, "responses": _vibrations(*pairs)}


def _static(mass_g: float, angle_deg: float) -> dict[str, Any]:
    return static((-45, 203, mass_g, angle_deg))


def _two_plane(inboard: tuple[float, float], outboard: tuple[float, float]) -> dict[str, Any]:
    return two_plane((-134, 218.3, *inboard), (44, 218.3, *outboard))


EXAMPLES: dict[str, dict[str, Example]] = {
    "evaluateTrialRuns": {
        "two_planes": Example(
            "Two planes, two sensors (S. S. Rao, Mechanical Vibrations, ch. 9, from memory)",
            {
                "initial": _vibrations((8.5, 60), (6.5, 205)),
                "trials": [
                    _trial("left", 10, 270, (6, 125), (4.5, 230)),
                    _trial("right", 12, 180, (6, 35), (10.5, 160)),
                ],
                "trial_weights": "removed",
            },
        ),
        "two_speeds": Example(
            "One plane, one sensor at two speeds, the faster one trusted more",
            {
                "initial": _vibrations((2.1, 41), (5.6, 52)),
                "trials": [_trial("fan side", 15, 0, (2.6, 352), (6.3, 5))],
                "trial_weights": "left_on",
                "weights": [1, 3],
            },
        ),
        "four_runs": Example(
            "The four-run method: amplitudes alone",
            {
                "initial": [{"amplitude": 6.1}],
                "trials": [
                    {"plane": "hub", "mass_g": 20, "angle_deg": angle, "responses": [{"amplitude": seen}]}
                    for angle, seen in ((0, 8.9), (120, 3.6), (240, 7.1))
                ],
            },
        ),
    },
    "checkCentring": {
        "quarter_turns": Example(
            "A wheel read at quarter turns, one plane",
            {"readings": [_static(*seen) for seen in ((31.2, 214), (27.4, 301), (25.9, 35), (30.1, 127))]},
        ),
        "machine": Example(
            "Empty shaft, a weight of 60 g called back, and three spins without touching anything",
            {
                "empty_shaft": _two_plane((0.8, 120), (1.1, 255)),
                "known_weight": {
                    "weight": {"position_mm": 44, "radius_mm": 218.3, "mass_g": 60, "angle_deg": 90},
                    "before": _two_plane((2, 10), (3, 200)),
                    "reading": _two_plane((2.4, 20), (59.1, 268.5)),
                },
                "repeats": [
                    _two_plane((24.1, 80), (17.7, 300)),
                    _two_plane((24.6, 81), (17.2, 299)),
                    _two_plane((23.8, 79.5), (17.9, 301)),
                ],
                "limit_g": 3,
            },
        ),
        "published": Example(
            "A car maker's test of a balancer (Chevrolet Blazer 2WD, service manual 2000): empty shaft, 85 g "
            "called back, five spins, four positions 90° apart, each within 7 g",
            {
                "empty_shaft": _two_plane((1.4, 200), (0.6, 31)),
                "known_weight": {
                    "weight": {"position_mm": 44, "radius_mm": 218.3, "mass_g": 85, "angle_deg": 0},
                    "reading": _two_plane((1.1, 75), (84.2, 180.5)),
                },
                "repeats": [
                    _two_plane((mass, angle), (84 + k / 4, 180))
                    for k, (mass, angle) in enumerate([(1.1, 75), (1.6, 82), (0.9, 60), (1.3, 71), (1.2, 90)])
                ],
                "readings": [
                    _two_plane((2.2, 40), (84.2, angle + slip))
                    for angle, slip in [(180, 0.5), (270, 0.9), (0, 1.2), (90, 0.2)]
                ],
                "limit_g": 7,
            },
        ),
        "half_turn": Example(
            "Half a turn, two planes, angles from the wheel's mark",
            {
                "readings": [_two_plane((18, 40), (12, 220)), _two_plane((6, 75), (11, 231))],
                "angles_from": "wheel",
            },
        ),
    },
    "computeTolerances": {
        "car_wheel": Example(
            "A car wheel at 200 km/h, held to G 40 at its flanges",
            {
                "grade": "G40",
                "assembly_mass_kg": 20,
                "speed_kmh": 200,
                "tyre_size": "225/45 R17",
                "planes": [
                    {"name": "inboard", "position_mm": -133.9, "radius_mm": 218.3},
                    {"name": "outboard", "position_mm": 43.9, "radius_mm": 218.3},
                ],
            },
        ),
        "rotor": Example(
            "A rotor of 3600 kg at 3000 r/min, G 2.5 (informative example of ISO 21940-11, from memory)",
            {
                "grade": "G2.5",
                "assembly_mass_kg": 3600,
                "speed_rpm": 3000,
                "mass_centre_mm": 1500,
                "planes": [
                    {"name": "A", "position_mm": 0, "radius_mm": 400},
                    {"name": "B", "position_mm": 2400, "radius_mm": 400},
                ],
            },
        ),
    },
}
