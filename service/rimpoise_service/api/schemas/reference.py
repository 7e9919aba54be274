"""GET /v1/reference."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...messages.catalogue import template_of
from ...messages.page_words import PageWords
from ...messages.reader import current_reader
from . import words
from .acceptance import MassAcceptanceSchema
from .base import ResponseSchema
from .nested_fields import ListField, ObjectField
from .response_fields import BooleanField, IntegerField, NumberField, StringField, WordField
from .rules import rule_text
from .spread import SpreadSchema
from .stock import OwnStockSchema

SOURCE = "Source of the text, or that it is common practice."


class BuiltinStocksSchema(ResponseSchema):
    """The generic sets in full; each can be sent back as a stock."""

    source = StringField(SOURCE)
    metric = ObjectField(OwnStockSchema, "Generic set in grams.")
    ounce = ObjectField(OwnStockSchema, "Generic set in ounces.")


class RimDiameterSchema(ResponseSchema):
    """A diameter code and the diameter that it stands for."""

    code = IntegerField("Diameter code, as in a rim's marking.")
    diameter_mm = NumberField("Specified diameter at the bead seat [mm].")


class RimDiametersSchema(ResponseSchema):
    """Specified rim diameters."""

    source = StringField(SOURCE)
    values = ListField(ObjectField(RimDiameterSchema), "Rim diameters by code.", most=None)


class FlangeHeightSchema(ResponseSchema):
    """A flange contour and its height."""

    contour = StringField("Letter of the contour in a rim's marking.")
    height_mm = NumberField("Height of the flange above the bead seat [mm].")


class FlangeHeightsSchema(ResponseSchema):
    """Flange heights."""

    source = StringField(SOURCE)
    values = ListField(ObjectField(FlangeHeightSchema), "Flange heights by contour.", most=None)


class DefaultAcceptanceSchema(ResponseSchema):
    """The acceptance that is used where none is sent."""

    metric = ObjectField(MassAcceptanceSchema, "Acceptance with any stock but the ounce set.")
    ounce = ObjectField(MassAcceptanceSchema, "Acceptance with the built-in ounce set.")


class DefaultsSchema(ResponseSchema):
    """The values that are used where a request gives none."""

    source = StringField(SOURCE)
    acceptance = ObjectField(DefaultAcceptanceSchema, "Default acceptance, one step of the stock.")
    spread = ObjectField(SpreadSchema, "Default errors of hands and machine.")


class MarkSchema(ResponseSchema):
    """A number by which measuring is judged."""

    mark = StringField("Name of the number.")
    value = NumberField("The number, a share or a ratio unless its name ends in a unit.")
    text = StringField("Meaning of the number in words.")
    source = StringField(SOURCE)

    def unpack(self, value: Mapping[str, Any]) -> dict[str, Any]:
        """With its meaning in the reader's language."""
        return {**value, "text": PageWords("marks")(value["mark"])}


class GuidanceSchema(ResponseSchema):
    """A sentence that answers can carry."""

    code = StringField("Stable code of the message, for programs.")
    use = WordField(words.MESSAGE_USES, "What the message is for.", attribute="kind")
    text = StringField("The sentence in the language of the request, with places for values in braces.")
    source = StringField(SOURCE)

    def unpack(self, value: Mapping[str, str]) -> dict[str, str]:
        """With the sentence in the reader's language."""
        return {**value, "text": template_of(value["code"], current_reader().language)}


class SentenceLanguageSchema(ResponseSchema):
    """A language that sentences are available in, by Accept-Language."""

    language = WordField(words.LANGUAGES, "Language tag, as in Accept-Language.")
    reviewed = BooleanField("Whether a technician who speaks the language has reviewed its sentences.")
    note = StringField("Remark on the language; null where there is none.", allow_none=True)

    def unpack(self, value: Mapping[str, Any]) -> dict[str, Any]:
        """With a note where nobody has reviewed it."""
        return {**value, "note": None if value["reviewed"] else PageWords("reference")("not_reviewed")}


class ProblemTypeSchema(ResponseSchema):
    """A type of problem."""

    type = StringField("Path of the type of problem, as in a problem's type.")
    status = IntegerField("HTTP status of such a problem.")
    title = StringField("Title of the type of problem.")
    advice = StringField("What to do about such a problem.")


class RuleSchema(ResponseSchema):
    """A rule that the schema can't state; a request that breaks it is answered 422."""

    rule = StringField("Name of the rule.")
    text = StringField("What the rule demands.")

    def unpack(self, value: str) -> dict[str, str]:
        """A name, and its text in the reader's language."""
        return {"rule": value, "text": rule_text(value)}


class ReferenceSchema(ResponseSchema):
    """Every table the service works with."""

    stock = ObjectField(BuiltinStocksSchema, "Built-in stocks in full.")
    rim_diameters = ObjectField(RimDiametersSchema, "Specified rim diameters.")
    flange_heights = ObjectField(FlangeHeightsSchema, "Heights of rim flanges.")
    defaults = ObjectField(DefaultsSchema, "Values that are used where a request gives none.")
    marks = ListField(ObjectField(MarkSchema), "Numbers by which measuring is judged.", most=None)
    guidance = ListField(ObjectField(GuidanceSchema), "All messages that answers can carry.", most=None)
    problems = ListField(ObjectField(ProblemTypeSchema), "All types of problems.", most=None)
    rules = ListField(ObjectField(RuleSchema), "All rules that a request can break.", most=None)
    languages = ListField(
        ObjectField(SentenceLanguageSchema), "All languages that sentences are available in.", most=None
    )
