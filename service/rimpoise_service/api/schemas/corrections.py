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
from .quantities import Position, Radius
from .reading import ANGLE, planes_apart, reading_field
from .readings_on_wheel import ReadingsOnWheelSchema, read_wheel
from .request_fields import Text
from .response_fields import DirectionField, NumberField, StringField
from .rules import Break, repeated, rule
from .units import UnitsRequestSchema, units_field


class PlaneSchema(RequestSchema):
    """A plane in which weights can go."""

    makes = Plane
    name = Text("for the answer to refer to", required=True)
    position_mm = Position("along the axis, positive outboard, from the reading's datum", required=True)
    radius_mm = Radius("at which weights sit", required=True)


class CorrectionsRequest(NamedTuple):
    """A reading and the planes to correct it in; doubts: what is unlikely of the reading."""

    reading: Reading
    planes: Sequence[Plane]
    doubts: tuple[Message, ...] = ()


class CorrectionsRequestSchema(UnitsRequestSchema, ReadingsOnWheelSchema):
    """A reading and one or two planes to correct it in."""

    makes = CorrectionsRequest
    reading = reading_field()
    planes = ListField(
        ObjectField(PlaneSchema), "one: static correction; two: full", least=1, most=2, required=True
    )
    wheel = read_wheel()
    units = units_field()

    @rule("planes_apart", "planes")
    def _apart(self, data: dict[str, Any]) -> Iterator[Break]:
        return planes_apart([p.position_mm for p in data["planes"]], ("planes",))

    @rule("names_unique", "planes")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, name in repeated(p.name for p in data["planes"]):
            yield Break(("planes", index, "name"), message("other_plane_called", called=name))

    def make(self, data: dict[str, Any]) -> CorrectionsRequest:
        """The reading in our frame."""
        doubts = self.settle(data).doubts
        return CorrectionsRequest(data["reading"], data["planes"], doubts)


class CorrectionSchema(ResponseSchema):
    """The weight that belongs in a plane, at its radius."""

    plane = StringField("its name", attribute="plane.name")
    mass_g = NumberField("to fit")
    angle_deg = DirectionField("where: " + ANGLE, of="mass_g")
    unbalance_gmm = NumberField("mass times radius")


class UnbalanceResidualSchema(ResponseSchema):
    """What the corrections leave, heavy side: a static vector, and the couple."""

    static_gmm = NumberField("size of the static vector")
    static_angle_deg = DirectionField(ANGLE, of="static_gmm")
    couple_gmm2 = NumberField("size of the couple", digits=3)
    couple_angle_deg = DirectionField("of the couple's outboard half, " + ANGLE, of="couple_gmm2")

    def unpack(self, left: Unbalance) -> dict[str, float]:
        """Size and direction of the static vector and of the couple."""
        return {
            "static_gmm": abs(left.static),
            "static_angle_deg": angle_deg(left.static),
            "couple_gmm2": abs(left.moment),
            "couple_angle_deg": angle_deg(left.moment),
        }


class CorrectionsSchema(ResponseSchema):
    """The exact weights, what they leave, and how far the reading's errors are multiplied."""

    noun = "CorrectionSet"  # a generator's own variable would be called as the field
    corrections = ListField(ObjectField(CorrectionSchema), "one per plane, in the request's order", most=None)
    residual = ObjectField(UnbalanceResidualSchema, "what stays", attribute="left_over")
    gain = NumberField("weight fitted per unbalance read; null where nothing was read", allow_none=True)
    warnings = warnings()
