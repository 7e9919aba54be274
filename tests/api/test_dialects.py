"""Three invented balancers, each posted as it shows; the plan made again here with sines and cosines.

The wheel: 7Jx17 ET45, so its flanges are at -45 -+ 3.5 in and at 218.3 mm (ISO 4000-2 Table 4, from memory).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from typing import Any

import pytest

from tests.api.dialects import (
    DIALECTS,
    FLANGES_MM,
    INCH,
    OZ,
    PLACED,
    POSITIONED,
    RADIUS_MM,
    SHOWN,
    WHEEL,
    corrections,
)
from tests.api.fixture_types import Ask


@pytest.fixture(params=DIALECTS)
def answered(request: pytest.FixtureRequest, ask: Ask) -> tuple[str, dict[str, Any]]:
    """The name of a balancer and the plan for what it shows."""
    body = {"reading": DIALECTS[request.param], "wheel": WHEEL, "stock": {"kind": "builtin", "name": "metric"}}
    response = ask("/v1/plans", body)
    assert response.status_code == 200, response.text
    return request.param, response.get_json()


def test_what_is_required_is_what_was_called(answered: tuple[str, dict[str, Any]]) -> None:
    name, plan = answered
    assert plan["warnings"] == []
    for required, expected, position in zip(plan["required"], corrections(name), FLANGES_MM, strict=True):
        found = cmath.rect(required["mass_g"], math.radians(required["angle_deg"]))
        assert abs(found - expected) < 0.001
        assert required["position_mm"] == pytest.approx(position, abs=1e-3)


def test_the_residual_is_that_of_the_pieces(answered: tuple[str, dict[str, Any]]) -> None:
    """Moments about one flange over their distance, each piece at its own effect."""
    name, plan = answered
    inboard, outboard = (-each * RADIUS_MM for each in corrections(name))
    force, moment = inboard + outboard, outboard * 7 * INCH
    for piece in plan["recommended"]["pieces"]:
        effect = cmath.rect(piece["effective_gmm"], math.radians(piece["angle_deg"]))
        force, moment = force + effect, moment + effect * (piece["position_mm"] - FLANGES_MM[0])
    left = (force - moment / (7 * INCH), moment / (7 * INCH))
    for reported, expected in zip(plan["recommended"]["residual"]["planes"], left, strict=True):
        found = cmath.rect(reported["mass_g"] * RADIUS_MM, math.radians(reported["angle_deg"]))
        assert abs(found - expected) < 0.5


def test_every_piece_is_called_in_the_balancers_words(answered: tuple[str, dict[str, Any]]) -> None:
    name, plan = answered
    device: dict[str, Any] = DIALECTS[name]["device"]
    sense = (-1 if device.get("angle_sense") == "counterclockwise" else 1) * (
        -1 if device.get("seen_from") == "inboard" else 1
    )
    unit = OZ if device.get("mass_unit") == "oz" else 1
    for piece in plan["recommended"]["pieces"]:
        words = piece["called"]
        assert words["mass"] * unit == pytest.approx(piece["mass_g"], abs=0.02)
        assert (words["angle"] - sense * piece["angle_deg"]) % 360 == pytest.approx(0, abs=1e-4) or (
            words["angle"] - sense * piece["angle_deg"]
        ) % 360 == pytest.approx(360, abs=1e-4)
        outboard = piece["place"] == "outboard_flange"
        if name == "static and couple":
            assert (words["distance"], words["size"]) == (None, None)
            hours, minutes = words["valve_at"]["clock"].split(":")
            seen = (int(hours) % 12 * 60 + int(minutes)) / 2
            assert abs((seen - piece["angle_deg"] + 180) % 360 - 180) <= 0.25  # from inboard: minus the other way
        else:
            start, width = (105, 7 * INCH) if name == "own datum" else (4, 7)
            assert words["distance"] == pytest.approx(start + width * outboard, abs=1e-3)
            assert words["size"] == pytest.approx(2 * RADIUS_MM / INCH, abs=1e-3)
            assert words["valve_at"] is None


def test_the_steps_say_it_too(answered: tuple[str, dict[str, Any]]) -> None:
    _, plan = answered
    codes = [step["code"] for step in plan["fitting_steps"]]
    assert len([c for c in codes if c.startswith("as_called")]) == len(plan["recommended"]["pieces"])
    assert codes[:2] == ["have_ready", "clean_flange"]  # spun bare: no old weights to take off


@pytest.mark.parametrize(("angle", "said"), [(359.9999999, 0.0), (1e-7, 0.0), (359.7, 359.7)])
def test_a_weight_is_called_below_360(angle: float, said: float, ask: Ask) -> None:
    """And so it can be sent back; in a sentence what rounds to 360° is 0°."""
    shown = {"kind": "planes", "inboard": {"mass": 35, "angle": angle}, "outboard": {"mass": 25, "angle": angle}}
    set_to = {"kind": "places", "inboard": "inboard_flange", "outboard": "outboard_flange"}
    reading = {"kind": "machine", "shown": shown, "set_to": set_to, "device": {"seen_from": "inboard"}}
    body = {"reading": reading, "wheel": WHEEL, "stock": {"kind": "builtin", "name": "metric"}}
    plan = ask("/v1/plans", body).get_json()
    assert [p["called"]["angle"] for p in plan["recommended"]["pieces"]] == pytest.approx([said, said], abs=1e-6)
    steps = [step["text"] for step in plan["fitting_steps"] if step["code"] == "as_called"]
    assert [text.endswith(" at 0°.") for text in steps] == [True, True]
    assert ask("/v1/drawings", {"kind": "plan", "plan": plan}).status_code == 200


@pytest.mark.parametrize(
    ("spot", "code", "said"),
    [
        ({"kind": "top"}, "as_called_by_valve", "turn its spot up"),
        ({"kind": "angle", "angle": 0}, "as_called_by_valve", "turn its spot up"),
        ({"kind": "bottom"}, "as_called_by_valve_below", "turn its spot down"),
        ({"kind": "angle", "angle": -180}, "as_called_by_valve_below", "turn its spot down"),
        ({"kind": "angle", "angle": 60}, "as_called_by_valve_aside", "where the balancer wants weights"),
    ],
)
def test_the_steps_turn_the_spot_to_where_the_balancer_has_it(
    spot: dict[str, Any], code: str, said: str, ask: Ask
) -> None:
    """35 g are 1.2346 oz, rounded once: 1.23."""
    reading = {
        "kind": "machine",
        "device": {"mass_unit": "oz", "seen_from": "inboard", "weight_spot": spot},
        "shown": {
            "kind": "planes",
            "inboard": {"mass": 1.25, "valve_at": {"kind": "clock", "clock": "4:00"}},
            "outboard": {"mass": 0.9, "angle": 20},
        },
        "set_to": {"kind": "places", "inboard": "inboard_flange", "outboard": "outboard_flange"},
    }
    body = {"reading": reading, "wheel": WHEEL, "stock": {"kind": "builtin", "name": "metric"}}
    plan = ask("/v1/plans", body).get_json()
    steps = {step["text"] for step in plan["fitting_steps"] if step["code"] == code}
    assert len(steps) == 2
    assert all(said in step for step in steps)
    assert any("1.23 oz" in step for step in steps)
    assert {piece["mass_g"] for piece in plan["recommended"]["pieces"]} == {35, 25}


@pytest.mark.parametrize("other", [POSITIONED, SHOWN], ids=["by position", "as shown"])
@pytest.mark.parametrize(
    ("path", "around"),
    [
        (
            "/v1/corrections",
            lambda r: {"reading": r, "planes": [{"name": "a", "position_mm": 0, "radius_mm": 200}]},
        ),
        ("/v1/check-spins", lambda r: {"before": r, "fitted": [], "after": r}),
        ("/v1/tyre-turns", lambda r: {"readings": [r, r], "turn_deg": 180}),
        ("/v1/centring-checks", lambda r: {"readings": [r, r], "repeats": [r, r], "empty_shaft": r}),
    ],
)
def test_every_operation_takes_every_way(
    path: str, around: Callable[[object], dict[str, Any]], other: object, ask: Ask
) -> None:
    """The same answer for the same wheel, whatever the words, but for those that are the balancer's."""
    placed = ask(path, around(PLACED) | {"wheel": WHEEL})
    assert placed.status_code == 200, placed.text
    answer = ask(path, around(other) | {"wheel": WHEEL}).get_json()
    for action in answer.get("actions", []):
        if action.pop("called", None):
            action["text"] = action["text"].partition(" On the balancer: ")[0]
    assert answer == placed.get_json()
    refused = ask(path, around(PLACED)).get_json()
    assert {e["rule"] for e in refused["errors"]} == {"place_unknown"}


def test_the_tried_mistakes_are_refused_or_questioned(ask: Ask) -> None:
    """Planes from the balancer's body, a diameter as a radius, inches as millimetres, ounces as grams."""

    def tried(**changes: float) -> tuple[int, list[str]]:
        planes = [
            {"kind": "position", "radius_mm": RADIUS_MM, "mass_g": mass, "angle_deg": angle, "position_mm": z}
            | {name: value for name, value in changes.items() if name in ("radius_mm",)}
            for z, mass, angle in (
                (changes.get("inner", FLANGES_MM[0]), changes.get("mass", 35), 80),
                (changes.get("outer", FLANGES_MM[1]), changes.get("mass", 25), 255),
            )
        ]
        body = {"reading": {"kind": "two_plane", "planes": planes}, "wheel": WHEEL}
        answer = ask("/v1/plans", body | {"stock": {"kind": "builtin", "name": "metric"}})
        reported = answer.get_json()
        found = [e["rule"] for e in reported.get("errors", [])] or [
            w["code"] for w in reported.get("warnings", [])
        ]
        return answer.status_code, found

    assert tried() == (200, [])
    assert tried(inner=105, outer=283) == (422, ["planes_on_rim"])
    assert tried(radius_mm=2 * RADIUS_MM) == (422, ["radius_on_rim", "radius_on_rim"])
    assert tried(radius_mm=RADIUS_MM / INCH) == (422, ["radius_on_rim", "radius_on_rim"])
    assert tried(mass=1.25) == (200, ["ounces_as_grams"])
    assert tried(inner=FLANGES_MM[0] + 20) == (200, ["plane_off_places"])
