"""POST /v1/style-choices."""

from __future__ import annotations

from typing import NamedTuple

from ...model.stock import Stock
from ...model.wheel import Wheel
from ...planning.models import CauseFirst, Preferences
from . import words
from .base import RequestSchema, ResponseSchema
from .messages import MessageSchema, remarks, warnings
from .nested_fields import ListField, ObjectField
from .quantities import AXIS, PieceCount
from .request_fields import Boolean, Choice, Number
from .response_fields import BooleanField, NumberField, StringField, WordField
from .stock import stock_field
from .units import units_field
from .wheel import WheelSchema

WISHES = Preferences()


class CausePlaneMark(Number):
    """From where on a weight in one plane asks for a cause first [g]."""

    unit, low, high = "g", 1, 5_000


class CauseTotalMark(Number):
    """From where on weights in all ask for a cause first [g]."""

    unit, low, high = "g", 1, 10_000


class CauseFirstSchema(RequestSchema):
    """The mass from which on a cause is looked for before weights are fitted."""

    shared = True
    makes = CauseFirst
    plane_g = CausePlaneMark(
        "Mass called in one plane from which on this holds [g]; without it, no such mark.", load_default=None
    )
    total_g = CauseTotalMark("Mass called in all planes together from which on this holds [g].", required=True)


class PreferencesSchema(RequestSchema):
    """The wishes of customer and technician. A layout that goes against a wish ranks lower and says so."""

    shared = True
    makes = Preferences
    edge = frozenset({"units"})
    appearance = Choice(words.APPEARANCES, "What may be seen of the weights.", load_default=WISHES.appearance)
    styles = ListField(
        Choice(words.STYLES),
        "Styles of weight that are allowed.",
        least=1,
        most=2,
        unique=True,
        load_default=WISHES.styles,
    )
    correction = Choice(words.CORRECTION_MODES, "What the plan corrects.", load_default=WISHES.correction)
    max_pieces_per_plane = PieceCount(
        "Largest number of pieces in a plane.", load_default=WISHES.max_pieces_per_plane
    )
    cause_first_g = ObjectField(
        CauseFirstSchema,
        "Masses from which on a cause is looked for first [g]; without them, those of the vehicle's class.",
        load_default=None,
    )
    detail = Choice(
        words.DETAILS, "Detail of a plan; other answers don't change with it.", load_default=WISHES.detail
    )
    alternatives = Boolean(
        "Whether a plan has other layouts than the first, too; without them it takes a fraction of the time.",
        load_default=WISHES.alternatives,
    )
    units = units_field()


class StyleChoicesRequest(NamedTuple):
    """A wheel, a shelf and wishes."""

    wheel: Wheel
    stock: Stock
    preferences: Preferences


class StyleChoicesRequestSchema(RequestSchema):
    """A wheel, the stock, and wishes; no reading is needed."""

    makes = StyleChoicesRequest
    wheel = ObjectField(WheelSchema, "The wheel, as far as it is known.", required=True)
    stock = stock_field()
    preferences = ObjectField(
        PreferencesSchema, "Wishes of customer and technician; without them, none.", load_default=WISHES
    )


class PlaceChoiceSchema(ResponseSchema):
    """A style at a place, and the stock that fits there."""

    place = StringField("Place on the wheel, which is inboard_flange, outboard_flange or a land's name.")
    side = WordField(words.SIDES, "Side of the wheel.")
    style = WordField(words.STYLES, "Style of weight.")
    position_mm = NumberField(f"Position of the place [mm], {AXIS}.", low=None)
    radius_mm = NumberField("Radius at which weights sit there [mm].")
    skus = ListField(
        StringField(""), "Stock numbers of the weights that fit there, in the stock's order.", most=None
    )
    behind_spokes = BooleanField("Whether pieces go behind the spokes only.")
    hidden = BooleanField("Whether pieces there can't be seen from outboard.")


class StyleChoiceSchema(ResponseSchema):
    """One or two places that can correct the wheel."""

    name = StringField("Name of the layout, the same in every language.")
    in_words = ObjectField(MessageSchema, "Name of the layout for people.")
    places = ListField(
        ObjectField(PlaceChoiceSchema),
        "Two places that correct together, or one.",
        most=None,
    )
    notes = remarks("Messages on wishes that the layout can't meet, and the like.")


class RuledOutSchema(ResponseSchema):
    """A layout, or a style at a place, that is not possible, and why."""

    layout = StringField("Name of a layout, or of a style at a place.", attribute="name")
    in_words = ObjectField(MessageSchema, "The same for people.")
    reasons = remarks("Messages on why it is not possible.")


class StyleChoicesSchema(ResponseSchema):
    """Every admissible layout of styles, best first."""

    choices = ListField(
        ObjectField(StyleChoiceSchema),
        "Layouts that are possible, best first.",
        most=None,
        attribute="choices.choices",
    )
    ruled_out = ListField(
        ObjectField(RuledOutSchema),
        "Layouts and styles that are not possible, and why.",
        most=None,
        attribute="choices.ruled_out",
    )
    next_steps = remarks("Messages on what to find out or do next.", "choices.next_steps")
    cautions = remarks("Messages on safety and the law.")
    derived = remarks("Messages on what was not measured but worked out or assumed.", "choices.derived")
    warnings = warnings()
