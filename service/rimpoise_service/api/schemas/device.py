"""A balancer, and what it shows, in its own words."""

from __future__ import annotations

from typing import Any

from ...messages.message import message
from ...model.device import ClockTime, Device, DeviceAngle, Direction
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
from . import words
from .base import RequestSchema
from .device_quantities import BareAngle, DialledLength, ShownMass
from .nested_fields import ObjectField, UnionField, Variants
from .request_fields import Boolean, Choice, Tag, Text
from .rules import Break, rule

PLACE = "inboard_flange, outboard_flange or a land's name"
CLOCK_PATTERN = r"^(1[0-2]|[1-9]):[0-5][0-9]$"
EXACT = Device()


class TopSpotSchema(RequestSchema):
    """At 12 o'clock, as for clips."""

    kind = Tag("top")

    def make(self, data: dict[str, Any]) -> Direction:  # noqa: ARG002
        """The top."""
        return ClockTime("12:00")


class BottomSpotSchema(RequestSchema):
    """At 6 o'clock, as for strips."""

    kind = Tag("bottom")

    def make(self, data: dict[str, Any]) -> Direction:  # noqa: ARG002
        """The bottom."""
        return ClockTime("6:00")


class AngleDirectionSchema(RequestSchema):
    """An angle from the top, in the device's own sense and view."""

    makes = DeviceAngle
    kind = Tag("angle")
    angle = BareAngle("Angle from the top [deg], in the device's own sense and view.", required=True)


class ClockDirectionSchema(RequestSchema):
    """A time of day, as the hour hand shows it to whoever looks at the wheel."""

    makes = ClockTime
    kind = Tag("clock")
    clock = Text(
        "Time on a clock face, like 4:00.",
        pattern=CLOCK_PATTERN,
        hint="valve_clock",
        required=True,
    )


SPOT = Variants(
    "WeightSpot",
    "Where a weight goes when the wheel has been turned to its spot.",
    '{"kind": "top"}',
    TopSpotSchema,
    BottomSpotSchema,
    AngleDirectionSchema,
)
VALVE_AT = Variants(
    "ValveAt",
    "Where the valve stands when the weight's spot is where weights go.",
    '{"kind": "clock", "clock": "4:00"}',
    ClockDirectionSchema,
    AngleDirectionSchema,
)


class DeviceSchema(RequestSchema):
    """How a balancer shows its readings."""

    shared = True
    makes = Device
    angle_sense = Choice(
        words.DEVICE_SENSES, "Sense in which the device's angles grow.", load_default=EXACT.angle_sense
    )
    seen_from = Choice(words.VIEWS, "Side from which that sense is seen.", load_default=EXACT.seen_from)
    mass_unit = Choice(words.MASS_UNITS, "Unit of the masses that the device shows.", load_default=EXACT.mass_unit)
    mass_step = ShownMass("Step of the device's display, in mass_unit; its rounding counts in the chance to pass.")
    zero_below = ShownMass("Largest mass that the device shows as 0, in mass_unit.", load_default=EXACT.zero_below)
    weight_spot = UnionField(
        SPOT, "Where the weight goes once the wheel is turned to its spot; without it, at the top."
    )
    distance_unit = Choice(words.LENGTH_UNITS, "Unit of distances.", load_default=EXACT.distance_unit)
    width_unit = Choice(words.LENGTH_UNITS, "Unit of the width.", load_default=EXACT.width_unit)
    size_unit = Choice(words.LENGTH_UNITS, "Unit of sizes.", load_default=EXACT.size_unit)
    sizes = Choice(words.SIZES, "Whether a size is a diameter or a radius.", load_default=EXACT.sizes)
    positions_grow = Choice(words.VIEWS, "Side towards which distances grow.", load_default=EXACT.positions_grow)
    calls = Choice(
        words.REPORTS, "Whether the angles are the places for weights or the heavy side.", load_default=EXACT.calls
    )
    label = Text("Name of the device for people.")


class ShownVectorSchema(RequestSchema):
    """A mass with its angle, or with where the valve stands when the weight's spot is at weight_spot."""

    mass = ShownMass("Mass as shown, in the device's unit.", required=True)
    angle = BareAngle("Angle as shown [deg], in the device's sense and view.")
    valve_at = UnionField(VALVE_AT, "Where the valve stands, in place of an angle.")

    @rule("angle_or_valve", "angle", "valve_at")
    def _one(self, data: dict[str, Any]) -> Any:
        if ("angle" in data) == ("valve_at" in data):
            yield Break((), message("angle_and_valve" if "angle" in data else "angle_or_valve_missing"))

    def make(self, data: dict[str, Any]) -> ShownVector:
        """The mass and its direction."""
        return ShownVector(data["mass"], data["angle"] if "angle" in data else data["valve_at"])


class ShownPlanesSchema(RequestSchema):
    """A mass for each side."""

    makes = ShownPlanes
    kind = Tag("planes")
    inboard = ObjectField(ShownVectorSchema, "Mass and angle shown for the inboard side.", required=True)
    outboard = ObjectField(ShownVectorSchema, "Mass and angle shown for the outboard side.", required=True)


class ShownStaticSchema(ShownVectorSchema):
    """One mass, static."""

    kind = Tag("static")

    def make(self, data: dict[str, Any]) -> Any:
        """It."""
        return ShownStatic(super().make(data))


class ShownStaticCoupleSchema(RequestSchema):
    """A static mass, and a couple's two equal masses opposite each other.

    Masses are at the mean of the sizes it was set to; the static one acts in the middle between the planes.
    """

    makes = ShownStaticCouple
    kind = Tag("static_couple")
    static = ObjectField(ShownVectorSchema, "The static mass and its angle.", required=True)
    couple = ObjectField(
        ShownVectorSchema, "Each of the couple's two masses, at the angle of the outboard one.", required=True
    )


class TiedToPlaceSchema(RequestSchema):
    """The inboard plane, or the only one, is at a place of the wheel."""

    makes = TiedToPlace
    kind = Tag("inboard_is")
    place = Text(f"Place of that plane on the wheel, {PLACE}.", required=True)


class TiedToFaceSchema(RequestSchema):
    """The wheel's mounting face is at a distance from where the device counts."""

    makes = TiedToFace
    kind = Tag("mounting_face")
    distance = DialledLength("Distance of the mounting face, in distance_unit.", required=True)


TIED = Variants(
    "Tied",
    "How a device's distances lie on the wheel.",
    '{"kind": "inboard_is", "place": "inboard_flange"}',
    TiedToPlaceSchema,
    TiedToFaceSchema,
)


def _tied() -> UnionField:
    return UnionField(TIED, "How the device's distances lie on the wheel.", required=True)


class SetToPlacesSchema(RequestSchema):
    """Set to two places of the wheel."""

    kind = Tag("places")
    inboard = Text(f"Place of the inboard plane, {PLACE}.", required=True)
    outboard = Text(f"Place of the outboard plane, {PLACE}.", required=True)
    touched = Boolean("Whether the device's gauge touched both places.", load_default=False)

    def make(self, data: dict[str, Any]) -> SetToPlaces:
        """Both."""
        return SetToPlaces((data["inboard"], data["outboard"]), data["touched"])


class SetToPlaceSchema(RequestSchema):
    """Set to one place of the wheel, for a static reading."""

    kind = Tag("place")
    place = Text(f"Place of the plane, {PLACE}.", required=True)
    touched = Boolean("Whether the device's gauge touched the place.", load_default=False)

    def make(self, data: dict[str, Any]) -> SetToPlaces:
        """It."""
        return SetToPlaces((data["place"],), data["touched"])


class DialledSchema(RequestSchema):
    """Distance, width and sizes, as dialled."""

    kind = Tag("dialled")
    distance = DialledLength("Distance dialled for the inboard plane, in distance_unit.", required=True)
    width = DialledLength("Distance dialled from the inboard to the outboard plane, in width_unit.", required=True)
    inboard_size = DialledLength("Size dialled for the inboard plane, in size_unit.", required=True)
    outboard_size = DialledLength("Size dialled for the outboard plane, in size_unit.", required=True)
    tied = _tied()

    def make(self, data: dict[str, Any]) -> Dialled:
        """Two planes, a width apart."""
        sizes = (data["inboard_size"], data["outboard_size"])
        return Dialled((data["distance"],), sizes, data["tied"], data["width"])


class DialledTwoSchema(RequestSchema):
    """Two distances and sizes, as dialled."""

    kind = Tag("dialled_two")
    inboard_distance = DialledLength("Distance dialled for the inboard plane, in distance_unit.", required=True)
    outboard_distance = DialledLength("Distance dialled for the outboard plane, in distance_unit.", required=True)
    inboard_size = DialledLength("Size dialled for the inboard plane, in size_unit.", required=True)
    outboard_size = DialledLength("Size dialled for the outboard plane, in size_unit.", required=True)
    tied = _tied()

    def make(self, data: dict[str, Any]) -> Dialled:
        """Two planes."""
        distances = (data["inboard_distance"], data["outboard_distance"])
        return Dialled(distances, (data["inboard_size"], data["outboard_size"]), data["tied"])


class DialledOneSchema(RequestSchema):
    """One distance and size, as dialled for a static reading."""

    kind = Tag("dialled_one")
    distance = DialledLength("Distance dialled for the plane, in distance_unit.", required=True)
    size = DialledLength("Size dialled for the plane, in size_unit.", required=True)
    tied = _tied()

    def make(self, data: dict[str, Any]) -> Dialled:
        """One plane."""
        return Dialled((data["distance"],), (data["size"],), data["tied"])


SHOWN = Variants(
    "Shown",
    "What a balancer shows.",
    '{"kind": "planes", "inboard": {"mass": 35, "angle": 80}, "outboard": {"mass": 25, "angle": 255}}',
    ShownPlanesSchema,
    ShownStaticSchema,
    ShownStaticCoupleSchema,
)
SET_TO = Variants(
    "SetTo",
    "What a balancer was set to.",
    '{"kind": "places", "inboard": "inboard_flange", "outboard": "outboard_flange"}',
    SetToPlacesSchema,
    SetToPlaceSchema,
    DialledSchema,
    DialledTwoSchema,
    DialledOneSchema,
)
