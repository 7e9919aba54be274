"""POST /v1/tolerances."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from ...physics.planes import Plane
from ...planning.acceptance import GradeAcceptance
from .acceptance import GradeSchema
from .base import ResponseSchema
from .corrections import NamedPlanesSchema, PlaneSchema
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .response_fields import NumberField, PercentField, StringField
from .units import UnitsRequestSchema, units_field


class PermissibleUnbalanceRequest(NamedTuple):
    """A grade with mass and speed, and the planes that share what it permits."""

    criterion: GradeAcceptance
    planes: Sequence[Plane]


class PermissibleUnbalanceRequestSchema(NamedPlanesSchema, UnitsRequestSchema, GradeSchema):
    """A balance quality grade of ISO 21940-11, the rotating mass and its speed, and one or two planes."""

    planes = ListField(
        ObjectField(PlaneSchema), "Planes that share the permissible unbalance.", least=1, most=2, required=True
    )
    units = units_field()

    def make(self, data: dict[str, Any]) -> PermissibleUnbalanceRequest:
        """The planes apart from the rest."""
        planes = data.pop("planes")
        return PermissibleUnbalanceRequest(GradeAcceptance(**data), planes)


class PlaneAllowanceSchema(ResponseSchema):
    """The unbalance that may stay in a plane."""

    plane = StringField("Name of the plane.", attribute="plane.name")
    share_pct = PercentField("Share of the whole permissible unbalance [%].")
    permissible_gmm = NumberField("Permissible unbalance as mass times radius [g·mm].")
    permissible_g = NumberField("Permissible unbalance as a mass at the plane's radius [g].")
    force_n = NumberField("Force that it makes at the speed [N].")


class PermissibleUnbalanceSchema(ResponseSchema):
    """The unbalance that a grade permits, in all and for each plane, and its effect at the speed."""

    grade_mm_s = NumberField("Speed of the mass centre on its circle [mm/s].")
    permissible_gmm = NumberField("Permissible unbalance in all, as mass times radius [g·mm].")
    permissible_g = NumberField("Permissible unbalance as a mass at the mean radius of the planes [g].")
    offset_um = NumberField("Distance that the mass centre may be off the axis [µm].")
    planes = ListField(
        ObjectField(PlaneAllowanceSchema),
        "Permissible unbalance of each plane, in the request's order.",
        most=None,
    )
    force_n = NumberField("Force that the whole permissible unbalance makes at the speed [N].")
    speed_rpm = NumberField("Speed of rotation [1/min].", attribute="criterion.rotation_speed.speed_rpm")
    frequency_hz = NumberField("Frequency of rotation [Hz].", attribute="criterion.rotation_speed.frequency_hz")
    rolling_radius_mm = NumberField(
        "Rolling radius of the tyre [mm]; null where speed_rpm was sent.",
        attribute="criterion.radius_mm",
        allow_none=True,
    )
    derived = remarks("Messages on what was not measured but worked out or assumed.")
    warnings = warnings()
