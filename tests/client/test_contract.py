"""The client's dataclasses against the published contract: a name, a type or a default that drifts fails here."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
import yaml

import rimpoise
from rimpoise.encoding import to_json

CONTRACT = yaml.safe_load((Path(__file__).parents[2] / "openapi.yaml").read_text("utf-8"))
COMPONENTS: dict[str, dict[str, Any]] = CONTRACT["components"]["schemas"]
OTHER_NAMES: Mapping[type, str] = {
    rimpoise.ChargesQuestion: "ChargesRequest",
    rimpoise.CheckSpinQuestion: "CheckSpinRequest",
    rimpoise.CentringAnswer: "Centring",
    rimpoise.CentringQuestion: "CentringRequest",
    rimpoise.CorrectionsAnswer: "Corrections",
    rimpoise.CorrectionsQuestion: "CorrectionsRequest",
    rimpoise.DemandQuestion: "DemandRequest",
    rimpoise.DrawingQuestion: "DrawingRequest",
    rimpoise.Fault: "ProblemError",
    rimpoise.IdealWeight: "Ideal",
    rimpoise.OwnStock: "ShopStock",
    rimpoise.PlanDrawingQuestion: "PlanDrawingRequest",
    rimpoise.PlanQuestion: "PlanRequest",
    rimpoise.PlanBatchQuestion: "PlanBatchRequest",
    rimpoise.PointMassReading: "PointMassesReading",
    rimpoise.RoundingAnswer: "Rounding",
    rimpoise.RoundingQuestion: "RoundingRequest",
    rimpoise.SplitAnswer: "Split",
    rimpoise.SplitQuestion: "SplitRequest",
    rimpoise.SpokeWindow: "Window",
    rimpoise.SpokeWindows: "Windows",
    rimpoise.StyleChoices: "Styles",
    rimpoise.StyleQuestion: "StylesRequest",
    rimpoise.TyreTurnQuestion: "TyreTurnRequest",
    rimpoise.TolerancesAnswer: "Tolerances",
    rimpoise.TolerancesQuestion: "TolerancesRequest",
    rimpoise.TrialRunsAnswer: "TrialRuns",
    rimpoise.TrialRunsQuestion: "TrialRunsRequest",
}
NOT_ON_THE_WIRE = {rimpoise.Call, rimpoise.Reply, rimpoise.Retry}
OURS_ALONE = {(rimpoise.Flange, "present")}
"""Fields that have a default here, for convenience, and none in the contract; besides a reading's kind."""
SENT_BACK = {"PlannedPiece": "Piece", "SentCalled": "Called", "SentClock": "Clock"}
"""What can be sent just as it was answered: stated twice in the contract, strict and open; one class here."""
MAY_LACK = {rimpoise.Problem, rimpoise.KnownSpread, rimpoise.JobPlannedPiece}
"""RFC 9457 asks for less than our service gives; a history may not tell all; a planned piece is sent, and open."""
READ_IN_PART = {
    "GivenPlan": "Plan",
    "GivenLayout": "Layout",
    "GivenPiece": "Piece",
    "GivenResidual": "Residual",
    "PlanAsItCame": "Plan",
}
"""What can be sent as it was answered and of which only a part is read: stated as that part in the contract."""
METHODS = {
    ("post", "/v1/corrections"): rimpoise.Client.corrections,
    ("post", "/v1/splits"): rimpoise.Client.split,
    ("post", "/v1/roundings"): rimpoise.Client.rounding,
    ("post", "/v1/style-choices"): rimpoise.Client.style_choices,
    ("post", "/v1/plans"): rimpoise.Client.plan,
    ("post", "/v1/drawings"): rimpoise.Client.drawing,
    ("post", "/v1/plans/batch"): rimpoise.Client.plan_batch,
    ("post", "/v1/demand"): rimpoise.Client.demand,
    ("post", "/v1/charges"): rimpoise.Client.charges,
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
FOR_BROWSERS = {("get", "/openapi.yaml"), ("get", "/docs")}
JSON_TYPES = {str: "string", Decimal: "string", float: "number", int: "integer", bool: "boolean"}


def public_shapes() -> list[type]:
    """Every public dataclass that goes over the wire."""
    public = {getattr(rimpoise, name) for name in rimpoise.__all__}
    return sorted(
        (s for s in public - NOT_ON_THE_WIRE if isinstance(s, type) and dataclasses.is_dataclass(s)),
        key=lambda shape: shape.__name__,
    )


SHAPES = public_shapes()
NAMED = {shape: OTHER_NAMES.get(shape, shape.__name__) for shape in SHAPES}


def of_hint(hint: Any) -> object:
    """What a type says, in a form to compare; None is left to of_null."""
    origin, args = get_origin(hint), get_args(hint)
    if hint in JSON_TYPES:
        return JSON_TYPES[hint]
    if hint in NAMED:
        return {NAMED[hint]}
    if origin is Literal:
        return sorted(args)
    if origin in (tuple, Sequence):
        return ("array", of_hint(args[0]))
    assert origin in (Union, UnionType), hint  # a Literal | None is the former
    assert origin in (UnionType, Union), hint
    parts: list[Any] = [of_hint(arg) for arg in args if arg is not NoneType]
    return parts[0] if len(parts) == 1 else set().union(*parts)


def of_schema(schema: dict[str, Any]) -> object:
    """What a schema says, in the same form."""
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        return {(SENT_BACK | READ_IN_PART).get(name, name)}
    if variants := schema.get("oneOf", schema.get("anyOf")):
        named: list[Any] = [of_schema(v) for v in variants if v not in ({}, {"type": "null"})]
        return set().union(*named)
    if "enum" in schema:
        return sorted(word for word in schema["enum"] if word is not None)
    (kind,) = [name for name in types_of(schema) if name != "null"]
    return ("array", of_schema(schema["items"])) if kind == "array" else kind


def types_of(schema: dict[str, Any]) -> list[str]:
    """Its JSON types, always as a list."""
    kinds = schema.get("type", [])
    return kinds if isinstance(kinds, list) else [kinds]


def may_be_null(schema: dict[str, Any]) -> bool:
    """Whether it allows null."""
    return "null" in types_of(schema) or {"type": "null"} in schema.get("anyOf", [])


def default_of(field: dataclasses.Field[Any]) -> Any:
    """The field's default as it would be sent, MISSING if it has none."""
    assert field.default_factory is dataclasses.MISSING
    return field.default if field.default in (None, dataclasses.MISSING) else to_json(field.default)


def test_every_schema_of_the_contract_has_its_class_and_no_class_is_more() -> None:
    assert sorted([*NAMED.values(), *SENT_BACK, *READ_IN_PART]) == sorted(COMPONENTS)


def test_what_is_sent_back_has_the_names_that_were_answered() -> None:
    for sent, answered in SENT_BACK.items():
        assert sorted(COMPONENTS[sent]["properties"]) == sorted(COMPONENTS[answered]["properties"])


def test_what_is_read_in_part_is_part_of_what_was_answered() -> None:
    for sent, answered in READ_IN_PART.items():
        assert COMPONENTS[sent]["properties"].keys() <= COMPONENTS[answered]["properties"].keys()
        assert "additionalProperties" not in COMPONENTS[sent]


@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: s.__name__)
def test_the_names_are_the_contracts(shape: type) -> None:
    assert sorted(f.name for f in dataclasses.fields(shape)) == sorted(COMPONENTS[NAMED[shape]]["properties"])


@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: s.__name__)
def test_the_types_are_the_contracts(shape: type) -> None:
    for name, hint in get_type_hints(shape).items():
        schema = COMPONENTS[NAMED[shape]]["properties"][name]
        stated = of_schema(schema)
        if hint is str and "enum" in schema:  # we may be laxer with words, so that new ones don't break us
            stated = "string"
        assert of_hint(hint) == stated, name


@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: s.__name__)
def test_what_must_be_there_and_what_may_be_null_is_the_contracts(shape: type) -> None:
    component = COMPONENTS[NAMED[shape]]
    asked = component.get("additionalProperties") is False
    for field in dataclasses.fields(shape):
        schema, hint = component["properties"][field.name], get_type_hints(shape)[field.name]
        default = default_of(field)
        if asked and field.name != "kind" and (shape, field.name) not in OURS_ALONE:
            assert (default is dataclasses.MISSING) == (field.name in component.get("required", [])), field.name
            if default not in (None, dataclasses.MISSING) and "default" in schema:
                assert default == schema["default"], field.name
        if not asked and shape not in MAY_LACK:
            assert field.name in component["required"]
            assert (NoneType in get_args(hint)) == may_be_null(schema), field.name


def test_every_operation_has_its_method_and_its_types() -> None:
    stated = {(verb, path) for path, verbs in CONTRACT["paths"].items() for verb in verbs}
    assert set(METHODS) == stated - FOR_BROWSERS
    for (verb, path), method in METHODS.items():
        operation, hints = CONTRACT["paths"][path][verb], get_type_hints(method)
        content = operation["responses"]["200"]["content"]
        answer = content["application/json"]["schema"] if "application/json" in content else {"type": "string"}
        assert of_hint(hints["return"]) == of_schema(answer), path
        if verb == "post":
            asked = operation["requestBody"]["content"]["application/json"]["schema"]
            hinted = of_hint(hints["question"])
            also = {"PlanRequest"} if path == "/v1/drawings" else set()  # which is a DrawingRequest as well
            assert hinted == of_schema(asked) | also, path  # type: ignore[operator]


def test_what_can_be_had_in_other_forms_has_its_method() -> None:
    forms = CONTRACT["paths"]["/v1/plans"]["post"]["responses"]["200"]["content"]
    assert list(forms) == ["application/json", "text/html"]
    assert get_type_hints(rimpoise.Client.sheet) == {"question": rimpoise.PlanQuestion, "return": str}


def test_every_status_of_a_problem_has_its_exception() -> None:
    statuses = {int(s) for verbs in CONTRACT["paths"].values() for op in verbs.values() for s in op["responses"]}
    known = {200, 400, 401, 408, 413, 422, 429, 500, 503}  # each with a class of its own, see test_transport
    assert statuses <= known | {406, 415}  # which can't happen to us
