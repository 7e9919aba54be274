"""Spreads through HTTP: by hand, from a plan and back into one, and what no input may do."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest

from tests.api.fixture_types import Ask, Example


def static(mass_g: float, angle_deg: float = 0) -> dict[str, Any]:
    return {
        "kind": "static",
        "plane": {
            "kind": "position",
            "position_mm": -40,
            "radius_mm": 200,
            "mass_g": mass_g,
            "angle_deg": angle_deg,
        },
    }


def by_name(answer: Any) -> dict[str, Any]:
    return {e["name"]: e for e in answer["estimates"]}


def test_spins_by_hand(ask: Ask) -> None:
    """Four wheels read twice, 2 g apart in one component: squares of 8 together, over 8 degrees of freedom."""
    repeats = [{"readings": [static(m), static(m + 2)]} for m in (10, 20, 30, 40)]
    answer = ask("/v1/spreads", {"repeats": repeats}).get_json()
    assert answer["spread"] == {"machine_sd_g": pytest.approx(math.sqrt(1 - 0.01 / 12), abs=1e-4)}
    machine = by_name(answer)["machine_sd_g"]
    assert (machine["n"], machine["identified"]) == (8, True)
    assert machine["low"] < 1 < machine["high"]
    assert answer["calibration"] == {"bins": [], "brier": None, "brier_parts": None, "first_pass_pct": None}


def test_the_example_tells_what_it_can(ask: Ask, example: Example) -> None:
    answer = ask("/v1/spreads", example("estimateSpreads", "history")).get_json()
    assert "machine_sd_g" in answer["spread"]
    for name, sd in answer["spread"].items():
        estimate = by_name(answer)[name]
        assert estimate["identified"]
        assert 0 < estimate["low"] <= sd == estimate["sd"] <= estimate["high"]
    assert sum(b["n"] for b in answer["calibration"]["bins"]) == 2
    parts = answer["calibration"]["brier_parts"]
    whole = parts["reliability"] - parts["resolution"] + parts["uncertainty"] + parts["within"]
    assert whole == pytest.approx(answer["calibration"]["brier"], abs=5e-6)


def test_pieces_of_a_plan_are_taken_as_they_come(ask: Ask, example: Example) -> None:
    """A planned piece and the same by hand make the same answer; unknown fields of the former pass."""
    plan = ask("/v1/plans", example("planFitting", "own_stock")).get_json()
    pieces = plan["recommended"]["pieces"]
    assert pieces
    before = example("planFitting", "own_stock")["reading"]
    kept = ("style", "position_mm", "radius_mm", "mass_g", "angle_deg", "arc_deg")
    planned = [p | {"kind": "planned"} for p in pieces]
    by_hand = [{k: p[k] for k in kept} | {"kind": "mass"} for p in pieces]
    answers = []
    for fitted in (planned, by_hand):
        job = {"before": before, "fitted": fitted, "after": before, "pass_chance_pct": 90}
        response = ask("/v1/spreads", {"jobs": [job]})
        assert response.status_code == 200
        answers.append(response.get_json())
    assert answers[0] == answers[1]


def test_the_acceptance_decides_what_a_pass_is(ask: Ask) -> None:
    job = {"before": static(30), "fitted": [], "after": static(7), "pass_chance_pct": 80}
    tight = ask("/v1/spreads", {"jobs": [job]}).get_json()
    wide = ask(
        "/v1/spreads", {"jobs": [job], "acceptance": {"kind": "masses", "per_plane_g": 10, "static_g": 10}}
    ).get_json()
    assert [a["calibration"]["first_pass_pct"] for a in (tight, wide)] == [0, 100]


def test_a_wild_entry_is_named(ask: Ask, example: Example) -> None:
    body = example("estimateSpreads", "history")
    body["jobs"] = json.loads(json.dumps(body["jobs"] * 6))
    body["jobs"][5]["fitted"][0]["angle_deg"] = (body["jobs"][5]["fitted"][0]["angle_deg"] + 90) % 360
    answer = ask("/v1/spreads", body).get_json()
    assert answer["outliers"] == [{"list": "jobs", "index": 5}]
    assert "entries_left_out" in [w["code"] for w in answer["warnings"]]


@pytest.mark.parametrize(
    ("reading", "word"), [({"kind": "point_masses", "masses": []}, "two_plane"), ({}, "is missing")]
)
def test_readings_without_planes_are_refused(ask: Ask, reading: dict[str, Any], word: str) -> None:
    response = ask("/v1/spreads", {"repeats": [{"readings": [static(5), reading]}]})
    assert response.status_code == 400
    (error,) = response.get_json()["errors"]
    assert error["pointer"] == "#/repeats/0/readings/1/kind"
    assert word in error["detail"]


@pytest.mark.parametrize("extreme", [0, 1_000_000])
def test_extremes_are_answered(ask: Ask, extreme: float) -> None:
    """Nothing at all, and masses beyond any wheel: numbers come back, never a fault."""
    repeats = [{"readings": [static(extreme), static(extreme, 180)]}] * 9
    jobs = [{"before": static(extreme), "fitted": [], "after": static(extreme)}] * 9
    response = ask("/v1/spreads", {"repeats": repeats, "remounts": repeats, "jobs": jobs})
    assert response.status_code == 200
    assert "NaN" not in response.text


@pytest.mark.parametrize(("size", "status"), [(4 * 2**20, 200), (4 * 2**20 + 1, 413)])
def test_a_history_may_be_larger_than_other_requests(ask: Ask, size: int, status: int) -> None:
    body = json.dumps({"repeats": [{"readings": [static(5), static(6)]}]}).encode()
    assert ask("/v1/spreads", body + b" " * (size - len(body))).status_code == status


@pytest.mark.slow
def test_a_thousand_jobs_with_planned_pieces_fit(ask: Ask, example: Example) -> None:
    plan = ask("/v1/plans", example("planFitting", "own_stock")).get_json()
    pieces = [p | {"kind": "planned"} for p in plan["recommended"]["pieces"]]
    before = example("planFitting", "own_stock")["reading"]
    jobs = [{"before": before, "fitted": pieces, "after": before, "pass_chance_pct": 90}] * 1000
    response = ask("/v1/spreads", {"jobs": jobs})
    assert response.status_code == 200
    assert sum(b["n"] for b in response.get_json()["calibration"]["bins"]) == 1000
