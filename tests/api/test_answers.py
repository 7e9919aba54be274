"""The answers that the document shows are those that are given, in the form that it states."""

from __future__ import annotations

import math
from typing import Any

import pytest

from rimpoise_service import __version__
from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.endpoints.examples.answers import read
from tests.api.fixture_types import Conforms
from tests.contract.answers import answers


def alike(one: Any, other: Any) -> bool:
    """Whether two answers are the same; numbers to a millionth, for processors round in their own ways."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(alike(one[name], other[name]) for name in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(alike, one, other))
    if isinstance(one, float) or isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-6, abs_tol=1e-6)
    return bool(one == other)


def test_numbers_may_differ_a_little_and_nothing_else() -> None:
    assert alike({"a": [1.0, None]}, {"a": [1.0 + 1e-9, None]})
    for other in ({"a": [1.1, None]}, {"a": [1.0]}, {"b": [1.0, None]}, {"a": [1.0, "None"]}):
        assert not alike({"a": [1.0, None]}, other)


def test_what_is_shown_is_what_is_answered() -> None:
    shown = read()
    for operation, name, reported in answers(slow=False):
        assert shown[operation.operation_id].name == name
        assert alike(shown[operation.operation_id].value, reported), f"{operation.operation_id}: {__doc__}"


@pytest.mark.slow
def test_so_is_what_takes_seconds() -> None:
    assert all(alike(read()[o.operation_id].value, reported) for o, _, reported in answers())


def test_every_request_and_every_answer_has_an_example(
    published: dict[str, Any],
    conforms: Conforms,
) -> None:
    seen = 0
    for methods in published["paths"].values():
        for operation in methods.values():
            for part in (operation.get("requestBody"), operation["responses"]["200"]):
                for content in part["content"].values() if part else ():
                    assert content["examples"], operation["operationId"]
                    noun = content["schema"].get("$ref", "").rpartition("/")[2]
                    for example in content["examples"].values():
                        assert conforms(noun, example["value"]) if noun else isinstance(example["value"], str)
                        seen += 1
    assert seen > 2 * len(ENDPOINTS)


def test_every_problem_has_an_example(
    published: dict[str, Any],
    conforms: Conforms,
) -> None:
    responses = published["components"]["responses"]
    problems = [each["content"] for name, each in responses.items() if name != "NotModified"]
    for content in problems:
        examples = content["application/problem+json"]["examples"].values()
        assert examples
        assert all(conforms("Problem", example["value"]) for example in examples)


def test_every_header_is_declared_and_used(published: dict[str, Any]) -> None:
    wanted = {"X-Request-Id", "Content-Language", "Retry-After", "RateLimit", "RateLimit-Policy", "ETag", "Allow"}
    wanted |= {"Cache-Control", "WWW-Authenticate", "Deprecation", "Sunset"}
    assert set(published["components"]["headers"]) == wanted
    reported = str((published["paths"], published["components"]["responses"]))
    assert all(f"#/components/headers/{name}'" in reported for name in wanted)


def test_the_document_says_whom_it_is_from(published: dict[str, Any]) -> None:
    assert published["info"]["version"] == __version__
    assert published["info"]["contact"]
    assert published["servers"]
    assert published["components"]["securitySchemes"]["key"]["scheme"] == "bearer"
    assert published["paths"]["/v1/plans"]["post"]["security"] == [{}, {"key": []}]
    for policy in ("`Deprecation` and `Sunset` for two minor", "no breaking changes", "new major version"):
        assert policy in " ".join(published["info"]["description"].split())
