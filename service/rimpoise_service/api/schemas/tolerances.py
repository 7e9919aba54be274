"""POST /v1/tolerances."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from ...messages.message import message
from ...physics.planes import Plane
from ...planning.acceptance import GradeAcceptance
from .acceptance import GradeSchema
from .base import ResponseSchema
from .corrections import PlaneSchema
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .reading import planes_apart
from .response_fields import NumberField, PercentField, StringField
from .rules import Break, repeated, rule
from .units import UnitsRequestSchema, units_field


class PermissibleUnbalanceRequest(NamedTuple):
    """A grade with mass and speed, and the planes that share what it permits."""

    criterion: GradeAcceptance
    planes: Sequence[Plane]


class PermissibleUnbalanceRequestSchema(UnitsRequestSchema, GradeSchema):
    """A balance quality grade of ISO 21940-11, what turns and how fast, and one or two planes."""

    planes = ListField(ObjectField(PlaneSchema), "that share what is permitted", least=1, most=2, required=True)
    units = units_field()

    @rule("planes_apart", "planes")
    def _apart(self, data: dict[str, Any]) -> Iterator[Break]:
        return planes_apart([p.position_mm for p in data["planes"]], ("planes",))

    @rule("names_unique", "planes")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, name in repeated(p.name for p in data["planes"]):
            yield Break(("planes", index, "name"), message("other_plane_called", called=name))

    def make(self, data: dict[str, Any]) -> PermissibleUnbalanceRequest:
        """The planes apart from the rest."""
        planes = data.pop("planes")
        return PermissibleUnbalanceRequest(GradeAcceptance(**data), planes)


class PlaneAllowanceSchema(ResponseSchema):
    """What may stay in a plane."""

    plane = StringField("its name", attribute="plane.name")
    share_pct = PercentField("of what is permitted in all")
    permissible_gmm = NumberField("mass times radius")
    permissible_g = NumberField("the same at the plane's radius")
    force_n = NumberField("that it makes at the speed")


class PermissibleUnbalanceSchema(ResponseSchema):
    """What a grade permits, in all and per plane, and what it does at the speed."""

    grade_mm_s = NumberField("speed of the mass centre on its circle")
    permissible_gmm = NumberField("in all, mass times radius")
    permissible_g = NumberField("the same at the mean radius of the planes")
    offset_um = NumberField("how far off the axis the mass centre may be")
    planes = ListField(ObjectField(PlaneAllowanceSchema), "in the request's order", most=None)
    force_n = NumberField("that all of it makes at the speed")
    speed_rpm = NumberField("revolutions a minute", attribute="criterion.turning.speed_rpm")
    frequency_hz = NumberField("revolutions a second", attribute="criterion.turning.frequency_hz")
    rolling_radius_mm = NumberField(
        "of the tyre; null with speed_rpm", attribute="criterion.radius_mm", allow_none=True
    )
    derived = remarks("what was not measured but worked out or assumed")
    warnings = warnings()
