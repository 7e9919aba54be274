"""POST /v1/drawings: a plan request, or a plan's answer with or without the wheel it is for."""

from __future__ import annotations

from typing import Any, ClassVar, NamedTuple, get_args

from marshmallow import Schema

from ...drawing.given import GivenLayout, GivenPiece, GivenPlan
from ...drawing.page import Paper
from ...model.wheel import Wheel
from ...planning.models import STYLES, Decision, PlanRequest
from .base import Alternatives, EchoSchema, RequestSchema
from .nested_fields import ListField, ObjectField
from .plans import PlanRequestSchema
from .quantities import Angle, ArcEnd, Mass, Position, Radius, Segments
from .reading import ANGLE
from .request_fields import Boolean, Choice, Number, Text
from .rules import Elsewhere
from .wheel import WheelSchema

MAX_NAME = 400
"""A layout's name has the names of two lands in it, a window's those of two spokes."""

MAX_PIECES, MAX_LAYOUTS = 8, 200


class DrawingRequest(NamedTuple):
    """What to draw: a job to be planned, or a plan as it was answered; which layout, on which paper."""

    source: PlanRequest | GivenPlan
    wheel: Wheel | None
    layout: str | None
    paper: Paper


def layout_field() -> Text:
    """Which layout to draw."""
    return Text("by its name in the plan's answer; default: the recommended one", most=MAX_NAME)


def paper_field() -> Choice:
    """What to draw it on."""
    return Choice("upright", get_args(Paper), load_default="a4")


class DrawingRequestSchema(PlanRequestSchema):
    """A plan request, with what to draw of its plan."""

    layout = layout_field()
    paper = paper_field()
    layout_known = Elsewhere("layout_known")

    def make(self, data: dict[str, Any]) -> DrawingRequest:
        """The job apart from the drawing."""
        layout, paper = data.pop("layout", None), data.pop("paper")
        return DrawingRequest(super().make(data), None, layout, paper)


class Probability(Number):
    """A chance [%]."""

    unit, low, high = "%", 0, 100


class GivenResidualSchema(EchoSchema):
    """What is left, as a plan's answer tells it."""

    static_g = Mass("static, at the mean radius", required=True)


class GivenPieceSchema(EchoSchema):
    """A weight, as a plan's answer tells it."""

    makes = GivenPiece
    place = Text("inboard_flange, outboard_flange or a land's name", required=True)
    style = Choice("of weight", STYLES, required=True)
    sku = Text("from the stock", required=True)
    mass_g = Mass("of the piece", required=True)
    segments = Segments("of a strip", allow_none=True, load_default=None)
    position_mm = Position("of its middle along the axis, positive outboard", required=True)
    radius_mm = Radius("of its mass centre", required=True)
    angle_deg = Angle("of its middle, " + ANGLE, required=True)
    window = Text("the spoke it is behind", most=MAX_NAME, allow_none=True, load_default=None)
    arc_deg = ArcEnd("of the circle that it covers", required=True)
    hidden = Boolean("whether it can't be seen from outboard", required=True)


class GivenLayoutSchema(EchoSchema):
    """A layout, as a plan's answer tells it."""

    name = Text("of the layout", required=True, most=MAX_NAME)
    pieces = ListField(ObjectField(GivenPieceSchema), "to draw", most=MAX_PIECES, required=True)
    residual = ObjectField(GivenResidualSchema, "what they leave", required=True)
    pass_chance_pct = Probability("that the first check spin passes", required=True)

    def make(self, data: dict[str, Any]) -> GivenLayout:
        """The layout."""
        return GivenLayout(data["name"], data["pieces"], data["residual"]["static_g"], data["pass_chance_pct"])


class GivenPlanSchema(EchoSchema):
    """A plan's answer, as it came; what a drawing doesn't show is not looked at."""

    makes = GivenPlan
    decision = Choice("how it ended", [str(d) for d in Decision], required=True)
    recommended = ObjectField(GivenLayoutSchema, "the best", allow_none=True, load_default=None)
    alternatives = ListField(ObjectField(GivenLayoutSchema), "the others", most=MAX_LAYOUTS, load_default=())
    reference = Text("the caller's own", allow_none=True, load_default=None)

    def make(self, data: dict[str, Any]) -> GivenPlan:
        """The layouts in one row."""
        best = [data["recommended"]] if data["recommended"] else []
        return GivenPlan(Decision(data["decision"]), (*best, *data["alternatives"]), data["reference"])


class PlanDrawingRequestSchema(RequestSchema):
    """A plan's answer and the wheel it is for, with what to draw of it."""

    plan = ObjectField(GivenPlanSchema, "as it was answered", required=True)
    wheel = ObjectField(WheelSchema, "as it was asked; without it only the weights are drawn")
    layout = layout_field()
    paper = paper_field()
    layout_known = Elsewhere("layout_known")

    def make(self, data: dict[str, Any]) -> DrawingRequest:
        """The plan as it was answered."""
        return DrawingRequest(data["plan"], data.get("wheel"), data.get("layout"), data["paper"])


class PlanAsItCameSchema(GivenPlanSchema):
    """A plan's answer as it came, nothing around it: its recommended layout is drawn, without the wheel."""

    def make(self, data: dict[str, Any]) -> DrawingRequest:  # type: ignore[override]
        """The plan as it was answered."""
        return DrawingRequest(super().make(data), None, None, "a4")


class DrawingSchema(Alternatives):
    """The three forms."""

    variants: ClassVar[dict[str, Schema]] = {
        "decision": PlanAsItCameSchema(),
        "plan": PlanDrawingRequestSchema(),
        "reading": DrawingRequestSchema(),
    }
