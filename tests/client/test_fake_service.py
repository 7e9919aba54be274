"""A service to test against: it refuses what the real one refuses, and answers what it was given."""

from __future__ import annotations

import asyncio
import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from rimpoise import (
    BadRequest,
    Client,
    ConnectionFailed,
    Drawing,
    Health,
    HealthStatus,
    NotFound,
    Plan,
    Reply,
    RuleBroken,
    Unavailable,
)
from rimpoise.testing import Answer, FakeService, Recording, contract, faults
from rimpoise_service.api.endpoints.document import ENDPOINTS
from tests.client.invented import QUESTION

OK = Health(HealthStatus("ok"), "1")
EXAMPLES = [
    (o.path, name, e.body)
    for o in ENDPOINTS
    for name, e in o.examples.items()
    if contract()["operations"].get(o.path, {}).get("request")  # lines are not JSON
]


@pytest.mark.parametrize(("path", "name", "body"), EXAMPLES, ids=[f"{p}-{n}" for p, n, _ in EXAMPLES])
def test_what_the_contract_shows_is_taken(path: str, name: str, body: Any) -> None:
    assert faults(contract()["operations"][path]["request"], body) == [], name


def spoiled(body: Any) -> list[tuple[str, Any]]:
    """The same with one thing wrong, at every place: a value of another type, or a key too many."""
    found = []

    def walk(value: Any, path: tuple[Any, ...]) -> None:
        inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else []
        for step, each in inside:
            other = copy.deepcopy(body)
            at = other
            for earlier in path:
                at = at[earlier]
            at[step] = {"no": "such"} if not isinstance(each, dict) else 5
            found.append(("/".join(map(str, (*path, step))), other))
            walk(each, (*path, step))
        if isinstance(value, dict):
            other = copy.deepcopy(body)
            at = other
            for earlier in path:
                at = at[earlier]
            at["no_such_key"] = 1
            found.append(("/".join(map(str, (*path, "no_such_key"))), other))

    walk(body, ())
    return found


def test_what_the_service_refuses_is_refused_at_the_same_place(service: FlaskClient) -> None:
    (body,) = (b for p, n, b in EXAMPLES if (p, n) == ("/v1/plans", "own_stock"))
    fake = FakeService({"/v1/plans": Reply(503)})
    tried = spoiled(body)
    assert len(tried) > 100
    for place, wrong in tried:
        real = service.post("/v1/plans", json=wrong)
        with fake.client(retries=0) as client, pytest.raises(BadRequest) as raised:
            client.plan(wrong)
        assert real.status_code == 400, place
        ours = {error.pointer for error in raised.value.errors}
        theirs = {error["pointer"] for error in real.get_json()["errors"]}
        assert ours == theirs, place


def test_every_choice_but_null_says_its_kind() -> None:
    def walk(value: Any) -> None:
        if isinstance(value, dict):
            if "anyOf" in value:
                assert value["anyOf"][1:] == [{"type": "null"}]
            if "oneOf" in value:
                assert value["discriminator"]["propertyName"] == "kind"
        for each in value.values() if isinstance(value, dict) else value if isinstance(value, list) else []:
            walk(each)

    walk(contract())


def test_answers_are_values_mappings_or_made_from_the_request(plan_json: dict[str, Any]) -> None:
    plan = Plan.from_dict(plan_json)
    for answer in (plan, plan_json, lambda question: plan_json | {"reference": question["reference"]}):
        fake = FakeService({"/v1/plans": answer, "/v1/drawings": Drawing("<svg/>"), "/healthz": OK})
        with fake.client() as client:
            requested = client.plan(QUESTION)
            assert requested.decision == plan.decision
            assert client.drawing(requested) == "<svg/>"
            assert client.health().status == "ok"
        assert [call.url.rpartition("/")[2] for call in fake.calls] == ["plans", "drawings", "healthz"]
    assert requested.reference == QUESTION.reference


def test_batches_are_answered_plan_by_plan(plan_json: dict[str, Any]) -> None:
    def answer(question: Any) -> Any:
        problem = {"title": "No", "status": 422, "type": "t", "detail": "", "instance": "", "errors": []}
        bad = Reply(422, {"Content-Type": "application/problem+json"}, json.dumps(problem).encode())
        return bad if question["reference"] == "bad" else plan_json

    requested = [QUESTION.to_dict() | {"reference": name} for name in ("one", "bad", "three")]
    with FakeService({"/v1/plans": answer}).client() as client:
        results = list(client.plan_many(requested, chunk=2))
    assert [result.plan is not None for result in results] == [True, False, True]
    assert results[1].problem is not None
    assert results[1].problem.title == "No"


def test_trouble_can_be_played() -> None:
    outcomes: Iterator[Answer] = iter([ConnectionFailed("gone"), Reply(503), OK])
    fake = FakeService({"/healthz": lambda _: next(outcomes), "/readyz": Reply(503)})
    with fake.client() as client:
        assert client.health().status == "ok"
        with pytest.raises(Unavailable):
            Client.readiness(client)
    with fake.client(retries=0) as client, pytest.raises(LookupError, match="no answer for /version"):
        client.version()


def test_a_path_that_the_contract_does_not_have() -> None:
    with pytest.raises(ValueError, match="the contract has no /v1/plan"):
        FakeService({"/v1/plan": Reply(200)})
    with FakeService({}).client() as client, pytest.raises(NotFound):
        client._get("/v2/plans", Health)


def test_asyncio_can_ask_it(plan_json: dict[str, Any]) -> None:
    async def ask() -> str:
        async with FakeService({"/v1/plans": plan_json}).async_client() as client:
            return (await client.plan(QUESTION)).decision

    assert asyncio.run(ask()) == "fit"


def test_it_can_be_put_on_a_port(plan_json: dict[str, Any]) -> None:
    fake = FakeService({"/v1/plans": plan_json, "/healthz": ConnectionFailed("gone")})
    with fake.serve() as url, Client(url, retries=0) as client:
        assert client.plan(QUESTION).to_dict() == plan_json
        with pytest.raises(BadRequest, match="#/wheel"):
            client.plan({**QUESTION.to_dict(), "wheel": 5})
        with pytest.raises(ConnectionFailed):
            client.health()


def test_what_was_recorded_is_answered_again(url: str, tmp_path: Path) -> None:
    file = tmp_path / "answers.ndjson"
    wrong = QUESTION.to_dict() | {"inspection": ["low_pressure", "none"]}
    with Client(url, retries=0, api_key="invented-key", hooks=Recording(file).hooks) as client:
        plan, drawing, health = client.plan(QUESTION), client.drawing(QUESTION), client.health()
        with pytest.raises(RuleBroken) as real:
            client.plan(wrong)
    assert "invented-key" not in file.read_text("utf-8")
    with FakeService.recorded(file).client(retries=0) as client:
        assert (client.plan(QUESTION), client.drawing(QUESTION), client.health()) == (plan, drawing, health)
        with pytest.raises(RuleBroken) as again:
            client.plan(wrong)
        assert again.value.errors == real.value.errors
        with pytest.raises(LookupError, match="nothing was recorded for this request to /v1/plans"):
            client.plan(QUESTION.to_dict() | {"reference": "another"})
