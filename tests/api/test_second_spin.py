"""Check spins and tyre turns through HTTP: worked numbers, extremes that must not fail, words filled in."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import pytest

from tests.api.dialects import WHEEL
from tests.api.fixture_types import Ask, Example

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
    reported = ask(SPINS, body).get_json()
    best = reported["explanations"][0]
    (fault,) = best["causes"]
    assert reported["verdict"] == "adjust"
    assert (fault["cause"], fault["piece"], fault["size_unit"]) == ("piece_shifted", 0, "deg")
    assert fault["size"] == pytest.approx(15, abs=1e-5)
    assert best["unexplained_g"] < 1e-5
    assert best["odds"] == 1
    move = next(a for a in reported["actions"] if a["code"] == "move" and len(a["moves"]) == 1)
    assert move["moves"] == [{"piece": 0, "position_mm": -133.9, "radius_mm": 222, "angle_deg": 112}]
    assert "112°: 15° (58 mm along the rim) anticlockwise" in move["text"]
    assert move["values"]["off_deg"] == pytest.approx(15, abs=1e-5)
    assert {a["code"] for a in reported["actions"]} >= {"move", "add", "spin_again"}


def test_planned_pieces_go_back_as_they_came(ask: Ask, example: Example) -> None:
    """A plan's own piece, with all its fields, does what the same piece by hand does."""
    body = example("explainCheckSpin", "shifted")
    by_hand = ask(SPINS, body).get_json()
    body["fitted"] = [
        p | {"kind": "planned", "style": "clip_on", "sku": "A", "place": "inboard_flange", "new": 1}
        for p in body["fitted"]
    ]
    answer = ask(SPINS, body).get_json()
    (renewed,) = [action["adds"] for action in answer["actions"] if action["code"] == "renew"]
    assert [add["sku"] for add in renewed] == ["A", "A"]  # a weight of the plan is renewed by one of its own stock
    for add in renewed:
        add["sku"] = None
    assert answer == by_hand


def test_a_piece_without_its_kind_is_refused(ask: Ask, example: Example) -> None:
    body = example("explainCheckSpin", "shifted")
    del body["fitted"][1]["kind"]
    response = ask(SPINS, body)
    assert response.status_code == 400
    (error,) = response.get_json()["errors"]
    assert error["pointer"] == "#/fitted/1/kind"
    assert "planned" in error["detail"]


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
    reported = ask(TURNS, {"readings": readings, "turn_deg": 180}).get_json()
    assert reported["verdict"] == "pays"
    assert reported["best"]["turn_deg"] == pytest.approx(90, abs=1e-5)
    assert reported["best"]["exact_g"] == pytest.approx(20, abs=1e-5)
    assert [reported[p][0]["mass_g"] for p in ("rim", "tyre")] == pytest.approx([30, 50], abs=1e-5)
    assert reported["best"]["weights"] == [{"plane": "static", "mass_g": 20.0, "angle_deg": 0.0}]


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
    (body if name == "readings" else body.setdefault("spread", {}))["machine_sd_g"] = sd
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


@pytest.mark.parametrize(
    ("after", "codes"),
    [
        (
            (30, 100),
            {"piece_shifted", "piece_light", "piece_lost", "piece_on_other_plane", "all_turned", "centring"},
        ),
        ((78, 112), {"all_on_heavy_side", "size_or_mode_wrong"}),
        ((58, 90), {"piece_mirrored", "all_mirrored"}),
    ],
)
def test_every_sentence_is_filled_in(
    ask: Ask, example: Example, after: tuple[float, float], codes: set[str]
) -> None:
    """No sentence of any cause or action lacks a value: wheels that each cause says something of."""
    body = example("explainCheckSpin", "shifted")
    body["after"]["planes"][0] |= {"mass_g": after[0], "angle_deg": after[1]}
    body["after"]["planes"][1] |= {"mass_g": 40, "angle_deg": 280}
    reported = ask(SPINS, body).get_json()
    faults = [fault for e in reported["explanations"] for fault in e["causes"]]
    assert {fault["cause"] for fault in faults} & codes
    for text in [fault["text"] for fault in faults] + [a["text"] for a in reported["actions"]]:
        assert text.endswith(".")
        assert "{" not in text
    assert "nan" not in json.dumps(reported).lower().replace("explanations", "")


@pytest.mark.parametrize(
    ("vehicle_class", "limit_g", "machine_sd_g"), [(None, 5, 0.7), ("van", 7, 0.7), ("heavy_truck", 30, 3)]
)
def test_limits_and_the_machines_spread_are_those_of_the_wheels_class(
    vehicle_class: str | None, limit_g: float, machine_sd_g: float, ask: Ask, example: Example
) -> None:
    """Common practice, no source; a plan without acceptance is held to the same."""
    wheel = (
        {"wheel": {"material": "steel", "origin": "factory", "vehicle_class": vehicle_class}}
        if vehicle_class
        else {}
    )
    usual = {"kind": "masses", "per_plane_g": limit_g, "static_g": limit_g}
    spin = example("explainCheckSpin", "shifted") | wheel
    turn = example("weighTyreTurn", "half_turn") | wheel
    for body in (spin, turn):
        body.pop("acceptance", None)
    answer = ask(SPINS, spin | {"spread": {}}).get_json()
    assert (answer["acceptance"], answer["spread"]["machine_sd_g"]) == (usual, machine_sd_g)
    assert ask(TURNS, turn).get_json()["acceptance"] == usual


def test_the_shares_of_a_trucks_tyre_and_rim_are_as_unsure_as_its_balancer(ask: Ask, example: Example) -> None:
    """With a turn that is known exactly, what is unsure grows as the machine's spread does: 3 for 0.7 g."""
    body = example("weighTyreTurn", "half_turn") | {"turn_sd_deg": 0}
    body.pop("machine_sd_g", None)
    wheels = [{"material": "steel", "origin": "factory", "vehicle_class": name} for name in ("car", "heavy_truck")]
    car, truck = (ask(TURNS, body | {"wheel": wheel}).get_json()["tyre"][0]["sd_g"] for wheel in wheels)
    assert truck / car == pytest.approx(3 / 0.7, rel=1e-4)


def test_what_to_do_is_said_in_the_balancers_own_words_too(ask: Ask, example: Example) -> None:
    """A balancer that counts the other way round, in ounces: 112° of ours is its 248°."""
    body = example("explainCheckSpin", "shifted")
    plain = ask(SPINS, body).get_json()
    assert not any("called" in action for action in plain["actions"])
    device = {"angle_sense": "counterclockwise", "mass_unit": "oz"}
    for name in ("before", "after"):
        shown = {
            side: {"mass": p["mass_g"] / 28.349523125, "angle": -p["angle_deg"] % 360}
            for side, p in zip(("inboard", "outboard"), body[name]["planes"], strict=True)
        }
        sizes = [p["radius_mm"] / 12.7 for p in body[name]["planes"]]
        at = [p["position_mm"] for p in body[name]["planes"]]
        set_to = {"kind": "dialled_two", "tied": {"kind": "mounting_face", "distance": 200.0}}
        set_to |= {"inboard_distance": at[0] + 200.0, "outboard_distance": at[1] + 200.0}
        set_to |= {"inboard_size": sizes[0], "outboard_size": sizes[1]}
        body["wheel"] = WHEEL
        body[name] = {"kind": "machine", "device": device, "shown": {"kind": "planes", **shown}, "set_to": set_to}
    answer = ask(SPINS, body)
    assert answer.status_code == 200
    actions = answer.get_json()["actions"]
    assert [a["code"] for a in actions][:1] == [a["code"] for a in plain["actions"]][:1]
    for action in actions:
        new = action["moves"] + action["adds"]
        words = action.get("called", [])
        assert [w["angle"] for w in words] == pytest.approx([-w["angle_deg"] % 360 for w in new], abs=1e-3)
        assert all(f"at {w['angle']:.0f}°" in action["text"] and w["mass_unit"] == "oz" for w in words)
    assert any("called" in action for action in actions)
