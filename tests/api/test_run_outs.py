"""Run-out through HTTP: worked cases, what is told of them, the drawing and the sheet."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET  # (ours, no strangers)
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from werkzeug.test import TestResponse

Ask = Callable[[str, object], TestResponse]
Example = Callable[[str, str], Any]

SVG = "{http://www.w3.org/2000/svg}"
TEXTBOOK = [2.4, 3.5, 4.1, 3.7, 2.6, 1.9, 1.6, -0.4, 1.6, 1.8, 3.0, 4.1]


def trace(part: str, direction: str, readings: list[float]) -> dict[str, Any]:
    angles = [360 / len(readings) * i for i in range(len(readings))]
    return {"part": part, "direction": direction, "angles_deg": angles, "readings_mm": readings}


def wave(count: int, *parts: tuple[int, float, float]) -> list[float]:
    angles = [360 / count * i for i in range(count)]
    return [sum(a * math.cos(k * math.radians(x - high)) for k, a, high in parts) for x in angles]


def test_a_textbook_table(ask: Ask) -> None:
    """Norma Mohd Basir, lecture notes on Fourier series, ch. 2, example 2.10 (read): a1 = 1.2555, b1 = 0.763."""
    answer = ask("/v1/run-outs", {"traces": [trace("assembly", "radial", TEXTBOOK)]}).get_json()
    (found,) = answer["traces"]
    first = found["harmonics"][0]
    angle = math.radians(first["high_deg"])
    assert first["amplitude_mm"] * math.cos(angle) == pytest.approx(7.533 / 6, abs=2e-3)
    assert first["amplitude_mm"] * math.sin(angle) == pytest.approx(4.576 / 6, abs=2e-3)
    assert (found["total_mm"], found["limit_mm"], found["within"]) == (4.5, 1.5, False)
    assert answer["verdict"] == "over"


def test_harmonics_are_numpys(ask: Ask) -> None:
    readings = np.random.default_rng(3).normal(size=36).round(3).tolist()
    answer = ask("/v1/run-outs", {"traces": [trace("hub", "radial", readings)]}).get_json()
    expected = 2 * np.abs(np.fft.rfft(readings))[1:7] / 36
    told = [h["amplitude_mm"] for h in answer["traces"][0]["harmonics"]]
    assert told == pytest.approx(list(expected), abs=1e-6)
    assert (answer["verdict"], answer["traces"][0]["within"]) == ("unknown", None)


def test_an_eccentricity_costs_mass_times_eccentricity(ask: Ask) -> None:
    """0.1 mm of 20 kg: 2,000 g·mm, 9.17 g at 218 mm."""
    planes = {side: {"position_mm": z, "radius_mm": 218} for side, z in (("inboard", -134), ("outboard", 44))}
    body = {
        "traces": [trace("assembly", "radial", wave(12, (1, 0.1, 75)))],
        "wheel_mass_kg": 20,
        "planes": planes,
    }
    found = ask("/v1/run-outs", body).get_json()["unbalance"]
    assert found["eccentricity_mm"] == pytest.approx(0.1)
    assert sum(p["mass_g"] for p in found["planes"]) == pytest.approx(2000 / 218, abs=1e-5)
    assert [(p["plane"], p["angle_deg"]) for p in found["planes"]] == [("inboard", 75), ("outboard", 75)]


def test_the_example_is_turned_and_says_why(ask: Ask, example: Example) -> None:
    answer = ask("/v1/run-outs", example("judgeRunOut", "turn")).get_json()
    assert answer["verdict"] == "over"
    assert answer["best_turn"]["pays"]
    best = answer["best_turn"]["rows"][-1]
    assert {k: v for k, v in best.items() if k != "goal"} == {
        k: v for k, v in answer["best_turn"].items() if k not in ("rows", "pays")
    }
    codes = [f["code"] for f in answer["findings"]]
    assert codes[0] == "run_out_over"
    assert "turn_tyre_run_out" in codes
    assert "tyre_work" in [c["code"] for c in answer["cautions"]]
    assert answer["traces"][1]["left_out_deg"] == [120]


@pytest.mark.parametrize(("material", "limit"), [("alloy", 0.5), ("steel", 0.8)])
def test_the_wheel_chooses_the_limit(ask: Ask, material: str, limit: float) -> None:
    body = {
        "traces": [trace("rim_inboard", "radial", wave(12, (1, 0.3, 0)))],
        "wheel": {"material": material, "origin": "factory", "vehicle": "car"},
    }
    found = ask("/v1/run-outs", body).get_json()["traces"][0]
    assert (found["limit_mm"], found["within"]) == (limit, limit == 0.8)
    assert found["limit_source"]


def test_minutes_of_a_turn_are_the_callers(ask: Ask, example: Example) -> None:
    body = example("judgeRunOut", "turn") | {"effort": {"tyre_turn_min": 21}}
    (said,) = [f for f in ask("/v1/run-outs", body).get_json()["findings"] if f["code"] == "turn_tyre_run_out"]
    assert "about 21 min" in said["text"]


@pytest.mark.parametrize("scale", [1e-6, 1, 30])
def test_the_drawing_is_sound_xml_within_its_page(ask: Ask, example: Example, scale: float) -> None:
    body = example("judgeRunOut", "turn")
    for each in body["traces"]:
        each["readings_mm"] = [r * scale for r in each["readings_mm"]]
    response = ask("/v1/run-outs/drawing", body)
    assert response.content_type == "image/svg+xml"
    root = ET.fromstring(response.text)  # noqa: S314 (ours)
    assert [g.get("id") for g in root.findall(f"{SVG}g")] == [*(f"trace-{i}" for i in range(4)), "turn"]
    width, height = map(float, (root.get("viewBox") or "").split()[2:])
    numbers = [
        (float(x), float(y))
        for path in root.iter(f"{SVG}path")
        for x, y in re.findall(r"[ML] ?(-?[\d.]+)[ ,](-?[\d.]+)", path.get("d") or "")
    ]
    assert len(numbers) > 400
    assert all(0 <= x <= width and 0 <= y <= height for x, y in numbers)


def test_the_drawing_shows_readings_where_they_are(ask: Ask) -> None:
    """Of a hub with a limit, the centre of the cross of each reading, back in mm and degrees."""
    readings = [0.0, 0.01, 0.03, 0.05, 0.04, 0.02, 0.0, 0.0]
    body = {
        "traces": [trace("hub", "radial", readings)],
        "limits": [{"part": "hub", "direction": "radial", "total_mm": 0.05}],
    }
    root = ET.fromstring(ask("/v1/run-outs/drawing", body).text)  # noqa: S314 (ours)
    (drawn,) = (g for g in root.iter(f"{SVG}g") if g.get("id") == "trace-0")
    rings = [
        (float(c.get("cx", 0)), float(c.get("cy", 0)), float(c.get("r", 0))) for c in drawn.iter(f"{SVG}circle")
    ]
    (cx, cy, zero), (_, _, limit) = rings
    enlarged = (limit - zero) / 0.05
    lines = [
        [tuple(map(float, p)) for p in re.findall(r"[ML] ?(-?[\d.]+)[ ,](-?[\d.]+)", path.get("d") or "")]
        for path in drawn.iter(f"{SVG}path")
    ]
    level = [p for p in lines if len(p) == 2 and p[0][1] == p[1][1] and p[1][0] - p[0][0] == pytest.approx(1.4)]
    centres = [((a[0] + b[0]) / 2 - cx, cy - a[1]) for a, b in level]
    found = [((math.hypot(x, y) - zero) / enlarged, math.degrees(math.atan2(x, y)) % 360) for x, y in centres]
    assert [r for r, _ in found] == pytest.approx(readings, abs=1e-4)
    assert [a for _, a in found] == pytest.approx([45 * i for i in range(8)], abs=0.1)


def test_the_sheet_says_what_the_answer_says(ask: Ask, example: Example) -> None:
    body = example("judgeRunOut", "turn")
    answer, response = ask("/v1/run-outs", body).get_json(), ask("/v1/run-outs/sheet", body)
    assert response.content_type == "text/html; charset=utf-8"
    assert "script-src" not in response.headers["Content-Security-Policy"]
    assert response.headers["Content-Security-Policy"].startswith("default-src 'none'")
    page = response.text.replace("&#39;", "'")
    for said in [*answer["findings"], *answer["warnings"], *answer["cautions"]]:
        assert said["text"] in page
    assert f'data-decision="{answer["verdict"]}"' in page
    for row in answer["best_turn"]["rows"]:
        assert f"{row['run_out_mm']:.2f} mm" in page
    assert page.count("<svg ") == 1


@pytest.mark.parametrize("path", ["/v1/run-outs/drawing", "/v1/run-outs/sheet"])
def test_what_is_drawn_is_checked_as_well(ask: Ask, path: str) -> None:
    response = ask(path, {"traces": []})
    assert response.status_code == 400
    assert [e["pointer"] for e in response.get_json()["errors"]] == ["#/traces"]
