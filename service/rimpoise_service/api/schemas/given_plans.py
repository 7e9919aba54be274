"""A plan's answer that comes back: read leniently, in as much as it is used."""

from __future__ import annotations

from typing import Any

from ...drawing.given import GivenLayout, GivenPiece, GivenPlan
from ...planning.models import Decision
from . import words
from .base import EchoSchema
from .nested_fields import ListField, ObjectField
from .quantities import Angle, ArcEnd, Mass, Position, Radius, Segments
from .reading import ANGLE
from .request_fields import Boolean, Choice, Number, Tag, Text

MAX_NAME = 400
"""A layout's name has the names of two lands in it, a window's those of two spokes."""

MAX_PIECES, MAX_LAYOUTS = 8, 200


class Probability(Number):
    """A chance [%]."""

    unit, low, high = "%", 0, 100


class GivenResidualSchema(EchoSchema):
    """What is left, as a plan tells it."""

    noun = "Residual"
    static_g = Mass("static, at the mean radius", required=True)


class GivenPieceSchema(EchoSchema):
    """A weight, as a plan tells it."""

    noun = "Piece"
    kind = Tag("planned")
    place = Text("inboard_flange, outboard_flange or a land's name", required=True)
    style = Choice(words.STYLES, "of weight", required=True)
    sku = Text("from the stock", required=True)
    label = Text("for people")
    material = Choice(words.MATERIALS, "for recycling")
    mass_g = Mass("of the piece", required=True)
    segments = Segments("of a strip", load_default=None)
    position_mm = Position("of its middle along the axis, positive outboard", required=True)
    radius_mm = Radius("of its mass centre", required=True)
    angle_deg = Angle("of its middle, " + ANGLE, required=True)
    window = Text("the spoke it is behind", most=MAX_NAME, load_default=None)
    arc_deg = ArcEnd("of the circle that it covers", load_default=0.0)
    hidden = Boolean("whether it can't be seen from outboard", load_default=False)
    location = Text("where it is on the shelf")


class DrawnPieceSchema(GivenPieceSchema):
    """A weight, as a plan tells it."""

    def make(self, data: dict[str, Any]) -> GivenPiece:
        """What is drawn of it."""
        return GivenPiece(**{name: each for name, each in data.items() if name not in NOT_DRAWN})


NOT_DRAWN = {"label", "material", "location"}


class GivenLayoutSchema(EchoSchema):
    """A layout, as a plan tells it."""

    noun = "Layout"
    name = Text("of the layout", required=True, most=MAX_NAME)
    pieces = ListField(
        ObjectField(DrawnPieceSchema),
        "to draw; only a plan with full detail has those of its alternatives",
        most=MAX_PIECES,
        load_default=None,
    )
    residual = ObjectField(GivenResidualSchema, "what they leave", required=True)
    pass_chance_pct = Probability("that the first check spin passes", required=True)

    def make(self, data: dict[str, Any]) -> GivenLayout:
        """The layout."""
        return GivenLayout(data["name"], data["pieces"], data["residual"]["static_g"], data["pass_chance_pct"])


class GivenPlanSchema(EchoSchema):
    """A plan, as it was answered; what a drawing doesn't show is not looked at."""

    noun = "Plan"
    decision = Choice(words.DECISIONS, "how it ended", required=True)
    recommended = ObjectField(GivenLayoutSchema, "the best", load_default=None)
    alternatives = ListField(ObjectField(GivenLayoutSchema), "the others", most=MAX_LAYOUTS, load_default=())
    reference = Text("the caller's own", load_default=None)

    def make(self, data: dict[str, Any]) -> GivenPlan:
        """The layouts in one row."""
        best = [data["recommended"]] if data["recommended"] else []
        return GivenPlan(Decision(data["decision"]), (*best, *data["alternatives"]), data["reference"])
