"""The fast way of telling against the schemas' own: equal for every answer of every example."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from marshmallow import Schema

from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.schemas.base import ResponseSchema
from rimpoise_service.api.schemas.nested_fields import ByKey, ListField, ObjectField
from rimpoise_service.api.schemas.response_fields import DirectionField, NumberField, StringField
from rimpoise_service.api.schemas.serializer import make_serializer

ANSWERED = [
    (f"{o.operation_id}-{name}", o, e.body)
    for o in ENDPOINTS
    for name, e in o.examples.items()
    if not o.by_line and o.asks and o.answers
]


@pytest.mark.parametrize(("_", "operation", "body"), ANSWERED, ids=[name for name, *_ in ANSWERED])
def test_it_is_what_the_schema_dumps(_: str, operation: Any, body: Any) -> None:
    answer = operation.view(operation.asks.load(body))
    assert make_serializer(operation.answers)(answer) == operation.answers.dump(answer)


class Inner(ResponseSchema):
    """With a direction that is nothing's."""

    size = NumberField("")
    angle_deg = DirectionField("", of="size", attribute="where.angle")


class Outer(ResponseSchema):
    """Everything that a field can be."""

    inner = ObjectField(Inner, "", allow_none=True)
    several = ListField(ObjectField(Inner), "", most=None, allow_none=True)
    words = ListField(StringField(""), "", most=None, dump_default=())
    other = ByKey({"size": Inner}, "")


CASES: list[Callable[[], dict[str, Any]]] = [
    lambda: {"inner": None, "several": None, "other": None},
    lambda: {"inner": {"size": Decimal(3), "where": {"angle": 359.99999999}}, "several": [], "words": [1, None]},
    lambda: {"inner": None, "several": [{"size": 1e-9, "where": {"angle": 30.0}}] * 2, "words": (), "other": None},
]


@pytest.mark.parametrize("case", CASES)
def test_odd_answers(case: Callable[[], dict[str, Any]]) -> None:
    schema: Schema = Outer(only=["inner", "several", "words"])
    assert make_serializer(schema)(case()) == schema.dump(case())
