"""How much a plan tells: which fields at which detail, wherever the plan stands, and what may be given back."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.api.fixture_types import Ask, Conforms, Example
from tests.detail import BRIEF_BYTES, DETAILS, STANDARD_BYTES, Size, sizes, with_detail

Tell = Callable[[str, str], Any]

BRIEF_PIECE = ["kind", "place", "style", "sku", "mass_g", "segments", "position_mm", "radius_mm", "angle_deg"]
NAMES = ["at_places", "own_words", "brief", "hidden", "own_stock", "steel_wheel", "by_grade", "repair_first"]


@pytest.fixture(scope="module")
def tell(ask: Ask, example: Callable[..., Any]) -> Tell:
    """The plan of an example with some detail."""

    @cache
    def answered(name: str, detail: str) -> str:
        response = ask("/v1/plans", with_detail(example("planFitting", name), detail))
        assert response.status_code == 200, response.text
        return response.text

    return lambda name, detail: json.loads(answered(name, detail))


@pytest.fixture(scope="module")
def weighed(client: FlaskClient) -> list[Size]:
    """What the plans of the examples weigh."""
    return list(sizes(client))


def kept(more: Any, less: Any) -> bool:
    """Whether an answer says what one with more detail says, and leaves out the rest, or what is null there."""
    if isinstance(less, dict):
        return less.keys() <= more.keys() and all(kept(more[name], each) for name, each in less.items())
    if isinstance(less, list):
        return len(more) == len(less) and all(map(kept, more, less))
    return bool(more == less)


@pytest.mark.parametrize("name", NAMES)
def test_more_detail_says_the_same_and_more(name: str, tell: Tell, conforms: Conforms) -> None:
    brief, standard, full = (tell(name, detail) for detail in DETAILS)
    if full["recommended"] and standard["recommended"]:
        assert standard["recommended"].keys() == full["recommended"].keys() - {"levers", "sensitivity"}
    assert kept(full, standard)
    assert kept(standard, brief)
    assert all(conforms("Plan", each) for each in (brief, standard, full))


def test_what_a_brief_plan_has(tell: Tell) -> None:
    plan = tell("hidden", "brief")
    assert list(plan) == ["decision", "headline", "reasons", "recommended"]
    assert list(plan["headline"]) == ["code", "text", "values"]
    assert plan["headline"]["values"] == {"count": 3, "mass_g": 82.5, "passes": 9, "tries": 10}
    assert "82.5 g in all" in plan["headline"]["text"]
    assert set(plan["recommended"]) == {"name", "effort_min", "pass_chance_pct", "residual", "pieces"}
    clip_on, *strips = (list(piece) for piece in plan["recommended"]["pieces"])
    assert clip_on == [name for name in BRIEF_PIECE if name != "segments"]
    assert strips == [BRIEF_PIECE] * 2
    assert list(plan["recommended"]["residual"]) == ["planes", "static_g"]


def test_a_brief_plan_says_its_reasons_as_codes(example: Example, ask: Ask) -> None:
    body = example("planFitting", "own_stock")
    body["acceptance"] = {"kind": "masses", "per_plane_g": 0.001, "static_g": 0.001}
    plan = ask("/v1/plans", with_detail(body, "brief")).get_json()
    assert plan["decision"] == "best_effort"
    assert plan["reasons"]
    assert all(list(reason) == ["code"] for reason in plan["reasons"])


def test_a_brief_plan_says_what_is_doubted_of_its_request(example: Example, ask: Ask, conforms: Conforms) -> None:
    """Ounces sent as grams are within the limits: silently nobody would notice."""
    body = example("planFitting", "own_words")
    body["reading"]["device"]["mass_unit"] = "g"
    for side, mass in (("inboard", 1.25), ("outboard", 0.75)):
        body["reading"]["shown"][side]["mass"] = mass
    brief = ask("/v1/plans", with_detail(body, "brief"))
    plan = brief.get_json()
    assert plan["decision"] == "already_within"
    assert plan["warnings"] == [{"code": "ounces_as_grams"}]
    assert conforms("Plan", plan)
    assert len(brief.data) < BRIEF_BYTES


def test_a_brief_piece_in_the_words_of_its_balancer(tell: Tell) -> None:
    called = [piece["called"] for piece in tell("own_words", "brief")["recommended"]["pieces"]]
    whole = [piece["called"] for piece in tell("own_words", "standard")["recommended"]["pieces"]]
    assert [list(each) for each in called] == [["mass", "angle", "distance", "size"]] * 2
    assert all(each["valve_at"] is None for each in whole)
    assert all(each.keys() - brief.keys() == {"valve_at", "mass_unit", "distance_unit", "size_unit"}
               for brief, each in zip(called, whole, strict=True))  # fmt: skip
    assert all("called" not in piece for piece in tell("hidden", "full")["recommended"]["pieces"])


def test_what_only_full_detail_has(tell: Tell) -> None:
    standard, full = tell("own_stock", "standard"), tell("own_stock", "full")
    assert full.keys() - standard.keys() == {"derived"}
    assert full["recommended"].keys() - standard["recommended"].keys() == {"levers", "sensitivity"}
    assert full["recommended"]["levers"]
    for less, more in zip(standard["alternatives"], full["alternatives"], strict=True):
        assert more.keys() - less.keys() == {"pieces", "sensitivity"}, "levers are the recommended layout's"
        assert more["pieces"]


def test_standard_is_the_default(example: Example, ask: Ask, tell: Tell) -> None:
    assert ask("/v1/plans", example("planFitting", "hidden")).get_json() == tell("hidden", "standard")


def test_each_plan_of_a_batch_has_its_own_detail(
    client: FlaskClient, example: Example, ask: Ask, tell: Tell
) -> None:
    plans = [with_detail(example("planFitting", "hidden"), detail) for detail in (*DETAILS, "brief")]
    expected = [tell("hidden", detail) for detail in (*DETAILS, "brief")]
    batch = ask("/v1/plans/batch", {"plans": plans}).get_json()
    assert [result["plan"] for result in batch["results"]] == expected
    lines = "\n".join(map(json.dumps, plans))
    stream = client.post("/v1/plans/stream", data=lines, content_type="application/x-ndjson")
    assert [json.loads(line)["plan"] for line in stream.data.splitlines()] == expected


def test_each_wheel_of_a_vehicle_has_its_own_detail(example: Example, ask: Ask) -> None:
    body = example("finishVehicle", "front_axle")
    whole = ask("/v1/vehicles", body).get_json()
    for wheel, detail in zip(body["wheels"], ("brief", "full"), strict=True):
        wheel["plan"] = with_detail(wheel["plan"], detail)
    reported = ask("/v1/vehicles", body).get_json()
    assert ["derived" in wheel["plan"] for wheel in reported["wheels"]] == [False, True]
    assert [len(wheel["plan"]) == 4 for wheel in reported["wheels"]] == [True, False]
    assert reported["charges_wheels"] == whole["charges_wheels"]


def test_the_sheet_shows_all_at_any_detail(example: Example, ask: Ask) -> None:
    pages = {ask("/v1/plans/sheet", with_detail(example("planFitting", "hidden"), d)).text for d in DETAILS}
    assert len(pages) == 1


@pytest.mark.parametrize("detail", DETAILS)
def test_a_plan_with_any_detail_can_be_drawn(detail: str, example: Example, ask: Ask, tell: Tell) -> None:
    wheel = example("planFitting", "hidden")["wheel"]
    given = {"kind": "plan", "plan": tell("hidden", detail), "wheel": wheel}
    assert ask("/v1/drawings", given).status_code == 200


def test_an_alternative_needs_full_detail_to_be_drawn(ask: Ask, tell: Tell) -> None:
    plans = {detail: tell("hidden", detail) for detail in ("standard", "full")}
    name = plans["full"]["alternatives"][0]["name"]
    reported = {
        d: ask("/v1/drawings", {"kind": "plan", "plan": plan, "layout": name}) for d, plan in plans.items()
    }
    assert reported["full"].status_code == 200
    assert reported["standard"].status_code == 422
    (error,) = reported["standard"].get_json()["errors"]
    assert (error["pointer"], error["rule"]) == ("#/plan", "detail_enough")
    assert '{"detail": "full"}' in error["detail"]


@pytest.mark.parametrize(("detail", "status"), [("brief", 422), ("standard", 200), ("full", 200)])
def test_charges_need_standard_detail(detail: str, status: int, ask: Ask, tell: Tell) -> None:
    pieces = tell("own_stock", detail)["recommended"]["pieces"]
    body = {"currency": "EUR", "wheels": [{"name": "front left", "pieces": pieces}], "price_list": {}}
    assert ask("/v1/charges", body).status_code == status


@pytest.mark.parametrize("detail", DETAILS)
def test_a_check_spin_takes_pieces_with_any_detail(detail: str, example: Example, ask: Ask, tell: Tell) -> None:
    body = example("explainCheckSpin", "shifted") | {"fitted": tell("hidden", detail)["recommended"]["pieces"]}
    assert ask("/v1/check-spins", body).status_code == 200


@pytest.mark.parametrize("detail", ["short", 1, ["brief"]])
def test_another_word_is_refused(detail: Any, example: Example, ask: Ask) -> None:
    response = ask("/v1/plans", with_detail(example("planFitting", "hidden"), detail))
    assert response.status_code == 400
    assert [error["pointer"] for error in response.get_json()["errors"]] == ["#/preferences/detail"]


def test_brief_plans_are_small(weighed: list[Size]) -> None:
    assert {each.example for each in weighed} == set(NAMES)
    assert [each for each in weighed if each.brief >= BRIEF_BYTES] == []
    assert [each for each in weighed if not each.brief < each.standard < each.full] == []


def test_standard_plans_are_small_as_they_are_sent(weighed: list[Size]) -> None:
    assert max(each.layouts for each in weighed) == 6
    assert [each for each in weighed if each.standard_gzip >= STANDARD_BYTES] == []
