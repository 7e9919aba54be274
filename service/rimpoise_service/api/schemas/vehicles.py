"""POST /v1/vehicles."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...model.wheel import Wheel
from ...physics.readings import reading_planes
from ...workshop.vehicle import FinishedWheel, Torque, Vehicle, VehicleDetails, VehicleRequest, VehicleWheel
from ...workshop.vehicle import WheelCheckSpin as CheckSpinDone
from . import words
from .base import RequestSchema, ResponseSchema
from .fitted_pieces import fitted_piece
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .plans import PlanRequestSchema, PlanSchema
from .quantities import Odometer, TorqueNm
from .reading import plane_reading
from .reading_pairs import alike
from .readings_on_wheel import ReadingsOnWheelSchema
from .request_fields import Boolean, Tag, Text
from .response_fields import BooleanField, IntegerField, StringField, WordField
from .rules import Break, repeated, rule
from .units import UnitsRequestSchema, units_field

MAX_WHEELS, MAX_PIECES = 16, 64
POSITION = (
    r"^(front_left|front_right|rear_left|rear_right|front|rear|spare|"
    r"axle_[1-9]_(left|right)_(single|inner|outer))$"
)
POSITIONS = (
    "front_left, front_right, rear_left, rear_right, front, rear, spare, or axle_1 to axle_9 with _left or _right "
    "and _single, _inner or _outer, like axle_2_left_inner"
)


class VehicleDetailsSchema(RequestSchema):
    """Whose wheels they are, for the sheet."""

    makes = VehicleDetails
    plate = Text("registration plate", most=20)
    vin = Text("vehicle identification number", most=40)
    odometer_km = Odometer("what the odometer shows")
    label = Text("anything else that names the vehicle")


class WheelCheckSpinSchema(RequestSchema):
    """What was fitted, and what the balancer showed then."""

    makes = CheckSpinDone
    fitted = ListField(fitted_piece(), "what was fitted; default: what the plan recommends", most=MAX_PIECES)
    after = plane_reading("the last reading", required=True)


class TorqueSchema(RequestSchema):
    """How the wheel was fastened."""

    makes = Torque
    torque_nm = TorqueNm("that nuts or bolts were set to, as the vehicle maker says", required=True)
    second_pass = Boolean("whether all were gone over a second time", required=True)


class VehicleWheelSchema(ReadingsOnWheelSchema):
    """A wheel: where it goes, its plan, and what was done to it."""

    makes = VehicleWheel
    reading_fields = later_fields = ("check_spin",)
    wheel_field = "plan"
    position = Text(POSITIONS, pattern=POSITION, hint=POSITIONS, most=30, required=True)
    plan = ObjectField(PlanRequestSchema, "as for POST /v1/plans", required=True)
    check_spin = ObjectField(WheelCheckSpinSchema, "if it was spun again")
    torque = ObjectField(TorqueSchema, "if it is on the vehicle")
    fitted_by = Text("who fitted the weights")

    @rule("readings_alike", "plan", "check_spin")
    def _alike(self, data: dict[str, Any]) -> Iterator[Break]:
        if reading_planes(data["plan"].reading):
            yield from alike(
                data["plan"].reading, self.reading_at(data, "check_spin", "after"), ("check_spin", "after")
            )

    def wheel_of(self, data: dict[str, Any]) -> Wheel | None:
        """The plan's."""
        return data["plan"].wheel if "plan" in data else None

    def make(self, data: dict[str, Any]) -> VehicleWheel:
        """The wheel, its readings in our frame."""
        self.settle(data)
        return VehicleWheel(**data)


class VehicleRequestSchema(UnitsRequestSchema):
    """A vehicle, and the wheels that were worked on."""

    makes = VehicleRequest
    vehicle_details = ObjectField(VehicleDetailsSchema, "for the sheet", load_default=VehicleDetails())
    wheels = ListField(ObjectField(VehicleWheelSchema), "one a position", least=1, most=MAX_WHEELS, required=True)
    units = units_field()

    @rule("positions_unique", "wheels")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, position in repeated(w.position for w in data["wheels"]):
            yield Break(("wheels", index, "position"), message("position_twice", called=position))


class FinishedWheelSchema(ResponseSchema):
    """A wheel with its plan, and what is open."""

    position = StringField("where it goes")
    plan = ObjectField(PlanSchema, "as POST /v1/plans answers it")
    verdict = WordField(words.WHEEL_VERDICTS, "whether anything is open")
    open = remarks("what keeps it from being released")

    def unpack(self, value: FinishedWheel) -> dict[str, Any]:
        """Its place is the request's."""
        told = {"position": value.request.position, "plan": value.advice}
        return told | {"verdict": value.verdict, "open": value.open}


class ChargesItemSchema(ResponseSchema):
    """A weight as a charges request takes it."""

    noun = "FittedItem"

    kind = Tag("item")
    sku = StringField("the shop's number for it")
    segments = IntegerField("of a strip; null for a clip-on", allow_none=True)
    count = IntegerField("how many alike")
    material = WordField(words.MATERIALS, "for recycling", allow_none=True)
    label = StringField("for people", allow_none=True)
    location = StringField("where it is on the shelf", allow_none=True)

    def unpack(self, value: Any) -> dict[str, Any]:
        """With the tag that a charges request asks for."""
        names = ("sku", "segments", "count", "material", "label", "location")
        return {"kind": "item"} | {name: getattr(value, name) for name in names}


class ChargesWheelSchema(ResponseSchema):
    """A wheel as a charges request takes it."""

    name = StringField("its position")
    pieces = ListField(ObjectField(ChargesItemSchema), "what is on it", most=None)


class VehicleSchema(ResponseSchema):
    """Whether the vehicle may leave, and why not."""

    released = BooleanField("whether nothing is open")
    reasons = remarks("all that is open, wheel by wheel")
    wheels = ListField(ObjectField(FinishedWheelSchema), "in the request's order", most=None)
    charges_wheels = ListField(
        ObjectField(ChargesWheelSchema), "the wheels of a charges request; none that needs repair first", most=None
    )
    cautions = remarks("for safety and for the law")
    warnings = warnings()

    def unpack(self, value: Vehicle) -> Vehicle:
        """As it is."""
        return value
