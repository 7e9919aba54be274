"""A plan's answer that comes back: read leniently, in as much as it is used."""

from __future__ import annotations

from typing import Any

from ...drawing.given import GivenLayout, GivenPiece, GivenPlan
from ...model.device import Called, ClockTime
from ...planning.models import MOST_PIECES_PER_PLANE, Decision
from . import words
from .base import EchoSchema
from .device import CLOCK_PATTERN
from .device_quantities import BareAngle, ShownMass
from .nested_fields import ListField, ObjectField
from .quantities import ANGLE, AXIS, Angle, ArcEnd, Chance, Mass, Position, Radius, Segments
from .request_fields import Boolean, Choice, Tag, Text

MAX_NAME = 400
"""A layout's name has the names of two lands in it, a window's those of two spokes."""

MAX_PIECES, MAX_LAYOUTS = 2 * MOST_PIECES_PER_PLANE, 200


class GivenPlaneMassSchema(EchoSchema):
    """The residual of one plane, as a plan gives it."""

    noun = "PlaneMass"
    mass_g = Mass("Residual of the plane [g].", required=True)


class GivenResidualSchema(EchoSchema):
    """The residual of a layout, as a plan gives it."""

    noun = "Residual"
    planes = ListField(
        ObjectField(GivenPlaneMassSchema),
        "Residual of each plane; empty where only the static sum is judged.",
        most=MAX_PIECES,
        load_default=(),
    )
    static_g = Mass("Static residual [g], as a mass at the mean radius of the planes.", required=True)


class GivenClockSchema(EchoSchema):
    """A time of the clock, as a plan gives it."""

    noun = "Clock"
    makes = ClockTime
    kind = Tag("clock")
    clock = Text("Time on a clock face, like 4:00.", pattern=CLOCK_PATTERN, hint="clock_time", required=True)


class GivenCalledSchema(EchoSchema):
    """A weight in the balancer's terms, as a plan gives it; from standard detail on with its unit."""

    noun = "Called"
    mass = ShownMass("Nominal mass of the weight, in mass_unit.", required=True)
    mass_unit = Choice(words.MASS_UNITS, "Unit of mass.")
    angle = BareAngle("Angle of the weight [deg], in the device's sense and view.", required=True)
    valve_at = ObjectField(
        GivenClockSchema, "Where the valve stands; absent where it shows degrees.", load_default=None
    )

    def make(self, data: dict[str, Any]) -> Called | None:
        """What is drawn of it, nothing without a unit."""
        unit = data.get("mass_unit")
        return unit and Called(data["mass"], unit, data["angle"], data["valve_at"], None, None, "mm", "in")


class GivenPieceSchema(EchoSchema):
    """A weight, as a plan gives it."""

    noun = "Piece"
    kind = Tag("planned")
    place = Text("Place on the wheel, which is inboard_flange, outboard_flange or a land's name.", required=True)
    style = Choice(words.STYLES, "Style of the weight.", required=True)
    sku = Text("Stock number of the weight.", required=True)
    label = Text("Name of the weight for people.")
    material = Choice(words.MATERIALS, "Material of the weight, which decides how it is recycled.")
    mass_g = Mass("Mass of the piece [g].", required=True)
    segments = Segments("Number of segments in one strip; absent for a clip-on.", load_default=None)
    position_mm = Position(f"Position of the piece's middle [mm], {AXIS}.", required=True)
    radius_mm = Radius("Radius of the piece's mass centre [mm], measured from the wheel's axis.", required=True)
    angle_deg = Angle(f"Angle of the piece's middle [deg], {ANGLE}.", required=True)
    window = Text(
        "Name of the spoke that the piece is behind; absent where it is behind none.",
        most=MAX_NAME,
        load_default=None,
    )
    arc_deg = ArcEnd("Part of the circle that the piece covers [deg].", load_default=0.0)
    hidden = Boolean("Whether the piece can't be seen from outboard.", load_default=False)
    location = Text("Place of the weight on the shelf.")
    called = ObjectField(GivenCalledSchema, "The weight in the balancer's own terms, if it has any.")


class DrawnPieceSchema(GivenPieceSchema):
    """A weight, as a plan tells it."""

    def make(self, data: dict[str, Any]) -> GivenPiece:
        """What is drawn of it."""
        return GivenPiece(**{name: each for name, each in data.items() if name not in NOT_DRAWN})


NOT_DRAWN = {"label", "material", "location"}


class GivenMessageSchema(EchoSchema):
    """A message, as a plan gives it."""

    noun = "Message"
    code = Text("Stable code of the message.", required=True)


class GivenLayoutSchema(EchoSchema):
    """A layout, as a plan gives it."""

    noun = "Layout"
    name = Text("Name of the layout.", required=True, most=MAX_NAME)
    in_words = ObjectField(GivenMessageSchema, "Name of the layout for people.", load_default=None)
    pieces = ListField(
        ObjectField(DrawnPieceSchema),
        "Weights to draw; for an alternative only a plan with full detail has them.",
        most=MAX_PIECES,
        load_default=None,
    )
    residual = ObjectField(GivenResidualSchema, "Residual that the pieces leave.", required=True)
    pass_chance_pct = Chance("Chance that the first check spin passes [%].", required=True)

    def make(self, data: dict[str, Any]) -> GivenLayout:
        """The layout."""
        left, said = data["residual"], data["in_words"]
        left_g = max([left["static_g"], *(plane["mass_g"] for plane in left["planes"])])
        way = said["code"].removeprefix("layout_") if said else ""
        return GivenLayout(data["name"], data["pieces"], left_g, data["pass_chance_pct"], way)


class GivenPlanSchema(EchoSchema):
    """A plan as it was answered; what a drawing doesn't show is ignored."""

    noun = "Plan"
    decision = Choice(words.DECISIONS, "How the plan ended.", required=True)
    recommended = ObjectField(
        GivenLayoutSchema, "Recommended layout; null where the plan has none.", load_default=None
    )
    alternatives = ListField(
        ObjectField(GivenLayoutSchema), "Other layouts of the plan.", most=MAX_LAYOUTS, load_default=()
    )
    reference = Text("Reference that the caller gave the request.", load_default=None)

    def make(self, data: dict[str, Any]) -> GivenPlan:
        """The layouts in one row."""
        best = [data["recommended"]] if data["recommended"] else []
        return GivenPlan(Decision(data["decision"]), (*best, *data["alternatives"]), data["reference"])
