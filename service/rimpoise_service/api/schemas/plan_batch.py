"""POST /v1/plans/batch."""

from __future__ import annotations

from typing import Any

from .base import RequestSchema, ResponseSchema
from .nested_fields import ListField, ObjectField
from .plans import PlanRequestSchema, PlanSchema
from .problems import ProblemSchema
from .response_fields import IntegerField


class OnePlan(ObjectField):
    """A plan request, not looked at yet: one that is none gets its problem in its own place."""

    def __init__(self) -> None:
        super().__init__(PlanRequestSchema, allow_none=True)

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return value


class PlanBatchRequestSchema(RequestSchema):
    """Plan requests, judged one by one: one that is none, or breaks a rule, gets its problem in its own place."""

    plans = ListField(OnePlan(), "plan requests", least=1, most=1_000, required=True)

    def make(self, data: dict[str, Any]) -> Any:
        """The requests as they came."""
        return data["plans"]


class PlanResultSchema(ResponseSchema):
    """What became of one plan request: its plan, or its problem with pointers into that request."""

    index = IntegerField("its place among the requests, from 0")
    plan = ObjectField(PlanSchema, "the answer", allow_none=True)
    problem = ObjectField(ProblemSchema, "what is wrong with it", allow_none=True)


class PlanBatchSchema(ResponseSchema):
    """One result for each request, in the same order."""

    results = ListField(ObjectField(PlanResultSchema), "in the order of the requests", most=None)
