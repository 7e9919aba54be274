"""Every rule of the table, broken once at every place where it holds: reported 422 at its pointer."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from rimpoise_service.api.schemas.rules import RULES, RuleBreak
from rimpoise_service.messages.catalogue import texts_of, words_of
from rimpoise_service.messages.message import Message
from tests.api import rule_breaks_of_plans, rule_breaks_of_workshop
from tests.api.fixture_types import Ask, Conforms, Example, Pointers
from tests.api.rule_breaks import (
    PLANS,
    Case,
)

CASES = [*rule_breaks_of_plans.BREAKS, *rule_breaks_of_workshop.BREAKS]


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c.rule} {c.pointer}")
def test_a_broken_rule_is_reported_at_its_place(
    case: Case,
    example: Example,
    ask: Ask,
    pointers: Pointers,
    conforms: Conforms,
    published: dict[str, Any],
) -> None:
    path, *name = case.example
    body = example(*name)
    case.change(body)
    content = published["paths"][path]["post"]["requestBody"]["content"]["application/json"]
    forms = content["schema"].get("oneOf", [content["schema"]])
    assert any(conforms(form["$ref"].rpartition("/")[2], body) for form in forms), "else it would be a 400"
    response = ask(path, body)
    assert (response.status_code, pointers(response)) == (422, [case.pointer])
    assert response.get_json()["type"] == "/problems/rule-broken"
    (error,) = response.get_json()["errors"]
    assert error["rule"] == case.rule
    assert case.said in error["detail"]


def test_every_rule_is_broken_here() -> None:
    assert {case.rule for case in CASES} == set(RULES)


def test_every_rule_is_reported_where_it_holds(published: dict[str, Any], client: FlaskClient) -> None:
    descriptions = " ".join(s["description"] for s in published["components"]["schemas"].values())
    assert [name for name in RULES if f"Rule `{name}`" not in descriptions] == []
    assert {row["rule"] for row in client.get("/v1/reference").get_json()["rules"]} == set(RULES)


ALL_AT_ONCE = {
    "inspection_none_alone": "#/inspection/1",
    "planes_apart": "#/reading/planes/1/position_mm",
    "range_order": "#/stock/clip_ons/1/thickness_mm/max",
    "flanges_in_order": "#/wheel/flanges/outboard/position_mm",
    "keep_out_place_known": "#/wheel/keep_out/0/place",
}


def test_all_broken_rules_come_at_once(example: Example, ask: Ask) -> None:
    body = example("planFitting", "own_stock")
    for case in CASES:
        if case.rule in ALL_AT_ONCE and case.example == PLANS and case.pointer in ALL_AT_ONCE[case.rule]:
            case.change(body)
    errors = ask("/v1/plans", body).get_json()["errors"]
    assert [(e["pointer"], e["rule"]) for e in errors] == [
        ("#/inspection/1", "inspection_none_alone"),
        ("#/reading/planes/1/position_mm", "planes_apart"),
        ("#/stock/clip_ons/1/thickness_mm/max", "range_order"),
        ("#/wheel/flanges/outboard/position_mm", "flanges_in_order"),
        ("#/wheel/keep_out/0/place", "keep_out_place_known"),
    ]


def test_rules_let_their_limits_pass(example: Example, ask: Ask) -> None:
    body = example("computeCorrections", "move_inboard")
    body["planes"][1]["position_mm"] = -109
    assert ask("/v1/corrections", body).status_code == 200
    body = example("splitBehindSpokes", "windows")
    body["spokes"] = {"kind": "even", "count": 10, "first_deg": 0, "width_deg": 36}
    assert ask("/v1/splits", body).status_code == 200
    body["spokes"] = {
        "kind": "windows",
        "windows": [{"name": str(c), "centre_deg": c, "width_deg": 90} for c in (0, 90, 180, 270)],
    }
    assert ask("/v1/splits", body).status_code == 200
    body = example("roundToStock", "steps") | {"step_g": 0.3, "max_mass_g": 60}
    assert ask("/v1/roundings", body).status_code == 200


def test_a_rule_must_be_in_the_table() -> None:
    with pytest.raises(KeyError, match="no_such_rule"):
        RuleBreak("no_such_rule", Message("no_strips"))


@pytest.mark.parametrize("language", ["de", "es"])
def test_every_break_is_reported_in_the_readers_language_with_its_values(
    language: str, example: Example, client: FlaskClient
) -> None:
    for case in CASES:
        path, *name = case.example
        body = example(*name)
        case.change(body)
        english, other = (
            client.post(path, json=body, headers={"Accept-Language": tag}) for tag in ("en-GB", language)
        )
        assert other.headers["Content-Language"] == language
        (reported,), (ours,) = other.get_json()["errors"], english.get_json()["errors"]
        assert (reported["code"], reported["values"]) == (ours["code"], ours["values"])
        assert reported["code"] in texts_of("de")
        assert reported["detail"] != ours["detail"], case
        for value in reported["values"].values():
            if isinstance(value, str) and value in ours["detail"] and value not in words_of("en-GB"):
                assert value in reported["detail"], (case.rule, value)  # the request's own words stay


def test_a_list_and_an_item_of_it_may_both_break_a_rule(ask: Ask) -> None:
    """Found by fuzzing: two trials are too few, and one of them is in another plane; both are said."""
    shown = [{"amplitude": 3.0}]
    trials = [
        {"plane": p, "mass_g": 10, "angle_deg": a, "responses": shown} for p, a in (("hub", 0), ("rim", 120))
    ]
    answer = ask("/v1/trial-runs", {"initial": shown, "trials": trials})
    assert answer.status_code == 422
    reported = {error["pointer"]: error["rule"] for error in answer.get_json()["errors"]}
    assert reported == {"#/trials": "four_runs", "#/trials/1/plane": "four_runs"}


def test_a_rule_holds_where_what_it_needs_is_null(ask: Ask, example: Example) -> None:
    """null is the same as not sent, for the rules too."""
    body = example("roundToStock", "steps") | {"masses_g": None, "step_g": None, "max_mass_g": None}
    response = ask("/v1/roundings", body)
    assert response.status_code == 422
    assert {error["rule"] for error in response.get_json()["errors"]} == {"masses_or_step"}
