"""POST /v1/style-choices."""

from __future__ import annotations

from typing import Any, NamedTuple, get_args

from ...model.stock import Stock
from ...model.wheel import SIDES, Wheel
from ...planning.models import STYLES, Appearance, CauseFirst, Preferences
from .base import RequestSchema, ResponseSchema
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .quantities import CausePlaneMark, CauseTotalMark, PieceCount
from .request_fields import Choice
from .response_fields import BooleanField, NumberField, StringField
from .stock import stock_field
from .wheel import WheelSchema

WISHES = Preferences()


class CauseFirstSchema(RequestSchema):
    """From where on a cause is looked for before weights are fitted."""

    shared = True
    makes = CauseFirst
    plane_g = CausePlaneMark("called in one plane; default: no such mark", load_default=None)
    total_g = CauseTotalMark("called in all planes together", required=True)


class PreferencesSchema(RequestSchema):
    """What the customer and the technician want. Wishes that can't be met rank lower and say so."""

    shared = True
    makes = Preferences
    appearance = Choice(
        "clean_face: nothing on the outboard flange; out_of_sight: every piece hidden",
        get_args(Appearance),
        load_default=WISHES.appearance,
    )
    styles = ListField(
        Choice("", STYLES), "those allowed", least=1, most=2, unique=True, load_default=WISHES.styles
    )
    correction = Choice(
        "static: correct the static sum alone", ["dynamic", "static"], load_default=WISHES.correction
    )
    max_pieces_per_plane = PieceCount("at most", load_default=WISHES.max_pieces_per_plane)
    cause_first_g = ObjectField(
        CauseFirstSchema, "marks of your own; default: those of the vehicle's class", load_default=None
    )


class StyleChoicesRequest(NamedTuple):
    """A wheel, a shelf and wishes."""

    wheel: Wheel
    stock: Stock
    preferences: Preferences


class StylesRequestSchema(RequestSchema):
    """A wheel, what there is to fit, and wishes; no reading is needed."""

    wheel = ObjectField(WheelSchema, "as far as it is known", required=True)
    stock = stock_field()
    preferences = ObjectField(PreferencesSchema, "wishes; default: none")

    def make(self, data: dict[str, Any]) -> StyleChoicesRequest:
        """The three, with no wishes if none are given."""
        return StyleChoicesRequest(data["wheel"], data["stock"], data.get("preferences", WISHES))


class PlaceChoiceSchema(ResponseSchema):
    """A style at a place, and the stock that fits there."""

    place = StringField("inboard_flange, outboard_flange or a land's name")
    side = StringField("of the wheel", SIDES)
    style = StringField("of weight", STYLES)
    position_mm = NumberField("along the axis, positive outboard", low=None)
    radius_mm = NumberField("at which weights sit")
    skus = ListField(StringField(""), "stock that fits there, in the stock's order", most=None)
    behind_spokes = BooleanField("whether pieces go behind the spokes only")
    hidden = BooleanField("whether pieces there can't be seen from outboard")


class ChoiceSchema(ResponseSchema):
    """One or two places that can correct the wheel."""

    name = StringField("of the layout")
    places = ListField(ObjectField(PlaceChoiceSchema), "per side", most=None)
    notes = remarks("wishes that it can't meet, and the like")


class RuledOutSchema(ResponseSchema):
    """What can't be, and why."""

    layout = StringField("a layout, or a style at a place")
    reasons = remarks("why not")


class StylesSchema(ResponseSchema):
    """Every admissible layout of styles, best first."""

    choices = ListField(ObjectField(ChoiceSchema), "best first", most=None, attribute="choices.choices")
    ruled_out = ListField(ObjectField(RuledOutSchema), "what can't be", most=None, attribute="choices.ruled_out")
    next_steps = remarks("what to find out or do next", "choices.next_steps")
    cautions = remarks("for safety and for the law")
    derived = remarks("what was not measured but worked out or assumed", "choices.derived")
    warnings = warnings()
