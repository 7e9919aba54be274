"""POST /v1/splits."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...physics.planes import Plane, PlaneVector
from ...physics.unbalance import polar
from ...planning.strip_split import SplitRequest
from .base import RequestSchema, ResponseSchema
from .messages import warnings
from .nested_fields import ListField, ObjectField
from .quantities import Angle, LeftOver, Mass, PieceCount, WheelRadius
from .reading import ANGLE
from .response_fields import BooleanField, DirectionField, IntegerField, NumberField, StringField
from .rules import Break, rule
from .stock import StripSchema
from .units import UnitsRequestSchema, units_field
from .wheel import KeepOutArcSchema, spokes_field


class SplitTargetSchema(RequestSchema):
    """The weight that was called."""

    mass_g = Mass("called", required=True)
    angle_deg = Angle(ANGLE, required=True)
    radius_mm = WheelRadius("at which it was called", required=True)

    def make(self, data: dict[str, Any]) -> PlaneVector:
        """The vector, in a plane of that radius."""
        plane = Plane("target", 0.0, data["radius_mm"])
        return PlaneVector(plane, polar(data["mass_g"] * data["radius_mm"], data["angle_deg"]))


class SplitRequestSchema(UnitsRequestSchema):
    """One weight to be made of strips behind the spokes."""

    target = ObjectField(SplitTargetSchema, "the weight that was called", required=True)
    land_radius_mm = WheelRadius("of the land the strips go on; default: the target's radius")
    spokes = spokes_field(required=True)
    strip = ObjectField(StripSchema, "the strip to cut from", required=True)
    max_pieces = PieceCount("how many strips there may be", load_default=2)
    keep_out = ListField(ObjectField(KeepOutArcSchema), "arcs that no strip may touch", most=32, load_default=())
    within_g = LeftOver(
        "that may be left, at the target's radius: as few strips as leave no more; 0 asks for the least possible",
        load_default=2.0,
    )
    units = units_field()

    @rule("target_in_reach", "target", "strip", "max_pieces")
    def _in_reach(self, data: dict[str, Any]) -> Iterator[Break]:
        strip, most = data["strip"], data["max_pieces"]
        reach, target = most * strip.max_segments * strip.segment_mass_g, data["target"].mass_g
        if reach < target / 2:
            said = message("target_out_of_reach", strips=most, most=strip.max_segments, reach_g=reach)
            yield Break(("target", "mass_g"), said)

    def make(self, data: dict[str, Any]) -> SplitRequest:
        """The job, on the target's own radius if no land is given."""
        return SplitRequest(**{"land_radius_mm": data["target"].plane.radius_mm} | data)


class StripPieceSchema(ResponseSchema):
    """A strip behind a spoke."""

    window = StringField(
        'the spoke\'s name; of spokes that touch: "1 and 2", or from the first to the last, "1 to 3"',
        allow_none=True,
    )
    segments = IntegerField("how many, uncut")
    mass_g = NumberField("of the strip")
    angle_deg = DirectionField("of its middle, " + ANGLE, of="mass_g")
    arc_deg = NumberField("of the circle that it covers")
    length_mm = NumberField("along the land")


class SplitResidualSchema(ResponseSchema):
    """What is left, heavy side."""

    unbalance_gmm = NumberField("size")
    mass_g = NumberField("the same as a mass at the target's radius")
    angle_deg = DirectionField(ANGLE, of="mass_g")


class IdealSchema(ResponseSchema):
    """A point weight of any mass, at the middle of a neighbouring spoke."""

    window = StringField("the spoke's name", allow_none=True)
    mass_g = NumberField("unrounded")


class SplitSchema(ResponseSchema):
    """The fewest strips that come near enough to the called weight, or as near as whole segments can."""

    pieces = ListField(ObjectField(StripPieceSchema), "the strips", most=None)
    residual = ObjectField(SplitResidualSchema, "what they leave")
    ideal = ListField(
        ObjectField(IdealSchema), "the called weight on its two neighbouring spokes, unrounded", most=None
    )
    proven_optimal = BooleanField(
        "whether the search proves it: of all splits within `within_g` none has fewer strips, nor as many and a "
        "lower `residual.mass_g` + 0.2 · mass fitted; or none is within, and nothing leaves less"
    )
    warnings = warnings()
