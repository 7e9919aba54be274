"""The heaviest plans that anyone could think of, within the schema: how long, and how much memory, at the most."""

from __future__ import annotations

import resource
from typing import Any

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops.settings import Settings
from tests.bench.timing import cpu_ms

from .echo import TWO_CLIPS
from .table import table

PLANES = [
    {"position_mm": -100, "radius_mm": 200, "mass_g": 97.3, "angle_deg": 33},
    {"position_mm": 100, "radius_mm": 200, "mass_g": 83.1, "angle_deg": 123},
]
READING = {"kind": "two_plane", "planes": [{"kind": "position", **plane} for plane in PLANES]}
BARE = {"inboard": {"present": False}, "outboard": {"present": False}}
HARD = {"kind": "masses", "per_plane_g": 0.1, "static_g": 0.1}


def lands(count: int, *, behind_spokes: bool) -> list[dict[str, Any]]:
    """So many, each far enough from the next."""
    return [
        {"name": f"land {n}", "side": "inboard" if n < count / 2 else "outboard", "position_mm": 25 * n - 88}
        | {"radius_mm": 180 + n, "width_mm": 40, "behind_spokes": behind_spokes, "visible": True}
        for n in range(count)
    ]


def strips(count: int, segment_mm: float, longest: int, on_hand: int | None) -> list[dict[str, Any]]:
    """Strips of all kinds."""
    shelf = {} if on_hand is None else {"on_hand": on_hand}
    return [
        {"sku": f"strip {n}", "material": "steel", "segment_mass_g": 0.37 + 0.01 * n, "width_mm": 10}
        | {"segment_length_mm": segment_mm, "thickness_mm": 2, "max_segments": longest}
        | shelf
        for n in range(count)
    ]


def clip_ons(on_hand: int | None) -> list[dict[str, Any]]:
    """As many as a shelf may have."""
    shelf = {} if on_hand is None else {"on_hand": on_hand}
    return [
        {"sku": f"clip {n}", "mass_g": 5 + n / 4, "material": "zinc", "length_mm": 10} | shelf for n in range(200)
    ]


def behind_spokes(windows: int, segment_mm: float, longest: int) -> dict[str, Any]:
    """Eight lands, twenty strips, four pieces a plane, limits that nothing meets."""
    each = 360 / windows
    spokes = [{"name": f"w{n}", "centre_deg": n * each, "width_deg": each * 0.8} for n in range(windows)]
    wheel = {
        "flanges": BARE,
        "lands": lands(8, behind_spokes=True),
        "spokes": {"kind": "windows", "windows": spokes},
    }
    return _plan(wheel, {"kind": "own", "clip_ons": [], "strips": strips(20, segment_mm, longest, None)}, HARD)


def everything(acceptance_g: float, on_hand: int | None) -> dict[str, Any]:
    """Both flanges and eight lands, all stock there can be."""
    flange = {"present": True, "thickness_mm": 3, "radius_mm": 200}
    wheel = {
        "flanges": {"inboard": flange | {"position_mm": -100}, "outboard": flange | {"position_mm": 100}},
        "lands": lands(8, behind_spokes=False),
    }
    stock = {"kind": "own", "clip_ons": clip_ons(on_hand), "strips": strips(20, 10, 6, on_hand)}
    return _plan(wheel, stock, {"kind": "masses", "per_plane_g": acceptance_g, "static_g": acceptance_g})


def _plan(wheel: dict[str, Any], stock: dict[str, Any], acceptance: dict[str, Any]) -> dict[str, Any]:
    whole = {"material": "alloy", "origin": "aftermarket", "vehicle_class": "car"} | wheel
    return {
        "reading": READING,
        "wheel": whole,
        "stock": stock,
        "preferences": {"max_pieces_per_plane": 4},
        "acceptance": acceptance,
    }


PLANS = {
    "two clip-ons": TWO_CLIPS,
    "8 lands, 20 strips, 40 windows": behind_spokes(40, 1, 3),
    "the same, longer strips": behind_spokes(40, 1, 60),
    "the same, 10 windows": behind_spokes(10, 1, 60),
    "flanges, 8 lands, all stock, hard limits": everything(0.05, None),
    "the same, shelves that run out": everything(0.05, 9),
    "the same, limits just not met": everything(80, 30),
}


def report() -> None:
    """Print the table."""
    client, rows = create_app(Settings(work_rate=0)).test_client(), list[list[Any]]()
    for name, body in PLANS.items():
        decisions = set[str]()

        def ask(body: dict[str, Any] = body, decisions: set[str] = decisions) -> None:
            answer = client.post("/v1/plans", json=body)
            assert answer.status_code == 200, answer.text
            decisions.add(answer.get_json()["decision"])

        spent = cpu_ms(ask, at_least_s=0.1, rounds=1)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        rows.append(
            [name, *decisions, spent / 1e3, spent / 1e3 / (rows[0][2] if rows else spent / 1e3), round(memory)]
        )
    table(("plan", "decision", "s CPU", "× two clip-ons", "peak memory so far, MB"), rows)
