"""The fast way of telling against the schemas' own: equal for every answer of every example."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from marshmallow import Schema

from rimpoise_service.api.endpoints.document import OPERATIONS
from rimpoise_service.api.schemas.base import Answer
from rimpoise_service.api.schemas.nested_fields import ByKey, Listed, Object
from rimpoise_service.api.schemas.response_fields import Direction, Told, Word
from rimpoise_service.api.schemas.serializer import teller

ANSWERED = [
    (f"{o.operation_id}-{name}", o, e.body)
    for o in OPERATIONS
    for name, e in o.examples.items()
    if not o.by_line and o.asks and o.answers
]


@pytest.mark.parametrize(("_", "operation", "body"), ANSWERED, ids=[name for name, *_ in ANSWERED])
def test_it_is_what_the_schema_dumps(_: str, operation: Any, body: Any) -> None:
    answer = operation.view(operation.asks.load(body))
    assert teller(operation.answers)(answer) == operation.answers.dump(answer)


class Inner(Answer):
    """With a direction that is nothing's."""

    size = Told("")
    angle_deg = Direction("", of="size", attribute="where.angle")


class Outer(Answer):
    """Everything that a field can be."""

    inner = Object(Inner, "", allow_none=True)
    several = Listed(Object(Inner), "", most=None, allow_none=True)
    words = Listed(Word(""), "", most=None, dump_default=())
    other = ByKey({"size": Inner}, "")


CASES: list[Callable[[], dict[str, Any]]] = [
    lambda: {"inner": None, "several": None, "other": None},
    lambda: {"inner": {"size": Decimal(3), "where": {"angle": 359.99999999}}, "several": [], "words": [1, None]},
    lambda: {"inner": None, "several": [{"size": 1e-9, "where": {"angle": 30.0}}] * 2, "words": (), "other": None},
]


@pytest.mark.parametrize("case", CASES)
def test_odd_answers(case: Callable[[], dict[str, Any]]) -> None:
    schema: Schema = Outer(only=["inner", "several", "words"])
    assert teller(schema)(case()) == schema.dump(case())
