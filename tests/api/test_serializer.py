"""The serializer against a naive one: equal for every answer of every example, and for odd ones."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest
from marshmallow.utils import get_value

from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.schemas import base, nested_fields
from rimpoise_service.api.schemas.base import NounSchema, RequestSchema, ResponseSchema
from rimpoise_service.api.schemas.nested_fields import ListField, ObjectField, UnionField, Variants
from rimpoise_service.api.schemas.plans import PlanSchema
from rimpoise_service.api.schemas.quantities import Mass
from rimpoise_service.api.schemas.request_fields import Tag
from rimpoise_service.api.schemas.response_fields import BooleanField, DirectionField, NumberField, StringField
from rimpoise_service.api.schemas.serializer import make_serializer
from rimpoise_service.planning.advice import AdvisedPlan
from tests.detail import DETAILS, with_detail

ANSWERED = [
    (f"{o.operation_id}-{name}", o, e.body)
    for o in ENDPOINTS
    for name, e in o.examples.items()
    if o.path != "/v1/plans/batch" and o.asks and o.answers
]
PLANS = [each for each in ANSWERED if each[1].path == "/v1/plans"]


def naive(schema: Any, value: object, detail: str = "standard", also: tuple[str, ...] = ()) -> dict[str, Any]:
    """Look every attribute up by its path, as marshmallow does, and write nouns one by one."""
    detail = value.detail if isinstance(value, AdvisedPlan) else detail
    source, written = schema.unpack(value), {}
    for name, field in schema.fields.items():
        if name in also or field.detail in (None, *DETAILS[: DETAILS.index(detail) + 1]):
            found = get_value(source, field.attribute or name, field.dump_default)
            written[name] = naive_value(field, found, detail)
    finished: dict[str, Any] = schema.finish(written)
    if detail == "brief":
        for name in [name for name, each in finished.items() if each is None and not schema.brief_has_null]:
            del finished[name]
        for name in [name for name in schema.brief_may_lack if finished[name] == []]:
            del finished[name]
    return finished


def naive_value(field: Any, value: Any, detail: str) -> Any:
    """A noun, a list of values, or what the field writes."""
    if value is None:
        return None
    if isinstance(field, ObjectField):
        return naive(field.schema, value, detail, field.also)
    if isinstance(field, ListField):
        return [naive_value(field.inner, item, detail) for item in value]
    if isinstance(field, UnionField):
        (variant,) = (v for v in field.variants.schemas.values() if getattr(v, "makes", None) is type(value))
        return naive(variant, value, detail)
    return field.to_json(value)


@pytest.mark.parametrize(("_", "operation", "body"), ANSWERED, ids=[name for name, *_ in ANSWERED])
def test_every_answer_is_written_as_naively(_: str, operation: Any, body: Any) -> None:
    answer = operation.compute(body)
    assert operation.answers.to_json(answer) == naive(operation.answers, answer)


@pytest.mark.parametrize(("_", "operation", "body"), PLANS, ids=[name for name, *_ in PLANS])
def test_every_plan_is_written_as_naively(_: str, operation: Any, body: Any) -> None:
    """With any detail, of which the full one has all."""
    full = operation.compute(with_detail(body, "full"))
    for detail in DETAILS:
        answer = replace(full, detail=detail)
        assert operation.answers.to_json(answer) == naive(operation.answers, answer)


class Inner(ResponseSchema):
    """With a direction that is nothing's."""

    size = NumberField("")
    angle_deg = DirectionField("", of="size", attribute="where.angle")


class Size(RequestSchema):
    """A noun that is echoed."""

    makes = SimpleNamespace
    kind = Tag("size")
    mass_g = Mass("")
    radius_mm = Mass("")


class Outer(ResponseSchema):
    """Everything that a field can be."""

    inner = ObjectField(Inner, "", allow_none=True)
    several = ListField(ObjectField(Inner), "", most=None, allow_none=True)
    words = ListField(StringField(""), "", most=None, dump_default=())
    other = UnionField(Variants("Other", "", "", Size), "", allow_none=True)
    done = BooleanField("", dump_default=False)


ECHO = SimpleNamespace(mass_g=0.1 + 0.2, radius_mm=None)
NOTHING = {"size": 1e-9, "angle_deg": 30.0, "where": {"angle": 30.0}}
CASES: list[Callable[[], tuple[Any, dict[str, Any]]]] = [
    lambda: (
        {"inner": None, "several": None, "other": ECHO},
        {"inner": None, "several": None, "words": [], "other": {"kind": "size", "mass_g": 0.3}, "done": False},
    ),
    lambda: (
        {
            "inner": {"size": Decimal(3), "where": SimpleNamespace(angle=359.99999999)},
            "several": [],
            "words": [1, None],
            "other": ECHO,
            "done": True,
        },
        {
            "inner": {"size": 3.0, "angle_deg": 0.0},
            "several": [],
            "words": ["1", None],
            "other": {"kind": "size", "mass_g": 0.3},
            "done": True,
        },
    ),
    lambda: (
        {"inner": NOTHING, "several": [NOTHING] * 2, "words": (), "other": ECHO},
        {
            "inner": {"size": 0.0, "angle_deg": 0.0},
            "several": [{"size": 0.0, "angle_deg": 0.0}] * 2,
            "words": [],
            "other": {"kind": "size", "mass_g": 0.3},
            "done": False,
        },
    ),
]


@pytest.mark.parametrize("case", CASES)
def test_odd_answers(case: Callable[[], tuple[Any, dict[str, Any]]]) -> None:
    schema, (value, expected) = Outer(), case()
    assert schema.to_json(value) == naive(schema, value) == expected


@pytest.mark.parametrize("value", [{"size": 1}, SimpleNamespace(size=1)])
def test_an_answer_that_lacks_a_field_is_a_fault(value: object) -> None:
    schema: NounSchema = Inner()
    with pytest.raises((AttributeError, KeyError), match="where"):
        schema.to_json(value)


def test_a_noun_in_a_noun_is_compiled_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """For objects and dictionaries together: twice at each depth was 627 times for a plan, of some forty nouns."""
    compiled = list[object]()

    def counting(schema: Any, *args: Any) -> Any:
        compiled.append(schema)
        return make_serializer(schema, *args)

    monkeypatch.setattr(base, "make_serializer", counting)
    monkeypatch.setattr(nested_fields, "make_serializer", counting)
    PlanSchema().writer("standard")
    assert 20 < len(compiled) < 120
