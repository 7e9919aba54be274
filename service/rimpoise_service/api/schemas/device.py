"""A balancer, and what it shows, in its own words."""

from __future__ import annotations

from typing import Any, get_args

from ...model.device import ClockTime, Device, DeviceAngle, Direction, LengthUnit, MassUnit, Sense, Sizes, View
from ...model.reading import (
    Dialled,
    SetToPlaces,
    ShownPlanes,
    ShownStatic,
    ShownStaticCouple,
    ShownVector,
    TiedToFace,
    TiedToPlace,
)
from ...physics.readings import Reports
from .base import RequestSchema
from .nested_fields import ByKind, ObjectField
from .quantities import BareAngle, DialledLength, ShownMass
from .request_fields import Boolean, Choice, Text
from .rules import Break, rule

KIND = "tells the forms apart"
PLACE = "inboard_flange, outboard_flange or a land's name"
CLOCK_PATTERN = r"^(1[0-2]|[1-9]):[0-5][0-9]$"
EXACT = Device()


class TopSpotSchema(RequestSchema):
    """At 12 o'clock, as for clips."""

    kind = Choice(KIND, ["top"], required=True)

    def make(self, data: dict[str, Any]) -> Direction:  # noqa: ARG002
        """The top."""
        return ClockTime("12:00")


class BottomSpotSchema(RequestSchema):
    """At 6 o'clock, as for strips."""

    kind = Choice(KIND, ["bottom"], required=True)

    def make(self, data: dict[str, Any]) -> Direction:  # noqa: ARG002
        """The bottom."""
        return ClockTime("6:00")


class AngleDirectionSchema(RequestSchema):
    """An angle from the top, in the device's own sense and view."""

    kind = Choice(KIND, ["angle"], required=True)
    angle = BareAngle("from the top", required=True)

    def make(self, data: dict[str, Any]) -> Direction:
        """The angle."""
        return DeviceAngle(data["angle"])


class ClockDirectionSchema(RequestSchema):
    """A time of day, as the hour hand shows it to whoever looks at the wheel."""

    kind = Choice(KIND, ["clock"], required=True)
    clock = Text("like 4:00", pattern=CLOCK_PATTERN, hint="a time of the clock from 1:00 to 12:59", required=True)

    def make(self, data: dict[str, Any]) -> Direction:
        """The time."""
        return ClockTime(data["clock"])


class DeviceSchema(RequestSchema):
    """How a balancer shows what it shows."""

    shared = True
    makes = Device
    angle_sense = Choice("in which its angles grow", get_args(Sense), load_default=EXACT.angle_sense)
    seen_from = Choice("the side from which that sense is meant", get_args(View), load_default=EXACT.seen_from)
    mass_unit = Choice("of what it shows", get_args(MassUnit), load_default=EXACT.mass_unit)
    mass_step = ShownMass("of its display, in mass_unit; its rounding counts in the chance to pass")
    zero_below = ShownMass("in mass_unit: what it shows as 0 is up to this", load_default=EXACT.zero_below)
    weight_spot = ByKind(
        {"top": TopSpotSchema, "bottom": BottomSpotSchema, "angle": AngleDirectionSchema},
        "where the weight goes when the wheel is turned to its spot; default: top",
    )
    distance_unit = Choice("of distances", get_args(LengthUnit), load_default=EXACT.distance_unit)
    width_unit = Choice("of the width", get_args(LengthUnit), load_default=EXACT.width_unit)
    size_unit = Choice("of sizes", get_args(LengthUnit), load_default=EXACT.size_unit)
    sizes = Choice("what a size is", get_args(Sizes), load_default=EXACT.sizes)
    positions_grow = Choice("which way distances grow", get_args(View), load_default=EXACT.positions_grow)
    calls = Choice(
        "correction: it calls where weights belong, as most do; unbalance: the heavy side",
        get_args(Reports),
        load_default=EXACT.calls,
    )
    label = Text("for people")


class ShownVectorSchema(RequestSchema):
    """A mass, and its angle or, instead, where the valve stands when the weight's spot is at weight_spot."""

    mass = ShownMass("as shown, in the device's unit", required=True)
    angle = BareAngle("as shown, in the device's sense and view")
    valve_at = ByKind(
        {"clock": ClockDirectionSchema, "angle": AngleDirectionSchema}, "instead of angle: where the valve stands"
    )

    @rule("angle_or_valve", "angle", "valve_at")
    def _one(self, data: dict[str, Any]) -> Any:
        if ("angle" in data) == ("valve_at" in data):
            how = "both are given" if "angle" in data else "neither is given"
            yield Break((), f"{how}; write angle, or valve_at where the balancer shows no degrees")

    def make(self, data: dict[str, Any]) -> ShownVector:
        """The mass and its direction."""
        return ShownVector(data["mass"], data["angle"] if "angle" in data else data["valve_at"])


class ShownPlanesSchema(RequestSchema):
    """A mass for each side."""

    makes = ShownPlanes
    kind = Choice(KIND, ["planes"], required=True)
    inboard = ObjectField(ShownVectorSchema, "of the inboard side", required=True)
    outboard = ObjectField(ShownVectorSchema, "of the outboard side", required=True)

    def make(self, data: dict[str, Any]) -> ShownPlanes:
        """Both."""
        return ShownPlanes(data["inboard"], data["outboard"])


class ShownStaticSchema(ShownVectorSchema):
    """One mass, static."""

    kind = Choice(KIND, ["static"], required=True)

    def make(self, data: dict[str, Any]) -> Any:
        """It."""
        return ShownStatic(super().make(data))


class ShownStaticCoupleSchema(RequestSchema):
    """A static mass, and a couple's two equal masses opposite each other.

    Masses are at the mean of the sizes it was set to; the static one acts in the middle between the planes.
    """

    kind = Choice(KIND, ["static_couple"], required=True)
    static = ObjectField(ShownVectorSchema, "the static mass", required=True)
    couple = ObjectField(ShownVectorSchema, "each mass of the couple, at the outboard one's angle", required=True)

    def make(self, data: dict[str, Any]) -> ShownStaticCouple:
        """Both."""
        return ShownStaticCouple(data["static"], data["couple"])


class TiedToPlaceSchema(RequestSchema):
    """The inboard plane, or the only one, is at a place of the wheel."""

    kind = Choice(KIND, ["inboard_is"], required=True)
    place = Text(PLACE, required=True)

    def make(self, data: dict[str, Any]) -> TiedToPlace:
        """The place."""
        return TiedToPlace(data["place"])


class TiedToFaceSchema(RequestSchema):
    """The wheel's mounting face is at a distance from where the device counts."""

    kind = Choice(KIND, ["mounting_face"], required=True)
    distance = DialledLength("in distance_unit", required=True)

    def make(self, data: dict[str, Any]) -> TiedToFace:
        """The distance."""
        return TiedToFace(data["distance"])


def _tied() -> ByKind:
    return ByKind(
        {"inboard_is": TiedToPlaceSchema, "mounting_face": TiedToFaceSchema},
        "how the device's distances lie on the wheel",
        required=True,
    )


class SetToPlacesSchema(RequestSchema):
    """Set to two places of the wheel."""

    kind = Choice(KIND, ["places"], required=True)
    inboard = Text(PLACE, required=True)
    outboard = Text(PLACE, required=True)
    touched = Boolean("whether its gauge touched them", load_default=False)

    def make(self, data: dict[str, Any]) -> SetToPlaces:
        """Both."""
        return SetToPlaces((data["inboard"], data["outboard"]), data["touched"])


class SetToPlaceSchema(RequestSchema):
    """Set to one place of the wheel, for a static reading."""

    kind = Choice(KIND, ["place"], required=True)
    place = Text(PLACE, required=True)
    touched = Boolean("whether its gauge touched it", load_default=False)

    def make(self, data: dict[str, Any]) -> SetToPlaces:
        """It."""
        return SetToPlaces((data["place"],), data["touched"])


class DialledSchema(RequestSchema):
    """Distance, width and sizes, as dialled."""

    kind = Choice(KIND, ["dialled"], required=True)
    distance = DialledLength("to the inboard plane, in distance_unit", required=True)
    width = DialledLength("from there to the outboard plane, in width_unit", required=True)
    inboard_size = DialledLength("of the inboard plane, in size_unit", required=True)
    outboard_size = DialledLength("of the outboard plane, in size_unit", required=True)
    tied = _tied()

    def make(self, data: dict[str, Any]) -> Dialled:
        """Two planes, a width apart."""
        sizes = (data["inboard_size"], data["outboard_size"])
        return Dialled((data["distance"],), sizes, data["tied"], data["width"])


class DialledTwoSchema(RequestSchema):
    """Two distances and sizes, as dialled."""

    kind = Choice(KIND, ["dialled_two"], required=True)
    inboard_distance = DialledLength("to the inboard plane, in distance_unit", required=True)
    outboard_distance = DialledLength("to the outboard plane, in distance_unit", required=True)
    inboard_size = DialledLength("of the inboard plane, in size_unit", required=True)
    outboard_size = DialledLength("of the outboard plane, in size_unit", required=True)
    tied = _tied()

    def make(self, data: dict[str, Any]) -> Dialled:
        """Two planes."""
        distances = (data["inboard_distance"], data["outboard_distance"])
        return Dialled(distances, (data["inboard_size"], data["outboard_size"]), data["tied"])


class DialledOneSchema(RequestSchema):
    """One distance and size, as dialled for a static reading."""

    kind = Choice(KIND, ["dialled_one"], required=True)
    distance = DialledLength("to the plane, in distance_unit", required=True)
    size = DialledLength("of the plane, in size_unit", required=True)
    tied = _tied()

    def make(self, data: dict[str, Any]) -> Dialled:
        """One plane."""
        return Dialled((data["distance"],), (data["size"],), data["tied"])


SHOWN: dict[str, type[RequestSchema]] = {
    "planes": ShownPlanesSchema,
    "static": ShownStaticSchema,
    "static_couple": ShownStaticCoupleSchema,
}
SET_TO: dict[str, type[RequestSchema]] = {
    "places": SetToPlacesSchema,
    "place": SetToPlaceSchema,
    "dialled": DialledSchema,
    "dialled_two": DialledTwoSchema,
    "dialled_one": DialledOneSchema,
}
