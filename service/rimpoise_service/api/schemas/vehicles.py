"""POST /v1/vehicles."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...model.wheel import Wheel
from ...workshop.vehicle import FinishedWheel, Torque, VehicleDetails, VehicleRequest, VehicleWheel
from ...workshop.vehicle import WheelCheckSpin as CheckSpinDone
from . import words
from .base import RequestSchema, ResponseSchema
from .fitted_pieces import fitted_piece
from .messages import LabelField, remarks, warnings
from .nested_fields import ListField, ObjectField
from .plans import PlanRequestSchema, PlanSchema
from .quantities import Odometer, TorqueNm
from .reading import plane_reading
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
    """The vehicle that the wheels belong to, for the sheet."""

    makes = VehicleDetails
    plate = Text("Registration plate of the vehicle.", most=20)
    vin = Text("Vehicle identification number.", most=40)
    odometer_km = Odometer("Distance that the odometer shows [km].")
    label = Text("Any other name of the vehicle.")


class WheelCheckSpinSchema(RequestSchema):
    """The weights that were fitted, and the reading after."""

    makes = CheckSpinDone
    fitted = ListField(
        fitted_piece(), "Weights that were fitted; without them, those that the plan recommends.", most=MAX_PIECES
    )
    after = plane_reading("Last reading of the wheel.", required=True)


class TorqueSchema(RequestSchema):
    """How the wheel was tightened."""

    makes = Torque
    torque_nm = TorqueNm(
        "Torque that the nuts or bolts were set to [N·m], as the vehicle maker states.", required=True
    )
    second_pass = Boolean("Whether all were tightened in a second pass.", required=True)


class VehicleWheelSchema(ReadingsOnWheelSchema):
    """A wheel: its position, its plan, and the work done on it."""

    makes = VehicleWheel
    reading_fields = later_fields = ("check_spin",)
    wheel_field = "plan"
    position = Text(
        f"Position on the vehicle, which is {POSITIONS}.",
        pattern=POSITION,
        hint="vehicle_position",
        most=30,
        required=True,
    )
    plan = ObjectField(PlanRequestSchema, "Plan request of the wheel, as for POST /v1/plans.", required=True)
    check_spin = ObjectField(WheelCheckSpinSchema, "Check spin of the wheel, if it was spun again.")
    torque = ObjectField(TorqueSchema, "How the wheel was tightened, if it is on the vehicle.")
    fitted_by = Text("Name of the person who fitted the weights.")

    def wheel_of(self, data: dict[str, Any]) -> Wheel | None:
        """The plan's."""
        return data["plan"].wheel if "plan" in data else None

    def make(self, data: dict[str, Any]) -> VehicleWheel:
        """The wheel, its readings in our frame."""
        doubts, planned = self.settle(data).doubts, data["plan"].doubts
        return VehicleWheel(**data, doubts=tuple(each for each in doubts if each not in planned))


class VehicleRequestSchema(UnitsRequestSchema):
    """A vehicle, and the wheels that were worked on."""

    makes = VehicleRequest
    vehicle_details = ObjectField(
        VehicleDetailsSchema, "Details of the vehicle, for the sheet.", load_default=VehicleDetails()
    )
    wheels = ListField(
        ObjectField(VehicleWheelSchema),
        "Wheels of the vehicle, one for each position.",
        least=1,
        most=MAX_WHEELS,
        required=True,
    )
    units = units_field()

    @rule("positions_unique", "wheels")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        for index, position in repeated(w.position for w in data["wheels"]):
            yield Break(("wheels", index, "position"), message("position_twice", called=position))
        places = [w.position for w in data["wheels"]]
        for index, position in enumerate(places):
            for other in places[:index]:
                if _exclude(position, other):
                    yield Break(("wheels", index, "position"), message("position_excluded", called=other))
                    break


def _exclude(one: str, other: str) -> bool:
    """Whether no vehicle has both: a single wheel where there are left and right, or outer and inner ones.

    >>> _exclude("front_left", "front"), _exclude("axle_2_left_single", "axle_2_left_outer")
    (True, True)
    """
    short, long = sorted((one.removesuffix("_single"), other.removesuffix("_single")), key=len)
    return long.startswith(f"{short}_")


class FinishedWheelSchema(ResponseSchema):
    """A wheel with its plan, and what is still open."""

    position = StringField("Position of the wheel on the vehicle.")
    plan = ObjectField(PlanSchema, "Plan of the wheel, as POST /v1/plans answers it.")
    verdict = WordField(words.WHEEL_VERDICTS, "Whether anything is open.")
    open = remarks("Messages on what keeps the wheel from being released.")
    warnings = remarks("Messages on what is unlikely of the check spin's reading.")

    def unpack(self, value: FinishedWheel) -> dict[str, Any]:
        """Its place is the request's."""
        written = {"position": value.request.position, "plan": value.advice}
        return written | {"verdict": value.verdict, "open": value.open, "warnings": value.request.doubts}


class ChargesItemSchema(ResponseSchema):
    """A weight as a charges request takes it."""

    noun = "FittedItem"

    kind = Tag("item")
    sku = StringField("The shop's number for the weight.")
    segments = IntegerField("Number of segments in one strip; null for a clip-on.", allow_none=True)
    count = IntegerField("Number of such weights.")
    material = WordField(
        words.MATERIALS,
        "Material of the weight, which decides how it is recycled; null where it is not known.",
        allow_none=True,
    )
    label = LabelField("Name of the weight for people; null where the stock has none.", allow_none=True)
    location = StringField("Place of the weight on the shelf; null where the stock has none.", allow_none=True)

    def unpack(self, value: Any) -> dict[str, Any]:
        """With the tag that a charges request asks for."""
        names = ("sku", "segments", "count", "material", "label", "location")
        return {"kind": "item"} | {name: getattr(value, name) for name in names}


class ChargesWheelSchema(ResponseSchema):
    """A wheel as a charges request takes it."""

    name = StringField("Position of the wheel, as its name.")
    pieces = ListField(ObjectField(ChargesItemSchema), "Weights on the wheel.", most=None)


class VehicleSchema(ResponseSchema):
    """Whether the vehicle may leave, and why not."""

    released = BooleanField("Whether nothing is open.")
    reasons = remarks("Messages on all that is open, wheel by wheel.")
    wheels = ListField(
        ObjectField(FinishedWheelSchema), "Result of each wheel, in the request's order.", most=None
    )
    charges_wheels = ListField(
        ObjectField(ChargesWheelSchema),
        "Wheels for a charges request, without those that need repair first.",
        most=None,
    )
    cautions = remarks("Messages on safety and the law.")
    warnings = warnings()
