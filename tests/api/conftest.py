"""A client of the application, and ways into the published document and its examples."""

from __future__ import annotations

import json
from collections.abc import Iterator
from copy import deepcopy
from functools import cache
from typing import Any

import jsonschema_rs
import pytest
import yaml
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.document import ENDPOINTS, document
from rimpoise_service.api.json_schemas import noun_of
from rimpoise_service.api.ops.settings import Settings
from tests.api.fixture_types import Ask, Conforms, Example, Nodes, Path, Pointers, Replaced
from tests.clock import Clock


@pytest.fixture(scope="session")
def client() -> FlaskClient:
    """The application, without a network, and with no bound on the computing of all tests together."""
    return create_app(Settings(work_rate=0)).test_client()


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """The clock that the service looks at, stopped."""
    stopped = Clock()
    monkeypatch.setattr("time.monotonic", stopped)
    return stopped


@pytest.fixture(scope="session")
def ask(client: FlaskClient) -> Ask:
    """Post a body, as JSON or as the bytes given, to a path; the whole answer is read, so it holds no slot."""

    def post(path: str, body: object) -> TestResponse:
        data = body if isinstance(body, bytes) else json.dumps(body).encode()
        return client.post(path, data=data, content_type="application/json", buffered=True)

    return post


@pytest.fixture(scope="session")
def published() -> dict[str, Any]:
    """The document, as data."""
    loaded: dict[str, Any] = yaml.load(document(), Loader=yaml.CSafeLoader)
    return loaded


@pytest.fixture(scope="session")
def conforms(published: dict[str, Any]) -> Conforms:
    """Whether a value matches a schema of the document, by a validator that shares nothing with the service."""

    @cache
    def validator(name: str) -> jsonschema_rs.Draft202012Validator:
        schema = {"$ref": f"#/components/schemas/{name}", "components": published["components"]}
        return jsonschema_rs.Draft202012Validator(schema)

    return lambda name, value: validator(name).is_valid(value)


@pytest.fixture(scope="session")
def example() -> Example:
    """A fresh copy of an example's body, by operation and name, no part of which is another part too."""
    bodies = {(o.operation_id, name): e.body for o in ENDPOINTS for name, e in o.examples.items()}
    return lambda operation_id, name: json.loads(json.dumps(bodies[operation_id, name]))


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Parametrise over all examples: ``worked`` is (path, request schema, answer schema if it is JSON, body)."""
    if "worked" in metafunc.fixturenames:
        metafunc.parametrize("worked", list(_worked()))


MANY_VALUES = 64
"""An example with more values than this is for the slow set."""


def _worked() -> Iterator[object]:
    for o in ENDPOINTS:
        for name, e in o.examples.items() if o.asks else ():
            asks, answers = (noun_of(noun) if noun else "" for noun in (o.asks, o.answers))
            slow = [pytest.mark.slow] if _values(e.body) > MANY_VALUES else []
            yield pytest.param(
                (o.path, asks, answers, json.loads(json.dumps(e.body))), id=f"{o.operation_id}-{name}", marks=slow
            )


def _values(body: Any) -> int:
    inner = body.values() if isinstance(body, dict) else body if isinstance(body, list) else ()
    return 1 + sum(map(_values, inner))


@pytest.fixture(scope="session")
def nodes() -> Nodes:
    """Every value in a body with its path, the body itself left out."""

    def walk(value: Any, path: Path = ()) -> Iterator[tuple[Path, Any]]:
        if path:
            yield path, value
        if path == ("plans",):  # of a batch: what is in them is reported in its place, not refused
            return
        inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        for key, each in inner:
            yield from walk(each, (*path, key))

    return lambda body: list(walk(body))


@pytest.fixture(scope="session")
def replaced() -> Replaced:
    """A copy of a body with the value at a path replaced; ``...`` takes it out."""

    def replace(body: Any, path: Path, value: Any) -> Any:
        copy = deepcopy(body)
        node = copy
        for step in path[:-1]:
            node = node[step]
        if value is ...:
            del node[path[-1]]
        else:
            node[path[-1]] = value
        return copy

    return replace


@pytest.fixture(scope="session")
def pointers() -> Pointers:
    """The pointers of a problem's errors, after a look at its form."""

    def of(response: TestResponse) -> list[str]:
        assert response.content_type == "application/problem+json"
        problem = response.get_json()
        assert problem["status"] == response.status_code
        assert problem["instance"].startswith("urn:uuid:")
        assert problem["title"]
        assert problem["detail"]
        return [error["pointer"] for error in problem["errors"]]

    return of
