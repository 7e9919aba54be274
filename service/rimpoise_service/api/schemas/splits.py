"""POST /v1/splits."""

from __future__ import annotations

from typing import Any

from ...physics.planes import Plane, PlaneVector
from ...physics.unbalance import polar
from ...planning.strip_split import SplitJob
from .base import Answer, Noun
from .messages import warnings
from .nested_fields import Listed, Object
from .quantities import Angle, Mass, PieceCount, WheelRadius
from .reading import ANGLE
from .response_fields import Direction, Flag, Told, Whole, Word
from .stock import StripSchema
from .wheel import KeepOutArcSchema, spokes_field


class SplitTargetSchema(Noun):
    """The weight that was called."""

    mass_g = Mass("called", required=True)
    angle_deg = Angle(ANGLE, required=True)
    radius_mm = WheelRadius("at which it was called", required=True)

    def make(self, data: dict[str, Any]) -> PlaneVector:
        """The vector, in a plane of that radius."""
        plane = Plane("target", 0.0, data["radius_mm"])
        return PlaneVector(plane, polar(data["mass_g"] * data["radius_mm"], data["angle_deg"]))


class SplitRequestSchema(Noun):
    """One weight to be made of strips behind the spokes."""

    target = Object(SplitTargetSchema, "the weight that was called", required=True)
    land_radius_mm = WheelRadius("of the land the strips go on; default: the target's radius")
    spokes = spokes_field(required=True)
    strip = Object(StripSchema, "the strip to cut from", required=True)
    max_pieces = PieceCount("how many strips there may be", load_default=2)
    keep_out = Listed(Object(KeepOutArcSchema), "arcs that no strip may touch", most=32, load_default=())

    def make(self, data: dict[str, Any]) -> SplitJob:
        """The job, on the target's own radius if no land is given."""
        return SplitJob(**{"land_radius_mm": data["target"].plane.radius_mm} | data)


class StripPieceSchema(Answer):
    """A strip behind a spoke."""

    window = Word("the spoke's name", allow_none=True)
    segments = Whole("how many, uncut")
    mass_g = Told("of the strip")
    angle_deg = Direction("of its middle, " + ANGLE, of="mass_g")
    arc_deg = Told("of the circle that it covers")
    length_mm = Told("along the land")


class SplitResidualSchema(Answer):
    """What is left, heavy side."""

    unbalance_gmm = Told("size")
    mass_g = Told("the same as a mass at the target's radius")
    angle_deg = Direction(ANGLE, of="mass_g")


class IdealSchema(Answer):
    """A point weight of any mass, at the middle of a neighbouring spoke."""

    window = Word("the spoke's name", allow_none=True)
    mass_g = Told("unrounded")


class SplitSchema(Answer):
    """Strips that come as near to the called weight as whole segments can."""

    pieces = Listed(Object(StripPieceSchema), "the strips", most=None)
    residual = Object(SplitResidualSchema, "what they leave")
    ideal = Listed(Object(IdealSchema), "the called weight on its two neighbouring spokes, unrounded", most=None)
    proven_optimal = Flag("whether the search proves that nothing leaves less")
    warnings = warnings()
