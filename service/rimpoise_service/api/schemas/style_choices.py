"""POST /v1/style-choices."""

from __future__ import annotations

from typing import Any, NamedTuple

from ...model.stock import Stock
from ...model.wheel import Wheel
from ...planning.models import CauseFirst, Preferences
from . import words
from .base import RequestSchema, ResponseSchema
from .effort_quantities import CausePlaneMark, CauseTotalMark
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .quantities import PieceCount
from .request_fields import Choice
from .response_fields import BooleanField, NumberField, StringField, WordField
from .stock import stock_field
from .units import units_field
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
    edge = frozenset({"units"})
    appearance = Choice(words.APPEARANCES, "what may be seen", load_default=WISHES.appearance)
    styles = ListField(
        Choice(words.STYLES), "those allowed", least=1, most=2, unique=True, load_default=WISHES.styles
    )
    correction = Choice(words.CORRECTION_MODES, "what to correct", load_default=WISHES.correction)
    max_pieces_per_plane = PieceCount("at most", load_default=WISHES.max_pieces_per_plane)
    cause_first_g = ObjectField(
        CauseFirstSchema, "marks of your own; default: those of the vehicle's class", load_default=None
    )
    detail = Choice(words.DETAILS, "how much a plan tells, and no other answer", load_default=WISHES.detail)
    units = units_field()


class StyleChoicesRequest(NamedTuple):
    """A wheel, a shelf and wishes."""

    wheel: Wheel
    stock: Stock
    preferences: Preferences


class StyleChoicesRequestSchema(RequestSchema):
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
    side = WordField(words.SIDES, "of the wheel")
    style = WordField(words.STYLES, "of weight")
    position_mm = NumberField("along the axis, positive outboard", low=None)
    radius_mm = NumberField("at which weights sit")
    skus = ListField(StringField(""), "stock that fits there, in the stock's order", most=None)
    behind_spokes = BooleanField("whether pieces go behind the spokes only")
    hidden = BooleanField("whether pieces there can't be seen from outboard")


class StyleChoiceSchema(ResponseSchema):
    """One or two places that can correct the wheel."""

    name = StringField("of the layout")
    places = ListField(ObjectField(PlaceChoiceSchema), "per side", most=None)
    notes = remarks("wishes that it can't meet, and the like")


class RuledOutSchema(ResponseSchema):
    """What can't be, and why."""

    layout = StringField("a layout, or a style at a place")
    reasons = remarks("why not")


class StyleChoicesSchema(ResponseSchema):
    """Every admissible layout of styles, best first."""

    choices = ListField(ObjectField(StyleChoiceSchema), "best first", most=None, attribute="choices.choices")
    ruled_out = ListField(ObjectField(RuledOutSchema), "what can't be", most=None, attribute="choices.ruled_out")
    next_steps = remarks("what to find out or do next", "choices.next_steps")
    cautions = remarks("for safety and for the law")
    derived = remarks("what was not measured but worked out or assumed", "choices.derived")
    warnings = warnings()
