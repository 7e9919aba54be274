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
from .quantities import ANGLE, Angle, LeftOver, Mass, PieceCount, WheelRadius
from .response_fields import BooleanField, DirectionField, IntegerField, NumberField, StringField
from .rules import Break, rule
from .stock import StripSchema
from .units import UnitsRequestSchema, units_field
from .wheel import KeepOutArcSchema, spokes_field


class SplitTargetSchema(RequestSchema):
    """The weight that was called."""

    mass_g = Mass("Mass that was called [g].", required=True)
    angle_deg = Angle(f"Angle that was called [deg], {ANGLE}.", required=True)
    radius_mm = WheelRadius("Radius for which the mass was called [mm].", required=True)

    def make(self, data: dict[str, Any]) -> PlaneVector:
        """The vector, in a plane of that radius."""
        plane = Plane("target", 0.0, data["radius_mm"])
        return PlaneVector(plane, polar(data["mass_g"] * data["radius_mm"], data["angle_deg"]))


class SplitRequestSchema(UnitsRequestSchema):
    """One weight to split into strips behind the spokes."""

    target = ObjectField(SplitTargetSchema, "The weight that was called.", required=True)
    land_radius_mm = WheelRadius("Radius of the land that the strips go on [mm]; without it, the target's radius.")
    spokes = spokes_field(required=True)
    strip = ObjectField(StripSchema, "Strip to cut the pieces from.", required=True)
    max_pieces = PieceCount("Largest number of strips.", load_default=2)
    keep_out = ListField(ObjectField(KeepOutArcSchema), "Arcs that no strip may touch.", most=32, load_default=())
    within_g = LeftOver(
        "Mass that may be left [g], at the target's radius; the fewest strips within it are chosen, "
        "and 0 gives the least residual.",
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
        'Name of the spoke, null where it has none; for spokes that touch, like "1 and 2" or "1 to 3".',
        allow_none=True,
    )
    segments = IntegerField("Number of segments in one strip, left uncut.")
    mass_g = NumberField("Mass of the strip [g].")
    angle_deg = DirectionField(f"Angle of the strip's middle [deg], {ANGLE}.", of="mass_g")
    arc_deg = NumberField("Part of the circle that the strip covers [deg].")
    length_mm = NumberField("Length of the strip along the land [mm].")


class SplitResidualSchema(ResponseSchema):
    """The unbalance that is left, as the heavy side."""

    unbalance_gmm = NumberField("Size of the unbalance [g·mm].")
    mass_g = NumberField("Size of the unbalance as a mass at the target's radius [g].")
    angle_deg = DirectionField(f"Angle of the heavy side [deg], {ANGLE}.", of="mass_g")


class IdealSchema(ResponseSchema):
    """A point weight of any mass, at the middle of a neighbouring spoke."""

    window = StringField("Name of the spoke; null where it has none.", allow_none=True)
    mass_g = NumberField("Mass of the point weight [g], not rounded.")


class SplitSchema(ResponseSchema):
    """The fewest strips that come near enough to the called weight, or as near as whole segments can come."""

    pieces = ListField(ObjectField(StripPieceSchema), "Strips to fit.", most=None)
    residual = ObjectField(SplitResidualSchema, "Unbalance that the strips leave.")
    ideal = ListField(
        ObjectField(IdealSchema), "The called weight on its two neighbouring spokes, not rounded.", most=None
    )
    proven_optimal = BooleanField(
        "Whether the search proves that no split is better: within `within_g`, none has fewer strips, "
        "nor as many and a lower `residual.mass_g` + 0.2 · mass fitted; where none is within, none "
        "leaves less."
    )
    warnings = warnings()
