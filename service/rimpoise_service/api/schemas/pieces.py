"""A weight on the wheel, as a plan gives it."""

from __future__ import annotations

from typing import Any, ClassVar

from marshmallow.fields import Field

from . import words
from .base import ResponseSchema
from .messages import LabelField
from .nested_fields import ObjectField
from .quantities import ANGLE, AXIS
from .request_fields import Tag
from .response_fields import (
    BearingField,
    BooleanField,
    DirectionField,
    IntegerField,
    NumberField,
    StringField,
    WordField,
)


class ClockSchema(ResponseSchema):
    """A time on a clock face, as seen by whoever looks at the wheel."""

    kind = Tag("clock")
    clock = StringField("Time on a clock face, like 4:00.")


class CalledSchema(ResponseSchema):
    """Where a weight goes, in the terms of the balancer that read the wheel.

    Its units are the device's, as the request gave them; a brief plan doesn't repeat them, and leaves out what is
    null.
    """

    brief_has_null = False

    mass = NumberField("Nominal mass of the weight, in mass_unit.", digits=3)
    mass_unit = WordField(words.MASS_UNITS, "Unit of mass.", detail="standard")
    angle = BearingField("Angle of the weight [deg], in the device's sense and view.")
    valve_at = ObjectField(
        ClockSchema,
        "Where the valve stands when the weight's spot is at the top, or where the device says; null "
        "unless the reading gave it so.",
        allow_none=True,
    )
    distance = NumberField(
        "Distance as dialled, in distance_unit; null where the device was set to places.",
        low=None,
        allow_none=True,
    )
    size = NumberField("Size as dialled, in size_unit; null where the device was set to places.", allow_none=True)
    distance_unit = WordField(words.LENGTH_UNITS, "Unit of distance.", detail="standard")
    size_unit = WordField(words.LENGTH_UNITS, "Unit of size.", detail="standard")


class RimWaySchema(ResponseSchema):
    """The way along the rim to a weight's middle, from the called spot or the mark, whichever is nearer."""

    class Meta:
        """A field whose name Python keeps for itself."""

        include: ClassVar[dict[str, Any]] = {
            "from": WordField(words.RIM_ORIGINS, "Spot from which the distance is measured.", attribute="origin")
        }

    rim_mm = NumberField("Length of the way [mm].")
    direction = WordField(words.SENSES, "Sense of the way, seen from outboard.")
    along = WordField(words.RIM_LINES, "Line on the wheel along which it is measured.")


class CalledIfSaid(ResponseSchema):
    """What may have a field ``called``: not every balancer has words of its own."""

    def on_bind_field(self, field_name: str, field_obj: Field[Any]) -> None:
        """It alone may be absent."""
        super().on_bind_field(field_name, field_obj)
        field_obj.required = field_obj.required and field_name != "called"

    def finish(self, written: dict[str, Any]) -> dict[str, Any]:
        """Without what nobody calls it."""
        if written["called"] is None:
            del written["called"]
        return super().finish(written)


class PieceSchema(CalledIfSaid):
    """One weight on the wheel; a brief plan leaves out what is null."""

    least_detail, brief_has_null = "standard", False

    kind = Tag("planned", detail="brief")
    place = StringField(
        "Place on the wheel, which is inboard_flange, outboard_flange or a land's name.", detail="brief"
    )
    side = WordField(words.SIDES, "Side of the wheel.")
    style = WordField(words.STYLES, "Style of the weight.", detail="brief")
    sku = StringField("Stock number of the weight.", detail="brief")
    label = LabelField("Name of the weight for people; null where the stock has none.", allow_none=True)
    material = WordField(words.MATERIALS, "Material of the weight, which decides how it is recycled.")
    mass_g = NumberField("Mass of the piece [g].", detail="brief")
    segments = IntegerField(
        "Number of segments in one strip; null for a clip-on.", allow_none=True, detail="brief"
    )
    position_mm = NumberField(f"Position of the piece's middle [mm], {AXIS}.", low=None, detail="brief")
    radius_mm = NumberField(
        "Radius of the piece's mass centre [mm], measured from the wheel's axis.", detail="brief"
    )
    effective_gmm = NumberField(
        "Unbalance that the piece makes [g·mm], with its length along the circle taken into account."
    )
    angle_deg = DirectionField(
        f"Angle of the piece's middle [deg], {ANGLE}.", of="mass_g", digits=4, detail="brief"
    )
    clock = StringField("The same angle as an hour hand shows it, with the mark at 12.")
    window = StringField(
        "Name of the spoke that the piece is behind, null where it is behind none; for spokes that "
        'touch, like "1 and 2" or "1 to 3".',
        allow_none=True,
    )
    arc_deg = NumberField("Part of the circle that the piece covers [deg].")
    length_mm = NumberField(
        "Length of the piece along the wheel [mm]; null where it is not known.", allow_none=True
    )
    hidden = BooleanField("Whether the piece can't be seen from outboard.")
    location = StringField("Place of the weight on the shelf; null where the stock has none.", allow_none=True)
    called = ObjectField(
        CalledSchema,
        "Where the piece goes in the balancer's terms; absent unless the reading was in them.",
        detail="brief",
    )
    rim = ObjectField(
        RimWaySchema,
        "Way along the rim to the piece, to measure with a tape; null where there is none.",
        allow_none=True,
    )
