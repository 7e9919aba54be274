"""POST /v1/plans/batch."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from .base import RequestSchema, ResponseSchema
from .nested_fields import ListField, ObjectField
from .plans import PlanRequestSchema, PlanSchema
from .problems import ProblemSchema
from .request_fields import JsonSchemaMixin
from .response_fields import IntegerField


class OnePlan(JsonSchemaMixin, fields.Field[Any]):
    """Anything: what is no plan request gets its problem in its own place."""

    def __init__(self) -> None:
        super().__init__(allow_none=True)
        self.meant = PlanRequestSchema()


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
