"""POST /v1/drawings: a plan request, or a plan's answer with or without the wheel it is for."""

from __future__ import annotations

from typing import Any, NamedTuple

from ...drawing.given import GivenPlan
from ...drawing.page import Paper
from ...messages.reader import current_reader
from ...model.wheel import Wheel
from ...planning.models import PlanRequest
from . import words
from .base import RequestSchema
from .given_plans import MAX_NAME, GivenPlanSchema
from .nested_fields import ObjectField, Variants
from .plans import PlanRequestSchema
from .request_fields import Choice, Tag, Text
from .rules import Elsewhere
from .wheel import WheelSchema


class DrawingRequest(NamedTuple):
    """What to draw: a job to be planned, or a plan as it was answered; which layout, on which paper."""

    source: PlanRequest | GivenPlan
    wheel: Wheel | None
    layout: str | None
    paper: Paper


def layout_field() -> Text:
    """Which layout to draw."""
    return Text("Name of the layout in the plan's answer; without it, the recommended one.", most=MAX_NAME)


def paper_field() -> Choice:
    """What to draw it on."""
    return Choice(
        words.PAPERS, "Paper, upright; without it, `letter` for a reader of American English, else `a4`."
    )


def paper_of(data: dict[str, Any]) -> Paper:
    """What to draw on: as asked, else what the reader's printer has."""
    usual: Paper = "letter" if current_reader().language == "en-US" else "a4"
    asked: Paper | None = data.get("paper")
    return asked or usual


class DrawingOfRequestSchema(RequestSchema):
    """A plan request, and what to draw of its plan."""

    kind = Tag("request")
    request = ObjectField(PlanRequestSchema, "Plan request whose plan is drawn.", required=True)
    layout = layout_field()
    paper = paper_field()
    layout_known = Elsewhere("layout_known")

    def make(self, data: dict[str, Any]) -> DrawingRequest:
        """The job apart from the drawing."""
        return DrawingRequest(data["request"], None, data.get("layout"), paper_of(data))


class DrawingOfPlanSchema(RequestSchema):
    """A plan as it was answered, its wheel, and what to draw of it."""

    kind = Tag("plan")
    plan = ObjectField(GivenPlanSchema, "Plan to draw, as it was answered.", required=True)
    wheel = ObjectField(
        WheelSchema, "Wheel of the plan, as it was sent for it; without it only the weights are drawn."
    )
    layout = layout_field()
    paper = paper_field()
    layout_known = Elsewhere("layout_known")
    detail_enough = Elsewhere("detail_enough")

    def make(self, data: dict[str, Any]) -> DrawingRequest:
        """The plan as it was answered."""
        return DrawingRequest(data["plan"], data.get("wheel"), data.get("layout"), paper_of(data))


DRAWING_REQUEST = Variants(
    "DrawingRequest",
    "What to draw: the plan of a request, or a plan that was answered.",
    '{"kind": "plan", "plan": {...}, "wheel": {...}}',
    DrawingOfRequestSchema,
    DrawingOfPlanSchema,
)
