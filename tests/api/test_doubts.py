"""What is unlikely is said by every operation that takes a reading or a wheel."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.api.dialects import (
    DIALECTS,
    FLANGES_MM,
    INCH,
    PLACED,
    PLANE,
    RADIUS_MM,
    WHEEL,
)
from tests.api.fixture_types import Ask, Example

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
    assert all(f"<bdi>{name}</bdi>: <bdi>The outer plane" in sheet for name in ("Front left", "Front right"))


FAR: dict[str, Any] = {"kind": "mass", "position_mm": FLANGES_MM[1] + 20, "radius_mm": RADIUS_MM}
FAR |= {"mass_g": 20, "angle_deg": 0}
"""A weight 20 mm off its flange."""
BY_POSITION: dict[str, Any] = DOUBTED | {
    "planes": [
        plane | {"mass_g": 2, "position_mm": at} for plane, at in zip(DOUBTED["planes"], FLANGES_MM, strict=True)
    ]
}


@pytest.mark.parametrize(
    ("weight", "wheel", "expected"),
    [
        (FAR, WHEEL, ["weight_off_places"]),
        (FAR, None, []),
        (FAR | {"position_mm": 900}, None, ["weight_off_places"]),
        (FAR | {"radius_mm": 900}, None, ["weight_radius_unlikely"]),
    ],
)
def test_weights_that_were_fitted_where_none_can_be_are_doubted(
    weight: dict[str, Any], wheel: dict[str, Any] | None, expected: list[str], ask: Ask
) -> None:
    """By check spins, a history and a vehicle."""
    told = {"wheel": wheel} if wheel else {}
    job = {"before": BY_POSITION, "fitted": [weight], "after": BY_POSITION} | told
    said = codes(ask("/v1/check-spins", job).get_json()["warnings"])
    assert [code for code in said if code.startswith("weight_")] == expected
    found = ask("/v1/spreads", {"jobs": [job]}).get_json()
    assert [codes(each["warnings"]) for each in found["doubted"]] == [expected] * bool(expected)
    if wheel:
        spun = {"after": BY_POSITION, "fitted": [weight]}
        one = {"position": "front_left", "plan": doubted_plan() | {"reading": BY_POSITION}, "check_spin": spun}
        finished = ask("/v1/vehicles", {"wheels": [one]}).get_json()
        assert codes(finished["wheels"][0]["warnings"]) == expected


@pytest.mark.parametrize("far", [{"position_mm": 900}, {"radius_mm": 900}])
def test_weights_that_cannot_be_on_the_wheel_are_refused(far: dict[str, Any], ask: Ask) -> None:
    job = {"before": BY_POSITION, "fitted": [FAR | far], "after": BY_POSITION, "wheel": WHEEL}
    answer = ask("/v1/check-spins", job)
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.get_json()["errors"]] == [f"#/fitted/0/{next(iter(far))}"]


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


def test_a_wheel_is_doubted_where_only_the_wheel_is_sent(ask: Ask, example: Example) -> None:
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
def test_of_a_wheel_that_must_be_sent_that_alone_is_said(wheel: object, ask: Ask, example: Example) -> None:
    """Not also that no place is found on it."""
    errors = ask("/v1/plans", example("planFitting", "at_places") | {"wheel": wheel}).get_json()["errors"]
    assert [error["pointer"] for error in errors] == ["#/wheel"]


def test_a_motorcycle_rim_without_an_offset_has_its_middle_as_datum(ask: Ask, example: Example) -> None:
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


def test_a_measured_flange_of_a_motorcycle_is_the_datum(ask: Ask, example: Example) -> None:
    body = example("planFitting", "at_places")
    body["wheel"] |= {"vehicle_class": "motorcycle", "rim_size": "MT3.50x17"}
    body["wheel"]["flanges"]["inboard"] |= {"position_mm": 30}
    plan = ask("/v1/plans", body).get_json()
    assert [piece["position_mm"] for piece in plan["recommended"]["pieces"]] == pytest.approx(
        [30, 30 + 3.5 * INCH]
    )
