"""POST /v1/style-choices."""

from __future__ import annotations

from typing import Any, NamedTuple, get_args

from ...model.stock import Stock
from ...model.wheel import SIDES, Wheel
from ...planning.models import STYLES, Appearance, Preferences
from .base import Answer, Noun
from .messages import remarks, warnings
from .nested_fields import Listed, Object
from .quantities import PieceCount
from .request_fields import Choice
from .response_fields import Flag, Told, Word
from .stock import stock_field
from .wheel import WheelSchema

WISHES = Preferences()


class PreferencesSchema(Noun):
    """What the customer and the technician want. Wishes that can't be met rank lower and say so."""

    shared = True
    makes = Preferences
    appearance = Choice(
        "clean_face: nothing on the outboard flange; out_of_sight: every piece hidden",
        get_args(Appearance),
        load_default=WISHES.appearance,
    )
    styles = Listed(Choice("", STYLES), "those allowed", least=1, most=2, unique=True, load_default=WISHES.styles)
    correction = Choice(
        "static: correct the static sum alone", ["dynamic", "static"], load_default=WISHES.correction
    )
    max_pieces_per_plane = PieceCount("at most", load_default=WISHES.max_pieces_per_plane)


class StylesAsked(NamedTuple):
    """A wheel, a shelf and wishes."""

    wheel: Wheel
    stock: Stock
    preferences: Preferences


class StylesRequestSchema(Noun):
    """A wheel, what there is to fit, and wishes; no reading is needed."""

    wheel = Object(WheelSchema, "as far as it is known", required=True)
    stock = stock_field()
    preferences = Object(PreferencesSchema, "wishes; default: none")

    def make(self, data: dict[str, Any]) -> StylesAsked:
        """The three, with no wishes if none are given."""
        return StylesAsked(data["wheel"], data["stock"], data.get("preferences", WISHES))


class PlaceChoiceSchema(Answer):
    """A style at a place, and the stock that fits there."""

    place = Word("inboard_flange, outboard_flange or a land's name")
    side = Word("of the wheel", SIDES)
    style = Word("of weight", STYLES)
    position_mm = Told("along the axis, positive outboard", low=None)
    radius_mm = Told("at which weights sit")
    skus = Listed(Word(""), "stock that fits there, in the stock's order", most=None)
    behind_spokes = Flag("whether pieces go behind the spokes only")
    hidden = Flag("whether pieces there can't be seen from outboard")


class ChoiceSchema(Answer):
    """One or two places that can correct the wheel."""

    name = Word("of the layout")
    places = Listed(Object(PlaceChoiceSchema), "per side", most=None)
    notes = remarks("wishes that it can't meet, and the like")


class RuledOutSchema(Answer):
    """What can't be, and why."""

    layout = Word("a layout, or a style at a place")
    reasons = remarks("why not")


class StylesSchema(Answer):
    """Every admissible layout of styles, best first."""

    choices = Listed(Object(ChoiceSchema), "best first", most=None, attribute="choices.choices")
    ruled_out = Listed(Object(RuledOutSchema), "what can't be", most=None, attribute="choices.ruled_out")
    next_steps = remarks("what to find out or do next", "choices.next_steps")
    cautions = remarks("for safety and for the law")
    derived = remarks("what was not measured but worked out or assumed", "choices.derived")
    warnings = warnings()
