"""POST /v1/plans/batch."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from .base import Answer, Noun
from .nested_fields import Listed, Object
from .plans import PlanRequestSchema, PlanSchema
from .problems import ProblemSchema
from .request_fields import Stated
from .response_fields import Whole


class OnePlan(Stated, fields.Field[Any]):
    """Anything: what is no plan request gets its problem in its own place."""

    def __init__(self) -> None:
        super().__init__(allow_none=True)
        self.meant = PlanRequestSchema()


class PlanBatchRequestSchema(Noun):
    """Plan requests, judged one by one: one that is none, or breaks a rule, gets its problem in its own place."""

    plans = Listed(OnePlan(), "plan requests", least=1, most=1_000, required=True)

    def make(self, data: dict[str, Any]) -> Any:
        """The requests as they came."""
        return data["plans"]


class PlanResultSchema(Answer):
    """What became of one plan request: its plan, or its problem with pointers into that request."""

    index = Whole("its place among the requests, from 0")
    plan = Object(PlanSchema, "the answer", allow_none=True)
    problem = Object(ProblemSchema, "what is wrong with it", allow_none=True)


class PlanBatchSchema(Answer):
    """One result for each request, in the same order."""

    results = Listed(Object(PlanResultSchema), "in the order of the requests", most=None)
