"""The client's models against the published contract: generated from it, and open to what later versions add."""

from __future__ import annotations

import dataclasses
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from types import NoneType
from typing import Any, get_args, get_type_hints

import pytest

import rimpoise
from rimpoise import operations
from rimpoise.decoding import from_json
from rimpoise.encoding import key_of, to_json
from tests.contract_document import contract_document

ROOT = Path(__file__).parents[2]
CONTRACT = contract_document()
COMPONENTS: dict[str, dict[str, Any]] = CONTRACT["components"]["schemas"]
METHODS = {
    ("post", "/v1/corrections"): rimpoise.Client.corrections,
    ("post", "/v1/splits"): rimpoise.Client.split,
    ("post", "/v1/roundings"): rimpoise.Client.rounding,
    ("post", "/v1/style-choices"): rimpoise.Client.style_choices,
    ("post", "/v1/plans"): rimpoise.Client.plan,
    ("post", "/v1/drawings"): rimpoise.Client.drawing,
    ("post", "/v1/plans/sheet"): rimpoise.Client.sheet,
    ("post", "/v1/plans/batch"): rimpoise.Client.plan_batch,
    ("post", "/v1/demand"): rimpoise.Client.demand,
    ("post", "/v1/charges"): rimpoise.Client.charges,
    ("post", "/v1/vehicles"): rimpoise.Client.vehicle,
    ("post", "/v1/vehicles/sheet"): rimpoise.Client.vehicle_sheet,
    ("post", "/v1/check-spins"): rimpoise.Client.check_spin,
    ("post", "/v1/tyre-turns"): rimpoise.Client.tyre_turn,
    ("post", "/v1/trial-runs"): rimpoise.Client.trial_runs,
    ("post", "/v1/centring-checks"): rimpoise.Client.centring_check,
    ("post", "/v1/tolerances"): rimpoise.Client.tolerances,
    ("post", "/v1/run-outs"): rimpoise.Client.run_out,
    ("post", "/v1/run-outs/drawing"): rimpoise.Client.run_out_drawing,
    ("post", "/v1/run-outs/sheet"): rimpoise.Client.run_out_sheet,
    ("post", "/v1/spreads"): rimpoise.Client.spreads,
    ("get", "/v1/reference"): rimpoise.Client.reference,
    ("get", "/healthz"): rimpoise.Client.health,
    ("get", "/readyz"): rimpoise.Client.readiness,
    ("get", "/version"): rimpoise.Client.version,
}
NOT_OURS = {("get", "/openapi.yaml"), ("get", "/docs"), ("post", "/v1/plans/stream")}
"""For browsers, and lines: ``plan_many`` sends documents instead, each of which can be sent again."""
OBJECTS = [name for name, schema in COMPONENTS.items() if schema.get("type") == "object"]
ANSWERED = [name for name in OBJECTS if COMPONENTS[name]["additionalProperties"] and not name.endswith("Input")]


def test_the_models_are_current() -> None:
    check = [sys.executable, str(ROOT / "client" / "generate_models.py"), "--check"]
    done = subprocess.run(check, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "")


@pytest.mark.parametrize("name", COMPONENTS)
def test_every_noun_of_the_contract_is_public(name: str) -> None:
    assert getattr(rimpoise, name)


@pytest.mark.parametrize("name", OBJECTS)
def test_the_names_are_the_contracts(name: str) -> None:
    fields = dataclasses.fields(getattr(rimpoise, name))
    assert sorted(key_of(f.name) for f in fields) == sorted(COMPONENTS[name]["properties"])


@pytest.mark.parametrize("name", OBJECTS)
def test_what_must_be_there_is_the_contracts(name: str) -> None:
    """By the hints alone: what may be absent, or null, takes None or an empty tuple."""
    shape, schema = getattr(rimpoise, name), COMPONENTS[name]
    hints = get_type_hints(shape)
    for field in dataclasses.fields(shape):
        key = key_of(field.name)
        reported = schema["properties"][key]
        null = "null" in reported.get("type", "") or {"type": "null"} in reported.get("anyOf", [])
        needed = key in schema.get("required", []) and not null
        assert (field.default is dataclasses.MISSING) == (needed and field.name != "kind"), field.name
        if not needed and field.default is None:
            assert NoneType in get_args(hints[field.name]), field.name


def sample(schema: Mapping[str, Any], extra: dict[str, Any]) -> Any:
    """A value of a schema of an answer, with words nobody knows, everything nullable null, and fields too many."""
    if "$ref" in schema:
        return sample(COMPONENTS[schema["$ref"].rpartition("/")[2]], extra)
    if "oneOf" in schema:
        return {"kind": "of_next_year", "value": 1}
    if "anyOf" in schema:
        return None
    kind = schema["type"] if isinstance(schema["type"], str) else "null"
    if kind == "object":
        if "properties" not in schema:
            return {}
        return {name: sample(each, extra) for name, each in schema["properties"].items()} | extra
    if kind == "array":
        items = schema["items"]
        some = items | {"type": items["type"][0]} if isinstance(items.get("type"), list) else items
        return [sample(some, extra)]
    if kind == "string":
        return "2.50" if schema.get("x-decimal") else "of_next_year"
    return {"number": 1.5, "integer": 3, "boolean": True, "null": None}[kind]


def without_null(value: Any) -> Any:
    """What is null left out."""
    if isinstance(value, dict):
        return {name: without_null(each) for name, each in value.items() if each is not None}
    return [without_null(each) for each in value] if isinstance(value, list) else value


@pytest.mark.parametrize("name", ANSWERED)
def test_next_years_answer_is_read(name: str) -> None:
    reported = sample(COMPONENTS[name], {"of_next_year": {"deep": [1]}})
    read = from_json(getattr(rimpoise, name), reported)
    assert to_json(read) == without_null(sample(COMPONENTS[name], {}) | kinds(read))


def kinds(read: object) -> dict[str, str]:
    """The tag, which a dataclass has by itself."""
    return {"kind": read.kind} if hasattr(read, "kind") else {}


@pytest.mark.parametrize("name", ANSWERED)
def test_what_may_be_null_may_be_missing(name: str) -> None:
    reported = sample(COMPONENTS[name], {})
    shape = getattr(rimpoise, name)
    assert from_json(shape, without_null(reported)) == from_json(shape, reported)


def test_an_unknown_word_is_text_that_says_so() -> None:
    decision = from_json(rimpoise.DecisionCount, {"decision": "wait", "wheels": 1}).decision
    assert (decision, decision.known) == ("wait", False)
    assert from_json(rimpoise.DecisionCount, {"decision": "fit", "wheels": 1}).decision.known


def test_every_operation_has_its_method() -> None:
    stated = {(verb, path) for path, verbs in CONTRACT["paths"].items() for verb in verbs}
    assert set(METHODS) == stated - NOT_OURS


def test_every_method_answers_what_the_contract_says() -> None:
    for (verb, path), method in METHODS.items():
        content = CONTRACT["paths"][path][verb]["responses"]["200"]["content"]
        ref = content.get("application/json", {}).get("schema", {}).get("$ref", "")
        texts = {"image/svg+xml": rimpoise.Drawing, "text/html": rimpoise.Sheet}
        reported = getattr(rimpoise, ref.rpartition("/")[2]) if ref else texts[next(iter(content))]
        assert get_type_hints(method, vars(rimpoise) | vars(operations))["return"] is reported, path


def test_every_status_of_a_problem_has_its_exception() -> None:
    statuses = {int(s) for verbs in CONTRACT["paths"].values() for op in verbs.values() for s in op["responses"]}
    known = {200, 400, 401, 408, 413, 422, 429, 500, 503}  # each with a class of its own, see test_transport
    assert statuses <= known | {304, 405, 406, 415}  # which can't happen to us
