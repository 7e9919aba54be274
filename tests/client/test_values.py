"""Questions and answers as values: nothing lost as JSON, short to look at, compared and hashed by their fields."""

from __future__ import annotations

import json
import pickle
from collections import deque
from copy import deepcopy
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import rimpoise
from rimpoise import (
    Drawing,
    Flange,
    Flanges,
    Land,
    Message,
    Plan,
    PlanRequest,
    PointMass,
    QuestionError,
    Sheet,
    SpokeWindow,
    SpokeWindows,
    Value,
    Wheel,
    two_plane,
)
from rimpoise_service.api.endpoints.document import ENDPOINTS
from tests.client.invented import QUESTION
from tests.contract_document import contract_document
from tests.detail import DETAILS, with_detail

CONTRACT = contract_document()
COMPONENTS: dict[str, dict[str, Any]] = CONTRACT["components"]["schemas"]
ANSWERED = [n for n, s in COMPONENTS.items() if s.get("additionalProperties") and not n.endswith("Input")]
EXAMPLES = [
    (operation.path, name, example.body)
    for operation in ENDPOINTS
    for name, example in operation.examples.items()
    if "application/json" in CONTRACT["paths"][operation.path]["post"]["responses"]["200"]["content"]
]
PLANS = [each for each in EXAMPLES if each[0] == "/v1/plans"]


def answer_shape(path: str) -> type[Value]:
    """The model of an operation's answer."""
    content = CONTRACT["paths"][path]["post"]["responses"]["200"]["content"]
    shape: type[Value] = getattr(rimpoise, content["application/json"]["schema"]["$ref"].rpartition("/")[2])
    return shape


@pytest.mark.parametrize(("path", "name", "body"), EXAMPLES, ids=[f"{p}-{n}" for p, n, _ in EXAMPLES])
def test_an_answer_comes_back_to_the_byte(path: str, name: str, body: Any, service: FlaskClient) -> None:
    reported = service.post(path, json=body).get_data(as_text=True)
    answer = answer_shape(path).from_dict(json.loads(reported))
    assert json.dumps(answer.to_dict()) == json.dumps(json.loads(reported)), name
    assert answer_shape(path).from_dict(json.loads(answer.to_json())) == answer
    assert pickle.loads(pickle.dumps(answer)).to_dict() == answer.to_dict()  # noqa: S301 (our own)
    assert hash(deepcopy(answer)) == hash(answer)
    assert len(repr(answer)) < 400
    assert 1 <= len(answer.summary().splitlines()) <= 40


@pytest.mark.parametrize("detail", DETAILS)
@pytest.mark.parametrize(("path", "name", "body"), PLANS, ids=[n for _, n, _ in PLANS])
def test_a_plan_with_any_detail_comes_back(
    path: str, name: str, body: Any, detail: str, service: FlaskClient
) -> None:
    reported = service.post(path, json=with_detail(body, detail)).get_json()
    plan = Plan.from_dict(reported)
    assert json.dumps(plan.to_dict()) == json.dumps(reported), name
    assert Plan.from_dict(json.loads(plan.to_json())) == plan
    assert (plan.acceptance is None) == (plan.cautions == ()) == (detail == "brief")
    assert 1 <= len(plan.summary().splitlines()) <= 40


@pytest.mark.parametrize(("path", "name", "body"), EXAMPLES, ids=[f"{p}-{n}" for p, n, _ in EXAMPLES])
def test_a_question_comes_back(path: str, name: str, body: Any) -> None:
    content = CONTRACT["paths"][path]["post"]["requestBody"]["content"]
    shape = getattr(rimpoise, content["application/json"]["schema"]["$ref"].rpartition("/")[2])
    question = shape.from_dict(body)
    assert question.to_dict() == body, name
    assert hash(question) == hash(shape.from_dict(body))


plane_masses = st.tuples(st.integers(0, 90), st.integers(0, 359))


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    inner=plane_masses,
    outer=plane_masses,
    appearance=st.sampled_from(["no_preference", "clean_face", "out_of_sight"]),
    stock=st.sampled_from(["metric", "ounce"]),
    damaged=st.booleans(),
)
def test_a_plan_written_can_be_read_back(
    inner: tuple[int, int],
    outer: tuple[int, int],
    appearance: Any,
    stock: Any,
    damaged: bool,
    service: FlaskClient,
) -> None:
    reading = two_plane(PointMass(-134, 212, *inner), PointMass(44, 212, *outer))
    requested = replace(
        QUESTION,
        reading=reading,
        stock=rimpoise.BuiltinStock(stock),
        preferences=rimpoise.Preferences(appearance=appearance, max_pieces_per_plane=1),
        inspection=["sidewall_bulge"] if damaged else [],
    )
    reported = service.post("/v1/plans", json=requested.to_dict()).get_json()
    plan = Plan.from_dict(reported)
    assert plan.to_dict() == reported
    assert Plan.from_dict(json.loads(plan.to_json(indent=2))) == plan


@cache
def answers(name: str) -> st.SearchStrategy[Any]:
    """What a later version may answer: nulls, keys left out, keys and words that nobody knows."""
    schema = COMPONENTS[name]
    if "oneOf" in schema:
        forms = [answers(ref["$ref"].rpartition("/")[2]) for ref in schema["oneOf"]]
        return st.one_of(*forms, st.just({"kind": "of_next_year", "value": [None, 1]}))
    if schema["type"] == "string":
        return st.sampled_from([*schema["x-known-words"], "of_next_year"])
    needed = {p: of(t) for p, t in schema["properties"].items() if p in schema.get("required", [])}
    other = {p: of(t) for p, t in schema["properties"].items() if p not in needed}
    return st.fixed_dictionaries(needed, optional=other | {"of_next_year": st.just({"deep": [None]})})


def of(schema: Any) -> st.SearchStrategy[Any]:
    """Values of a field's schema."""
    if "anyOf" in schema:
        return st.one_of(st.none(), of(schema["anyOf"][0]))
    if "$ref" in schema:
        return st.deferred(lambda: answers(schema["$ref"].rpartition("/")[2]))
    kinds = [schema["type"]] if isinstance(schema["type"], str) else schema["type"]
    word = st.just(schema["x-known-words"][0]) if "x-known-words" in schema else st.text(max_size=3)
    simple: dict[str, st.SearchStrategy[Any]] = {
        "null": st.none(),
        "boolean": st.booleans(),
        "integer": st.integers(0, 9),
        "number": st.floats(-1e6, 1e6) | st.integers(-5, 5),
        "string": st.sampled_from(["0", "2.50", "-0.40"]) if schema.get("x-decimal") else word,
        "object": st.just({"mass_g": 3, "piece": None}),
    }
    each = [st.lists(of(schema["items"]), max_size=2) if kind == "array" else simple[kind] for kind in kinds]
    return st.one_of(*each)


@pytest.mark.parametrize("name", ANSWERED)
@settings(max_examples=10, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_whatever_the_contract_admits_comes_back(name: str, data: st.DataObject) -> None:
    reported = data.draw(answers(name))
    value = getattr(rimpoise, name).from_dict(reported)
    assert value.to_dict() == reported
    assert isinstance(hash(value), int)


def test_an_answer_made_by_hand_says_null_where_the_contract_does(plan_json: dict[str, Any]) -> None:
    plan = replace(Plan.from_dict(plan_json), reference=None, before=None)
    assert plan.to_dict() | {"reference": "job 7", "before": plan_json["before"]} == plan_json
    assert "reading" in replace(QUESTION, reference=None).to_dict()
    assert "reference" not in replace(QUESTION, reference=None).to_dict()


def test_what_does_not_fit_is_named(plan_json: dict[str, Any]) -> None:
    plan_json["recommended"]["pieces"][0]["mass_g"] = "35"
    with pytest.raises(QuestionError, match=r"^#/recommended/pieces/0/mass_g: expected a number, got a string"):
        Plan.from_dict(plan_json)
    with pytest.raises(QuestionError, match=r"^#/thickness_mm: "):
        Flange(thickness_mm=float("nan")).to_dict()


def test_sequences_are_compared_and_hashed_alike() -> None:
    lip = Flange(thickness_mm=3.2)
    land = Land("inner", "inboard", -90, 190, 40, behind_spokes=False, visible=False)
    made = [
        Wheel("steel", "factory", "car", flanges=Flanges(lip, lip), lands=kind([land]))
        for kind in (list, tuple, deque)
    ]
    assert len(set(made)) == 1
    assert SpokeWindows([SpokeWindow("a", 1, 2)]) == SpokeWindows((SpokeWindow("a", 1, 2),))
    assert {QUESTION: "planned"}[replace(QUESTION)] == "planned"


def test_a_list_that_was_given_may_change_afterwards() -> None:
    windows = [SpokeWindow("a", 1, 2)]
    spokes = SpokeWindows(windows)
    windows.append(SpokeWindow("b", 3, 4))
    assert len(spokes.windows) == 1


def test_a_repr_is_short_and_says_what_matters(plan_json: dict[str, Any]) -> None:
    assert repr(Message("high_gain", "Choose planes further apart.")) == (
        "Message(code='high_gain', text='Choose planes further apart.')"
    )
    assert len(repr(Message("a", "x" * 5000))) < 120
    shown = repr(Plan.from_dict(plan_json))
    assert shown.startswith("Plan(decision='fit', ")
    assert len(shown) < 400


def test_a_summary_says_what_to_fit(plan_json: dict[str, Any]) -> None:
    lines = Plan.from_dict(plan_json).summary().splitlines()
    assert lines[0] == "decision: fit"
    assert "    - 35 g, adhesive, BAR-5, inner land, 62°, 2:04" in lines
    assert "  pass chance: 88.25 %" in lines


def test_a_summary_counts_what_it_does_not_show() -> None:
    many = rimpoise.Problem(
        "", "Too much", 400, "20 faults", "", tuple(rimpoise.Fault("#/a", str(n)) for n in range(20))
    )
    assert many.summary().splitlines()[-1] == "  and 12 more"


def test_a_drawing_or_a_sheet_is_its_text_and_says_so_in_short() -> None:
    """Else a log line, a notebook's list or a failed assertion prints a whole page."""
    page = Sheet("x" * 30_000)
    assert (repr(page), repr(Drawing("<svg/>"))) == (
        "<Sheet: 30,000 characters of text/html>",
        "<Drawing: 6 characters of image/svg+xml>",
    )
    assert (page, str(page), f"{page}") == ("x" * 30_000,) * 3


def test_a_notebook_shows_drawings_and_sheets() -> None:
    assert Drawing("<svg/>")._repr_svg_() == "<svg/>"
    assert "&lt;p title=&quot;" in Sheet('<p title="x">')._repr_html_()


def test_every_literal_of_the_contract_has_a_public_name() -> None:
    words = [n for n, s in COMPONENTS.items() if s.get("type") == "string"]
    assert len(words) > 20
    assert set(words) <= set(rimpoise.__all__)
    inline = [
        (name, field)
        for name, schema in COMPONENTS.items()
        for field, reported in schema.get("properties", {}).items()
        if ("enum" in reported or "x-known-words" in reported) and field != "kind"
    ]
    assert inline == []


def test_a_request_type_is_a_value_too() -> None:
    assert isinstance(QUESTION, PlanRequest)
    assert isinstance(QUESTION, Value)
