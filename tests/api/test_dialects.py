"""Three invented balancers, each posted as it shows; the plan made again here with sines and cosines.

The wheel: 7Jx17 ET45, so its flanges are at -45 -+ 3.5 in and at 218.3 mm (ISO 4000-2 Table 4, from memory).
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Callable
from typing import Any

import pytest
from werkzeug.test import TestResponse

Ask = Callable[[str, object], TestResponse]

OZ, INCH, RADIUS_MM = 28.349523125, 25.4, 218.3
FLANGES_MM = (-45 - 3.5 * INCH, -45 + 3.5 * INCH)
WHEEL = {
    "rim_size": "7Jx17 ET45",
    "material": "steel",
    "origin": "factory",
    "vehicle_class": "car",
    "flanges": {"inboard": {"present": True}, "outboard": {"present": True}},
}

OWN_DATUM = {
    "kind": "machine",
    "spun": "bare",
    "device": {"label": "bay 1, distances from its body", "mass_step": 1},
    "shown": {"kind": "planes", "inboard": {"mass": 35, "angle": 80}, "outboard": {"mass": 25, "angle": 255}},
    "set_to": {
        "kind": "dialled",
        "distance": 105,
        "width": 7,
        "inboard_size": 17.188976,
        "outboard_size": 17.188976,
        "tied": {"kind": "inboard_is", "place": "inboard_flange"},
    },
}
HEAVY_SPOT = {
    "kind": "machine",
    "spun": "bare",
    "device": {
        "label": "bay 2, the heavy spot",
        "angle_sense": "counterclockwise",
        "mass_unit": "oz",
        "mass_step": 0.05,
        "distance_unit": "in",
        "calls": "unbalance",
    },
    "shown": {"kind": "planes", "inboard": {"mass": 1.25, "angle": -68}, "outboard": {"mass": 0.75, "angle": 255}},
    "set_to": {
        "kind": "dialled_two",
        "inboard_distance": 4,
        "outboard_distance": 11,
        "inboard_size": 17.188976,
        "outboard_size": 17.188976,
        "tied": {"kind": "mounting_face", "distance": 4 + (45 + 3.5 * INCH) / INCH},
    },
}
STATIC_COUPLE = {
    "kind": "machine",
    "spun": "bare",
    "device": {"label": "bay 3", "seen_from": "inboard", "mass_step": 1},
    "shown": {
        "kind": "static_couple",
        "static": {"mass": 30, "angle": 50},
        "couple": {"mass": 20, "valve_at": {"kind": "clock", "clock": "4:00"}},
    },
    "set_to": {"kind": "places", "inboard": "inboard_flange", "outboard": "outboard_flange"},
}


def corrections(name: str) -> tuple[complex, complex]:
    """What is called inboard and outboard, in g at the flanges, clockwise seen from outboard; by hand."""
    at = {
        # as they stand
        "own datum": (cmath.rect(35, math.radians(80)), cmath.rect(25, math.radians(255))),
        # counterclockwise, so the other way round; the heavy spot, so half a turn on; ounces
        "heavy spot": (
            cmath.rect(1.25 * OZ, math.radians(68 + 180)),
            cmath.rect(0.75 * OZ, math.radians(-255 + 180)),
        ),
    }
    if name in at:
        return at[name]
    # seen from inboard the other way round; the valve at 4:00 from there is at -120° from outboard, so that the
    # weight, at the top, is at 120° of the valve; half the static mass a side, the couple outboard, opposed in
    static, couple = cmath.rect(30, math.radians(-50)), cmath.rect(20, math.radians(120))
    return static / 2 - couple, static / 2 + couple


DIALECTS: dict[str, dict[str, Any]] = {
    "own datum": OWN_DATUM,
    "heavy spot": HEAVY_SPOT,
    "static and couple": STATIC_COUPLE,
}


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
    for told, expected in zip(plan["recommended"]["residual"]["planes"], left, strict=True):
        found = cmath.rect(told["mass_g"] * RADIUS_MM, math.radians(told["angle_deg"]))
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


PLANE = {"name": "a", "position_mm": 0, "radius_mm": 200}
PLACED = {"kind": "static", "plane": {"kind": "at", "place": "inboard_flange", "mass_g": 30, "angle_deg": 40}}
POSITIONED = {
    "kind": "static",
    "plane": {
        "kind": "position",
        "position_mm": FLANGES_MM[0],
        "radius_mm": RADIUS_MM,
        "mass_g": 30,
        "angle_deg": 40,
    },
}
SHOWN = {
    "kind": "machine",
    "shown": {"kind": "static", "mass": 30, "angle": 40},
    "set_to": {"kind": "place", "place": "inboard_flange"},
}


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
    """The same answer for the same wheel, whatever the words."""
    placed = ask(path, around(PLACED) | {"wheel": WHEEL})
    assert placed.status_code == 200, placed.text
    assert ask(path, around(other) | {"wheel": WHEEL}).get_json() == placed.get_json()
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
        told = answer.get_json()
        found = [e["rule"] for e in told.get("errors", [])] or [w["code"] for w in told.get("warnings", [])]
        return answer.status_code, found

    assert tried() == (200, [])
    assert tried(inner=105, outer=283) == (422, ["planes_on_rim"])
    assert tried(radius_mm=2 * RADIUS_MM) == (422, ["radius_on_rim", "radius_on_rim"])
    assert tried(radius_mm=RADIUS_MM / INCH) == (422, ["radius_on_rim", "radius_on_rim"])
    assert tried(mass=1.25) == (200, ["ounces_as_grams"])
    assert tried(inner=FLANGES_MM[0] + 20) == (200, ["plane_off_places"])


DOUBTED: dict[str, Any] = {
    "kind": "two_plane",
    "planes": [
        {"kind": "position", "radius_mm": RADIUS_MM, "mass_g": mass, "angle_deg": 80, "position_mm": at}
        for at, mass in ((FLANGES_MM[0], 35), (FLANGES_MM[1] + 16, 25))
    ],
}
"""A reading that is answered, one of its planes 16 mm off the flange."""
QUIET: dict[str, Any] = {
    "kind": "two_plane",
    "planes": [
        {"kind": "at", "place": f"{side}_flange", "mass_g": 2, "angle_deg": 0} for side in ("inboard", "outboard")
    ],
}


def doubted_plan() -> dict[str, Any]:
    """A plan request with the doubted reading."""
    return {"reading": DOUBTED, "wheel": WHEEL, "stock": {"kind": "builtin", "name": "metric"}}


def codes(remarks: list[dict[str, Any]]) -> list[str]:
    """The codes of remarks."""
    return [each["code"] for each in remarks]


def test_a_forecast_says_which_wheels_it_doubts(ask: Ask) -> None:
    """By their place in the request, whether or not others were skipped."""
    far = doubted_plan() | {
        "reading": {**DOUBTED, "planes": [DOUBTED["planes"][0], DOUBTED["planes"][1] | {"radius_mm": 500}]}
    }
    found = ask("/v1/demand", {"plans": [far, doubted_plan() | {"reading": QUIET}, doubted_plan()]}).get_json()
    assert [each["index"] for each in found["skipped"]] == [0]
    assert [(each["index"], codes(each["warnings"])) for each in found["doubted"]] == [(2, ["plane_off_places"])]


def test_a_history_says_which_entries_it_doubts(ask: Ask) -> None:
    spins = [{"readings": [reading, reading], "wheel": WHEEL} for reading in (QUIET, DOUBTED)]
    job = {"before": QUIET, "fitted": [], "after": QUIET, "wheel": WHEEL}
    body = {"repeats": spins, "remounts": spins[:1], "jobs": [job, job | {"after": DOUBTED}]}
    found = ask("/v1/spreads", body).get_json()
    assert [(each["list"], each["index"], codes(each["warnings"])) for each in found["doubted"]] == [
        ("repeats", 1, ["plane_off_places"]),
        ("jobs", 1, ["plane_off_places"]),
    ]


def test_a_vehicle_says_what_is_unlikely_of_its_last_readings(ask: Ask) -> None:
    """Of each wheel, apart from what its plan says already; the sheet names the wheel."""
    fine = doubted_plan() | {"reading": QUIET}
    wheels = [
        {"position": "front_left", "plan": fine, "check_spin": {"after": DOUBTED}},
        {"position": "front_right", "plan": doubted_plan(), "check_spin": {"after": DOUBTED}},
    ]
    found = ask("/v1/vehicles", {"wheels": wheels}).get_json()
    assert [codes(each["warnings"]) for each in found["wheels"]] == [["plane_off_places"], []]
    assert "plane_off_places" in codes(found["wheels"][1]["plan"]["warnings"])
    sheet = ask("/v1/vehicles/sheet", {"wheels": wheels}).text
    assert all(f"<bdi>{name}</bdi>: <bdi>Plane outer" in sheet for name in ("Front left", "Front right"))


def test_a_drawing_of_a_request_notes_what_is_unlikely(ask: Ask) -> None:
    drawing = ask("/v1/drawings", {"kind": "request", "request": doubted_plan()}).text
    assert "16 mm off both" in " ".join(re.sub("<[^>]*>", " ", drawing).split())


@pytest.mark.parametrize(("detail", "noted"), [("standard", True), ("full", True), ("brief", False)])
@pytest.mark.parametrize("name", DIALECTS)
def test_a_drawing_of_an_answer_calls_weights_as_the_balancer_does(
    name: str, detail: str, noted: bool, ask: Ask
) -> None:
    """As the drawing of its request does; a brief answer has no units to call them in."""
    body = {"reading": DIALECTS[name], "wheel": WHEEL, "stock": {"kind": "builtin", "name": "metric"}}
    plan = ask("/v1/plans", body | {"preferences": {"detail": detail}}).get_json()
    sent: list[dict[str, Any]] = [
        {"kind": "plan", "plan": plan, "wheel": WHEEL},
        {"kind": "request", "request": body},
    ]
    drawn = [ask("/v1/drawings", each) for each in sent]
    assert [response.status_code for response in drawn] == [200, 200]
    lines = [re.findall("<text[^>]*>([^<]*)", response.text) for response in drawn]
    said = [[line for line in each if "On the balancer" in line] for each in lines]
    assert said[1]
    assert said[0] == (said[1] if noted else [])


def test_a_wheel_is_doubted_where_only_the_wheel_is_sent(ask: Ask, example: Callable[[str, str], Any]) -> None:
    """ET45, measured 60: in a run-out, in style choices, and on the drawing of an answered plan."""
    other = {"rim_size": "7Jx17 ET45", "offset_mm": 60}
    run_out = example("judgeRunOut", "turn")
    styles = example("chooseStyles", "alloy")
    for path, body in (("/v1/run-outs", run_out), ("/v1/style-choices", styles)):
        body["wheel"] |= other
        body.pop("planes", None)
        assert "offset_differs" in codes(ask(path, body).get_json()["warnings"])
    drawing = example("drawPlan", "answer_and_wheel")
    drawing["wheel"] |= other
    assert "a spacer?" in ask("/v1/drawings", drawing).text


def test_the_vehicles_sheet_tells_the_sides_by_the_flanges(ask: Ask) -> None:
    """8.25 in, ET150: both flanges are inboard of the mounting face, the outer one 45 mm."""
    heavy = WHEEL | {"rim_size": "22.5x8.25 ET150", "vehicle_class": "heavy_truck"}
    calls = [
        {"kind": "at", "place": f"{side}_flange", "mass_g": 150, "angle_deg": 80}
        for side in ("inboard", "outboard")
    ]
    request = doubted_plan() | {"reading": {"kind": "two_plane", "planes": calls}, "wheel": heavy}
    wheels = [{"position": "front_left", "plan": request, "check_spin": {"after": QUIET}}]
    sheet = ask("/v1/vehicles/sheet", {"wheels": wheels}).text
    assert "inner, 255 mm from the mounting face" in sheet
    assert "outer, 45 mm from the mounting face" in sheet


def test_grams_of_an_empty_shaft_are_not_taken_for_ounces(ask: Ask) -> None:
    """A good machine shows half a gram or less without a wheel; a wheel's first reading so small is doubted."""
    planes = [plane | {"mass_g": mass} for plane, mass in zip(QUIET["planes"], (0.5, 0.25), strict=True)]
    small = {"kind": "two_plane", "planes": planes}
    assert ask("/v1/centring-checks", {"empty_shaft": small, "wheel": WHEEL}).get_json()["warnings"] == []
    repeats = ask("/v1/centring-checks", {"repeats": [small, small], "wheel": WHEEL}).get_json()
    assert codes(repeats["warnings"]) == ["ounces_as_grams"]


@pytest.mark.parametrize(("off_mm", "status"), [(14.9, 200), (15.1, 422)])
def test_a_known_weight_sits_within_the_planes(off_mm: float, status: int, ask: Ask) -> None:
    weight = {"position_mm": FLANGES_MM[1] + off_mm, "radius_mm": RADIUS_MM, "mass_g": 85, "angle_deg": 0}
    body = {"known_weight": {"weight": weight, "reading": QUIET}, "wheel": WHEEL}
    assert ask("/v1/centring-checks", body).status_code == status


def test_a_place_on_a_wheel_that_is_null_is_unknown(ask: Ask) -> None:
    """null is as good as absent: the place can't be found, which is the request's fault and no one else's."""
    response = ask("/v1/corrections", {"wheel": None, "reading": PLACED, "planes": [PLANE]})
    assert response.status_code == 422
    assert [error["rule"] for error in response.get_json()["errors"]] == ["place_unknown"]


@pytest.mark.parametrize("wheel", [None, 7])
def test_of_a_wheel_that_must_be_sent_that_alone_is_said(
    wheel: object, ask: Ask, example: Callable[[str, str], Any]
) -> None:
    """Not also that no place is found on it."""
    errors = ask("/v1/plans", example("planFitting", "at_places") | {"wheel": wheel}).get_json()["errors"]
    assert [error["pointer"] for error in errors] == ["#/wheel"]


def test_a_motorcycle_rim_without_an_offset_has_its_middle_as_datum(
    ask: Ask, example: Callable[[str, str], Any]
) -> None:
    """MT3.50x17: 3.50 in between the flanges (ISO 4000-1, from memory), half of it either side of the middle."""
    body = example("planFitting", "at_places") | {"preferences": {"detail": "full"}}
    body["wheel"] |= {"vehicle_class": "motorcycle", "rim_size": "MT3.50x17"}
    plan = ask("/v1/plans", body).get_json()
    noted = [
        note["values"]["position_mm"] for note in plan["derived"] if note["code"] == "flange_position_from_middle"
    ]
    assert noted == [-44.45, 44.45]
    assert [piece["position_mm"] for piece in plan["recommended"]["pieces"]] == noted
    body["wheel"]["vehicle_class"] = "car"
    assert {e["rule"] for e in ask("/v1/plans", body).get_json()["errors"]} == {"place_unknown"}


def test_a_measured_flange_of_a_motorcycle_is_the_datum(ask: Ask, example: Callable[[str, str], Any]) -> None:
    body = example("planFitting", "at_places")
    body["wheel"] |= {"vehicle_class": "motorcycle", "rim_size": "MT3.50x17"}
    body["wheel"]["flanges"]["inboard"] |= {"position_mm": 30}
    plan = ask("/v1/plans", body).get_json()
    assert [piece["position_mm"] for piece in plan["recommended"]["pieces"]] == pytest.approx(
        [30, 30 + 3.5 * INCH]
    )
