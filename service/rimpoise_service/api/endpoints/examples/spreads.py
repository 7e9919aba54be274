"""Worked requests for spreads, all data invented: one shop's spins and jobs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ...http.endpoint import Example

Called = tuple[float, float]
"""Mass [g] and angle [deg] in a plane."""

Both = tuple[Called, Called]

PLACES = ((-134, 222), (44, 222))
"""Position and radius of the planes of all wheels [mm]."""

REPEATS: Sequence[Sequence[Both]] = (
    (((22.1, 290), (24, 323)), ((21.3, 296), (24.5, 316)), ((22.7, 296), (24.6, 321))),
    (((25.1, 246), (13.8, 87)), ((25.7, 245), (14.3, 90)), ((25.9, 245), (12.6, 89))),
    (((12.2, 233), (31.9, 96)), ((11.4, 239), (31.5, 93)), ((12.9, 239), (31.9, 96))),
)

REMOUNTS: Sequence[Sequence[Both]] = (
    (((24.2, 165), (10.5, 68)), ((25, 163), (10.7, 74)), ((22.9, 165), (9.4, 80))),
)

JOBS: Sequence[tuple[Both, Both, Both, float]] = (
    (((13.8, 113), (23.8, 185)), ((15, 113), (25, 185)), ((2.5, 255), (2.1, 20)), 78),
    (((24.7, 230), (36.7, 31)), ((25, 230), (35, 31)), ((0.7, 310), (4.5, 340)), 67),
)
"""Read before, planned pieces, read after, chance to pass that the plan reported [%]."""


def _masses(called: Both) -> list[dict[str, Any]]:
    return [
        {"position_mm": z, "radius_mm": r, "mass_g": mass, "angle_deg": angle}
        for (z, r), (mass, angle) in zip(PLACES, called, strict=True)
    ]


def _reading(called: Both) -> dict[str, Any]:
    return {"kind": "two_plane", "planes": [{"kind": "position", **mass} for mass in _masses(called)]}


def _spins(groups: Sequence[Sequence[Both]]) -> list[dict[str, Any]]:
    return [{"readings": [_reading(called) for called in group]} for group in groups]


def _job(before: Both, planned: Both, after: Both, chance_pct: float) -> dict[str, Any]:
    fitted = [{"kind": "mass", **mass} for mass in _masses(planned)]
    return {
        "before": _reading(before),
        "fitted": fitted,
        "after": _reading(after),
        "pass_chance_pct": chance_pct,
    }


EXAMPLES: dict[str, dict[str, Example]] = {
    "estimateSpreads": {
        "history": Example(
            "Wheels spun again, wheels clamped again, and jobs",
            {"repeats": _spins(REPEATS), "remounts": _spins(REMOUNTS), "jobs": [_job(*job) for job in JOBS]},
        ),
        "machine": Example(
            "The machine alone: spins without touching the wheel", {"repeats": _spins(REPEATS[:1])}
        ),
    },
}
