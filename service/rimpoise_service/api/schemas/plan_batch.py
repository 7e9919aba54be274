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
    """Plan requests, each judged by itself; one that is malformed or breaks a rule gets a problem in its place."""

    plans = ListField(OnePlan(), "Plan requests, each answered by itself.", least=1, most=1_000, required=True)

    def make(self, data: dict[str, Any]) -> Any:
        """The requests as they came."""
        return data["plans"]


class PlanResultSchema(ResponseSchema):
    """The result of one plan request: its plan, or its problem with pointers into that request."""

    index = IntegerField("Place of the request in the list, from 0.")
    plan = ObjectField(PlanSchema, "Plan for the request; null where there is a problem.", allow_none=True)
    problem = ObjectField(
        ProblemSchema, "What is wrong with the request; null where there is a plan.", allow_none=True
    )


class PlanBatchSchema(ResponseSchema):
    """One result for each request, in the same order."""

    results = ListField(ObjectField(PlanResultSchema), "Results in the order of the requests.", most=None)
