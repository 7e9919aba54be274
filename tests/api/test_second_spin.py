"""Check spins and tyre turns through HTTP: worked numbers, extremes that must not fail, words filled in."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import pytest
from werkzeug.test import TestResponse

Ask = Callable[[str, object], TestResponse]
Example = Callable[[str, str], Any]
SPINS, TURNS = "/v1/check-spins", "/v1/tyre-turns"


def test_a_piece_fifteen_degrees_off(ask: Ask, example: Example) -> None:
    """After = before + pieces with the first at 127°, worked out here by forces in each plane."""
    body = example("explainCheckSpin", "shifted")
    real = [(40, 127.0), (20, 287.5)]
    for plane, was, (mass, angle) in zip(body["after"]["planes"], body["before"]["planes"], real, strict=True):
        x, y = (
            was["mass_g"] * f(math.radians(was["angle_deg"])) - mass * f(math.radians(angle))
            for f in (math.cos, math.sin)
        )
        plane |= {"mass_g": math.hypot(x, y), "angle_deg": math.degrees(math.atan2(y, x)) % 360}
    told = ask(SPINS, body).get_json()
    best = told["explanations"][0]
    assert (told["verdict"], best["cause"], best["piece"], best["size_unit"]) == (
        "adjust",
        "piece_shifted",
        0,
        "deg",
    )
    assert best["size"] == pytest.approx(15, abs=1e-5)
    assert best["moves"][0]["to_deg"] == 112
    assert best["unexplained_g"] < 1e-5
    assert best["odds"] == 1
    assert "15° anticlockwise" in best["action"]
    assert [a["kind"] for a in told["adjustments"]] == ["cure", "trim"]


def test_matched_tyre_and_rim(ask: Ask) -> None:
    """Rim 30 g at 0°, tyre 50 g at 90°, half a turn: ||R| − |T|| = 20 g is left at the best turn of 90°."""
    size = math.hypot(30, 50)
    angle = math.degrees(math.atan2(50, 30))
    readings = [
        {
            "kind": "static",
            "plane": {"kind": "position", "position_mm": 0, "radius_mm": 200, "mass_g": size, "angle_deg": a},
            "reports": "unbalance",
        }
        for a in (angle, 360 - angle)
    ]
    told = ask(TURNS, {"readings": readings, "turn_deg": 180}).get_json()
    assert told["verdict"] == "pays"
    assert told["best"]["turn_deg"] == pytest.approx(90, abs=1e-5)
    assert told["best"]["exact_g"] == pytest.approx(20, abs=1e-5)
    assert [told[p][0]["mass_g"] for p in ("rim", "tyre")] == pytest.approx([30, 50], abs=1e-5)
    assert told["best"]["weights"] == [{"plane": "static", "mass_g": 20.0, "angle_deg": 0.0}]


EXTREMES = [
    lambda m: m | {"mass_g": 1e-300},
    lambda m: m | {"mass_g": 0},
    lambda m: m | {"mass_g": 1_000_000, "radius_mm": 5_000},
    lambda m: m | {"radius_mm": 0.1},
    lambda m: m | {"position_mm": m["position_mm"] / 1e3},
    lambda m: m | {"position_mm": m["position_mm"] * 50, "radius_mm": 0.1},
]


@pytest.mark.parametrize("change", EXTREMES)
@pytest.mark.parametrize("sd", [0.01, 1000])
@pytest.mark.parametrize("name", ["before", "fitted", "after", "readings"])
def test_extremes_are_answered(
    ask: Ask, example: Example, change: Callable[[Any], Any], sd: float, name: str
) -> None:
    path, body = (
        (TURNS, example("weighTyreTurn", "half_turn"))
        if name == "readings"
        else (SPINS, example("explainCheckSpin", "shifted"))
    )
    body["machine_sd_g"] = sd
    for holder in _lists(body[name]):
        holder[:] = [change(m) for m in holder]
    response = ask(path, body)
    assert response.status_code in (200, 422), response.text
    if response.status_code == 422:
        assert {e["rule"] for e in response.get_json()["errors"]} == {"planes_apart"}


def _lists(value: Any) -> list[list[Any]]:
    if isinstance(value, dict):
        return [value["planes"]]
    return [r["planes"] for r in value] if "planes" in value[0] else [value]


def test_every_sentence_is_filled_in(ask: Ask, example: Example) -> None:
    """No action of any cause lacks a value: a wheel that each cause says something of."""
    body = example("explainCheckSpin", "shifted")
    body["after"]["planes"][0] |= {"mass_g": 30, "angle_deg": 100}
    told = ask(SPINS, body).get_json()
    causes = {e["cause"] for e in told["explanations"]}
    assert causes >= {
        "piece_shifted",
        "piece_light",
        "piece_on_other_plane",
        "piece_mirrored",
        "centring",
    }
    assert all(e["action"].endswith(".") and "{" not in e["action"] for e in told["explanations"])
    assert "nan" not in json.dumps(told).lower().replace("explanations", "")
