"""Run-out through HTTP: worked cases, what is reported of them, the drawing and the sheet."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET  # (ours, no strangers)
from typing import Any

import numpy as np
import pytest
from flask.testing import FlaskClient

from tests.api.fixture_types import Ask, Example

SVG = "{http://www.w3.org/2000/svg}"
STEEL = {"material": "steel", "origin": "factory"}
TEXTBOOK = [2.4, 3.5, 4.1, 3.7, 2.6, 1.9, 1.6, -0.4, 1.6, 1.8, 3.0, 4.1]


def trace(part: str, direction: str, readings: list[float]) -> dict[str, Any]:
    angles = [360 / len(readings) * i for i in range(len(readings))]
    return {"part": part, "direction": direction, "angle_deg": angles, "reading_mm": readings}


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
    reported = [h["amplitude_mm"] for h in answer["traces"][0]["harmonics"]]
    assert reported == pytest.approx(list(expected), abs=1e-6)
    assert (answer["verdict"], answer["traces"][0]["within"]) == ("unknown", None)


@pytest.mark.parametrize(("axle", "limit_mm"), [("steered", 2.413), ("other", 3.175)])
def test_a_trucks_axle_chooses_its_limit(axle: str, limit_mm: float, ask: Ask) -> None:
    """TMC RP 214C: 0.095 in on a steered axle, 0.125 in on others."""
    wheel = STEEL | {"vehicle_class": "heavy_truck", "axle": axle}
    body = {"traces": [trace("assembly", "radial", wave(12, (1, 1.4, 0)))], "wheel": wheel}
    answer = ask("/v1/run-outs", body).get_json()
    assert answer["traces"][0]["limit_mm"] == pytest.approx(limit_mm)
    assert answer["verdict"] == ("over" if axle == "steered" else "good")


@pytest.mark.parametrize(
    ("vehicle_class", "effort", "minutes"),
    [
        ("car", {}, 8),
        ("bus", {}, 15),
        ("bus", {"effort": {"clip_on_min": 1}}, 15),
        ("bus", {"effort": {"clip_on_min": 1, "tyre_turn_min": 25}}, 25),
    ],
)
def test_a_turn_takes_what_a_tyre_turn_takes(
    vehicle_class: str, effort: dict[str, Any], minutes: float, ask: Ask
) -> None:
    parts = {"assembly": (1, 0.9, 0), "rim_inboard": (1, 0.3, 0)}
    body = {
        "traces": [trace(part, "radial", wave(12, each)) for part, each in parts.items()],
        "wheel": STEEL | {"vehicle_class": vehicle_class},
        "limits": [{"part": "assembly", "direction": "radial", "total_mm": 1.5}],
    }
    answer = ask("/v1/run-outs", body | effort).get_json()
    (turn,) = [f for f in answer["findings"] if f["code"] == "turn_tyre_run_out"]
    assert turn["values"]["turn_min"] == minutes


def test_a_tyre_is_never_turned_over_a_flat_spot(ask: Ask) -> None:
    whole = wave(36, (1, 0.7, 0))
    rim = trace("rim_inboard", "radial", wave(36, (1, 0.2, 0)))
    codes = []
    for dip in (0.0, 0.6):
        whole[9] -= dip
        answer = ask("/v1/run-outs", {"traces": [trace("assembly", "radial", whole), rim]}).get_json()
        assert answer["best_turn"]["pays"]
        codes.append({f["code"] for f in answer["findings"]} & {"flat_spot", "turn_tyre_run_out"})
    assert codes == [{"turn_tyre_run_out"}, {"flat_spot"}]


def test_no_bead_is_broken_for_readings_that_do_not_repeat(ask: Ask) -> None:
    traces = [trace("rim_inboard", "radial", wave(12, (1, 0.3, 0)))]
    codes = []
    for high in (0, 60):
        traces.append(trace("assembly", "radial", wave(12, (1, 0.7, high))))
        found = ask("/v1/run-outs", {"traces": traces}).get_json()["findings"]
        codes.append({f["code"] for f in found} & {"run_out_not_repeated", "turn_tyre_run_out"})
    assert codes == [{"turn_tyre_run_out"}, {"run_out_not_repeated"}]


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
        "wheel": {"material": material, "origin": "factory", "vehicle_class": "car"},
    }
    found = ask("/v1/run-outs", body).get_json()["traces"][0]
    assert (found["limit_mm"], found["within"]) == (limit, limit == 0.8)
    assert found["limit_source"]


def test_limits_are_in_the_reference_with_their_sources(client: FlaskClient) -> None:
    """Car makers' published figures lie on both sides of ours; a truck's are TMC RP 214C's (read)."""
    marks = {m["mark"]: m for m in client.get("/v1/reference").get_json()["marks"] if "run_out" in m["mark"]}
    assert 0.8 < marks["run_out_car_radial_mm"]["value"] < 1.52
    assert "Silverado" in marks["run_out_car_radial_mm"]["source"]
    assert 0.3 < marks["run_out_alloy_rim_mm"]["value"] < 0.7
    assert marks["run_out_truck_steered_mm"]["value"] == pytest.approx(0.095 * 25.4)
    assert "TMC RP 214C" in marks["run_out_truck_steered_mm"]["source"]


def test_minutes_of_a_turn_are_the_callers(ask: Ask, example: Example) -> None:
    body = example("judgeRunOut", "turn") | {"effort": {"tyre_turn_min": 21}}
    (said,) = [f for f in ask("/v1/run-outs", body).get_json()["findings"] if f["code"] == "turn_tyre_run_out"]
    assert "about 21 min" in said["text"]


@pytest.mark.parametrize("scale", [1e-6, 1, 30])
def test_the_drawing_is_sound_xml_within_its_page(ask: Ask, example: Example, scale: float) -> None:
    body = example("judgeRunOut", "turn")
    for each in body["traces"]:
        each["reading_mm"] = [r * scale for r in each["reading_mm"]]
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


def test_the_plot_of_turns_has_the_totals_of_the_answer(ask: Ask) -> None:
    """A spot of the tread stands out by 0.5 mm: no turn takes it away, and the plot shows it."""
    spotted = [r + 0.5 * (i == 3) for i, r in enumerate(wave(24, (1, 0.4, 40.0)))]
    rim = trace("rim_inboard", "radial", wave(24, (1, 0.2, 200.0)))
    body = {"traces": [trace("assembly", "radial", spotted), rim]}
    as_is, *_, best = ask("/v1/run-outs", body).get_json()["best_turn"]["rows"]
    root = ET.fromstring(ask("/v1/run-outs/drawing", body).text)  # noqa: S314 (our own)
    (plot,) = (g for g in root.iter(f"{SVG}g") if g.get("id") == "turn")
    said = [text.text or "" for text in plot.iter(f"{SVG}text")][-1]
    shown = [float(n) for n in re.findall(r"([\d.]+) mm", said)]
    assert shown == pytest.approx([best["run_out_mm"], as_is["run_out_mm"]], abs=0.006)
