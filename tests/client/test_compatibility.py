"""The compatibility policy, against services that are newer and older than this client.

Newer, of the same major version: keys, words, forms and headers that this version does not know are no trouble.
Older: what it can't say yet is missing, which is no trouble where the contract lets it be null or left out; an
operation that it doesn't have is ``NotFound``, a required key that is missing an ``AnswerError`` that names it.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from flask.testing import FlaskClient

import rimpoise
from rimpoise import AnswerError, Client, NotFound, Reply, UnknownForm, Value
from rimpoise.testing import FakeService
from rimpoise_service.api.endpoints.document import ENDPOINTS
from tests.client.invented import QUESTION
from tests.client.test_contract import METHODS
from tests.contract_document import contract_document

CONTRACT = contract_document()
COMPONENTS: dict[str, dict[str, Any]] = CONTRACT["components"]["schemas"]
WORD = "of_next_year"
Today = Callable[[str, str], Any]


def named(schema: dict[str, Any]) -> str:
    """The noun that a schema refers to."""
    return str(schema["$ref"]).rpartition("/")[2]


ASKED = [
    (operation.path, name, example.body, named(content["application/json"]["schema"]))
    for operation in ENDPOINTS
    for name, example in operation.examples.items()
    if "application/json" in (content := CONTRACT["paths"][operation.path]["post"]["responses"]["200"]["content"])
]
each_example = pytest.mark.parametrize(
    ("path", "name", "body", "noun"), ASKED, ids=[f"{p}-{n}" for p, n, *_ in ASKED]
)


@pytest.fixture(scope="module")
def today(service: FlaskClient) -> Today:
    """What today's service answers to an example, by its path and name; each is requested once."""
    bodies = {(path, name): body for path, name, body, _ in ASKED}
    reported = cache(lambda path, name: service.post(path, json=bodies[path, name]).text)
    return lambda path, name: json.loads(reported(path, name))


def newer(schema: dict[str, Any], value: Any) -> Any:
    """An answer as next year's service may give it."""
    if value is None:
        return None
    if "anyOf" in schema:
        return newer(schema["anyOf"][0], value)
    if "$ref" in schema:
        schema = COMPONENTS[named(schema)]
    if "oneOf" in schema:
        return {"kind": WORD, "since": "2.0"}
    if isinstance(value, dict) and "properties" in schema:
        known = {key: newer(schema["properties"][key], each) for key, each in value.items()}
        return known | {WORD: {"deep": [None]}}
    if isinstance(value, list):
        return [newer(schema["items"], each) for each in value]
    return WORD if "x-known-words" in schema else value


def older(schema: dict[str, Any], value: Any) -> Any:
    """An answer as last year's service may have given it."""
    if "anyOf" in schema and value is not None:
        return older(schema["anyOf"][0], value)
    if "$ref" in schema:
        schema = COMPONENTS[named(schema)]
    if "oneOf" in schema and isinstance(value, dict):
        schema = COMPONENTS[named({"$ref": schema["discriminator"]["mapping"][value["kind"]]})]
    if isinstance(value, dict) and "properties" in schema:
        said = {key: each for key, each in value.items() if each is not None}
        return {key: older(schema["properties"][key], each) for key, each in said.items()}
    return [older(schema["items"], each) for each in value] if isinstance(value, list) else value


def requested(path: str, body: Any, answer: Any) -> Value:
    """What the client makes of an answer, over a wire."""
    headers = {"Content-Type": "application/json", "X-Of-Next-Year": "yes"}
    reply = Reply(200, headers, json.dumps(answer).encode())
    with FakeService({path: reply}).serve() as url, Client(url, retries=0) as client:
        method: Any = METHODS["post", path]
        value: Value = method(client, body)
        return value


@each_example
def test_next_years_answer_is_read(path: str, name: str, body: Any, noun: str, today: Today) -> None:
    reported = newer({"$ref": f"#/{noun}"}, today(path, name))
    value = requested(path, body, reported)
    assert value.to_dict() == reported, name
    assert WORD not in repr(type(value))
    assert value.summary()


@each_example
def test_last_years_answer_is_read(path: str, name: str, body: Any, noun: str, today: Today) -> None:
    answer = today(path, name)
    value = requested(path, body, older({"$ref": f"#/{noun}"}, answer))
    assert value == getattr(rimpoise, noun).from_dict(answer), name


def test_unknown_words_and_forms_say_so(service: FlaskClient) -> None:
    reported = newer({"$ref": "#/Plan"}, service.post("/v1/plans", json=QUESTION.to_dict()).get_json())
    with FakeService({"/v1/plans": reported}).client() as client:
        plan = client.plan(QUESTION)
    assert (plan.decision, plan.decision.known) == (WORD, False)
    assert isinstance(plan.acceptance, UnknownForm)
    assert plan.recommended is not None
    assert plan.recommended.pieces[0].mass_g > 0


def test_an_operation_that_an_older_service_does_not_have() -> None:
    gone = Reply(404, {"Content-Type": "application/problem+json"}, b"{}")
    with FakeService({"/v1/spreads": gone}).client() as client, pytest.raises(NotFound):
        client.spreads(next(body for path, _, body, _ in ASKED if path == "/v1/spreads"))


def test_a_key_that_must_be_there_is_named(service: FlaskClient) -> None:
    reported = service.post("/v1/plans", json=QUESTION.to_dict()).get_json()
    del reported["recommended"]["pieces"][0]["mass_g"]
    with FakeService({"/v1/plans": reported}).client() as client, pytest.raises(AnswerError) as raised:
        client.plan(QUESTION)
    assert raised.value.pointer == "#/recommended/pieces/0/mass_g"


def test_what_will_be_removed_is_reported_while_it_works(
    service: FlaskClient, caplog: pytest.LogCaptureFixture
) -> None:
    body = service.post("/v1/plans", json=QUESTION.to_dict()).data
    headers = {"Content-Type": "application/json", "Deprecation": "@1767225600"}
    with FakeService({"/v1/plans": Reply(200, headers, body)}).client() as client:
        assert client.plan(QUESTION).decision == "fit"
    assert [r.levelno for r in caplog.records if r.name == "rimpoise"] == [logging.WARNING]
