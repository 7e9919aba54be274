"""POST /v1/corrections."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from ...messages.message import Message, message
from ...physics.planes import Plane
from ...physics.readings import Reading
from ...physics.unbalance import Unbalance, angle_deg
from .base import RequestSchema, ResponseSchema
from .messages import warnings
from .nested_fields import ListField, ObjectField
from .quantities import ANGLE, AXIS, Position, Radius
from .reading import planes_apart, reading_field
from .readings_on_wheel import ReadingsOnWheelSchema, read_wheel
from .request_fields import Text
from .response_fields import DirectionField, NumberField, StringField
from .rules import Break, repeated, rule
from .units import UnitsRequestSchema, units_field


class PlaneSchema(RequestSchema):
    """A plane in which weights can go."""

    makes = Plane
    name = Text("Name of the plane, repeated in the answer.", required=True)
    position_mm = Position(f"Position of the plane [mm], {AXIS}, which is the reading's.", required=True)
    radius_mm = Radius("Radius at which weights sit in the plane [mm].", required=True)


class NamedPlanesSchema(RequestSchema):
    """What holds for the ``planes`` of any request: one name each, and not two in one place."""

    @rule("planes_apart", "planes")
    def _apart(self, data: dict[str, Any]) -> Iterator[Break]:
        return planes_apart([p.position_mm for p in data["planes"]], ("planes",))

    @rule("names_unique", "planes")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, name in repeated(p.name for p in data["planes"]):
            yield Break(("planes", index, "name"), message("other_plane_called", called=name))


class CorrectionsRequest(NamedTuple):
    """A reading and the planes to correct it in; doubts: what is unlikely of the reading."""

    reading: Reading
    planes: Sequence[Plane]
    doubts: tuple[Message, ...] = ()


class CorrectionsRequestSchema(NamedPlanesSchema, UnitsRequestSchema, ReadingsOnWheelSchema):
    """A reading and one or two planes to correct it in."""

    makes = CorrectionsRequest
    reading = reading_field()
    planes = ListField(
        ObjectField(PlaneSchema),
        "Planes to correct in; one plane gives the static correction, two the full one.",
        least=1,
        most=2,
        required=True,
    )
    wheel = read_wheel()
    units = units_field()

    def make(self, data: dict[str, Any]) -> CorrectionsRequest:
        """The reading in our frame."""
        doubts = self.settle(data).doubts
        return CorrectionsRequest(data["reading"], data["planes"], doubts)


class CorrectionSchema(ResponseSchema):
    """The weight that belongs in a plane, at its radius."""

    plane = StringField("Name of the plane.", attribute="plane.name")
    mass_g = NumberField("Mass to fit in the plane [g], at its radius.")
    angle_deg = DirectionField(f"Angle at which the mass belongs [deg], {ANGLE}.", of="mass_g")
    unbalance_gmm = NumberField("Mass times radius of the weight [g·mm].")


class UnbalanceResidualSchema(ResponseSchema):
    """The unbalance that the corrections leave, as the heavy side: a static vector and the couple."""

    static_gmm = NumberField("Size of the static vector [g·mm].")
    static_angle_deg = DirectionField(f"Angle of the static vector [deg], {ANGLE}.", of="static_gmm")
    couple_gmm2 = NumberField("Size of the couple [g·mm²].", digits=3)
    couple_angle_deg = DirectionField(f"Angle of the couple's outboard half [deg], {ANGLE}.", of="couple_gmm2")

    def unpack(self, left: Unbalance) -> dict[str, float]:
        """Size and direction of the static vector and of the couple."""
        return {
            "static_gmm": abs(left.static),
            "static_angle_deg": angle_deg(left.static),
            "couple_gmm2": abs(left.moment),
            "couple_angle_deg": angle_deg(left.moment),
        }


class CorrectionsSchema(ResponseSchema):
    """The exact weights, what they leave, and how much the reading's errors are multiplied."""

    noun = "CorrectionSet"  # a generator's own variable would be called as the field
    corrections = ListField(
        ObjectField(CorrectionSchema), "Exact weight for each plane, in the request's order.", most=None
    )
    residual = ObjectField(UnbalanceResidualSchema, "Unbalance that the weights leave.")
    gain = NumberField(
        "Weight to fit for each unit of unbalance read, as a ratio; null where nothing was read.", allow_none=True
    )
    warnings = warnings()
