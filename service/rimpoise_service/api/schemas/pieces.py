"""A weight on the wheel, as a plan gives it."""

from __future__ import annotations

from typing import Any, ClassVar

from marshmallow.fields import Field

from . import words
from .base import ResponseSchema
from .nested_fields import ObjectField
from .reading import ANGLE
from .request_fields import Tag
from .response_fields import BooleanField, DirectionField, IntegerField, NumberField, StringField, WordField


class ClockSchema(ResponseSchema):
    """A time of the clock, as whoever looks at the wheel sees it."""

    kind = Tag("clock")
    clock = StringField("like 4:00", attribute="text")


class CalledSchema(ResponseSchema):
    """Where a weight goes, in the words of the balancer that read the wheel.

    Its units are the device's, as the request gave them; a brief plan doesn't repeat them.
    """

    mass = NumberField("the stock's nominal, in mass_unit", digits=3)
    mass_unit = WordField(words.MASS_UNITS, "of mass", detail="standard")
    angle = NumberField("in the device's sense and view")
    valve_at = ObjectField(
        ClockSchema, "where the valve then stands; null unless the reading said it so", allow_none=True
    )
    distance = NumberField("in distance_unit, as dialled; null where places were set", low=None, allow_none=True)
    size = NumberField("in size_unit, as dialled; null where places were set", allow_none=True)
    distance_unit = WordField(words.LENGTH_UNITS, "of distance", detail="standard")
    size_unit = WordField(words.LENGTH_UNITS, "of size", detail="standard")


class RimWaySchema(ResponseSchema):
    """A way along the rim to a weight's middle, from the nearer of the called spot and the mark."""

    class Meta:
        """A field whose name Python keeps for itself."""

        include: ClassVar[dict[str, Any]] = {
            "from": WordField(words.RIM_ORIGINS, "it is measured", attribute="origin")
        }

    rim_mm = NumberField("of the way")
    direction = WordField(words.SENSES, "seen from outboard")
    along = WordField(words.RIM_LINES, "it is measured along")


class PieceSchema(ResponseSchema):
    """One weight on the wheel."""

    least_detail = "standard"

    kind = Tag("planned", detail="brief")
    place = StringField("inboard_flange, outboard_flange or a land's name", detail="brief")
    side = WordField(words.SIDES, "of the wheel")
    style = WordField(words.STYLES, "of weight", detail="brief")
    sku = StringField("from the stock", detail="brief")
    label = StringField("for people", allow_none=True)
    material = WordField(words.MATERIALS, "for recycling")
    mass_g = NumberField("of the piece", detail="brief")
    segments = IntegerField("of a strip", allow_none=True, detail="brief")
    position_mm = NumberField("of its middle along the axis, positive outboard", low=None, detail="brief")
    radius_mm = NumberField("of its mass centre", detail="brief")
    effective_gmm = NumberField("what it does, its arc included")
    angle_deg = DirectionField("of its middle, " + ANGLE, of="mass_g", detail="brief")
    clock = StringField("the same as an hour hand, the mark at 12")
    window = StringField(
        'the spoke it is behind; of spokes that touch: "1 and 2", or from the first to the last, "1 to 3"',
        allow_none=True,
    )
    arc_deg = NumberField("of the circle that it covers")
    length_mm = NumberField("along the wheel, if known", allow_none=True)
    hidden = BooleanField("whether it can't be seen from outboard")
    location = StringField("where it is on the shelf", allow_none=True)
    called = ObjectField(
        CalledSchema,
        "the same in the balancer's words; absent unless the reading was in them",
        detail="brief",
    )
    rim = ObjectField(RimWaySchema, "the way to it along the rim, to be measured with a tape", allow_none=True)

    def on_bind_field(self, field_name: str, field_obj: Field[Any]) -> None:
        """Not every balancer has words of its own."""
        super().on_bind_field(field_name, field_obj)
        field_obj.required = field_obj.required and field_name != "called"

    def finish(self, written: dict[str, Any]) -> dict[str, Any]:
        """Without what nobody calls it."""
        if written["called"] is None:
            del written["called"]
        return super().finish(written)
