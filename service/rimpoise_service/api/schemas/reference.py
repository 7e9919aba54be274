"""GET /v1/reference."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...messages.catalogue import template_of
from ...messages.reader import current_reader
from . import words
from .acceptance import MassAcceptanceSchema
from .base import ResponseSchema
from .nested_fields import ListField, ObjectField
from .plans import SpreadSchema
from .response_fields import BooleanField, IntegerField, NumberField, StringField, WordField
from .stock import OwnStockSchema

SOURCE = "where it comes from"


class BuiltinStocksSchema(ResponseSchema):
    """The generic sets in full; each can be sent back as a stock."""

    source = StringField(SOURCE)
    metric = ObjectField(OwnStockSchema, "steps of 5 g")
    ounce = ObjectField(OwnStockSchema, "steps of 1/4 oz")


class RimDiameterSchema(ResponseSchema):
    """A diameter code and what it stands for."""

    code = IntegerField("as in a rim's marking")
    diameter_mm = NumberField("specified diameter at the bead seat")


class RimDiametersSchema(ResponseSchema):
    """Specified rim diameters."""

    source = StringField(SOURCE)
    values = ListField(ObjectField(RimDiameterSchema), "by code", most=None)


class FlangeHeightSchema(ResponseSchema):
    """A flange contour and its height."""

    contour = StringField("letter in a rim's marking")
    height_mm = NumberField("above the bead seat")


class FlangeHeightsSchema(ResponseSchema):
    """Flange heights."""

    source = StringField(SOURCE)
    values = ListField(ObjectField(FlangeHeightSchema), "by contour", most=None)


class DefaultAcceptanceSchema(ResponseSchema):
    """The acceptance that is taken where none is given."""

    metric = ObjectField(MassAcceptanceSchema, "with any stock but the ounce set")
    ounce = ObjectField(MassAcceptanceSchema, "with the built-in ounce set")


class DefaultsSchema(ResponseSchema):
    """What is taken where a request is silent."""

    source = StringField(SOURCE)
    acceptance = ObjectField(DefaultAcceptanceSchema, "one stock step")
    spread = ObjectField(SpreadSchema, "of what hands and machine do")


class MarkSchema(ResponseSchema):
    """A number by which measuring is judged."""

    mark = StringField("its name")
    value = NumberField("a share or a ratio, unless the name ends in a unit")
    text = StringField("what it is")
    source = StringField(SOURCE)


class GuidanceSchema(ResponseSchema):
    """A sentence that answers can carry."""

    code = StringField("stable")
    use = WordField(words.MESSAGE_USES, "what it is for", attribute="kind")
    text = StringField("the sentence in the language asked for, with places for values in braces")
    source = StringField(SOURCE)

    def unpack(self, value: Mapping[str, str]) -> dict[str, str]:
        """With the sentence in the reader's language."""
        return {**value, "text": template_of(value["code"], current_reader().language)}


class SentenceLanguageSchema(ResponseSchema):
    """A language that sentences can be had in, by Accept-Language."""

    language = WordField(words.LANGUAGES, "as in Accept-Language")
    reviewed = BooleanField("whether a technician who speaks it has reviewed its sentences")
    note = StringField("what is to be known of it", allow_none=True)


class ProblemTypeSchema(ResponseSchema):
    """A type of problem."""

    type = StringField("as in a problem's type")
    status = IntegerField("the HTTP status")
    title = StringField("in words")
    advice = StringField("what to do about it")

    def unpack(self, value: Any) -> dict[str, Any]:
        """In the reader's words."""
        names = ("status", "title", "advice")
        return {"type": f"/problems/{value.slug}"} | {name: getattr(value, name) for name in names}


class RuleSchema(ResponseSchema):
    """A rule that the schema can't state; breaking it is answered 422."""

    rule = StringField("its name")
    text = StringField("what it asks")


class ReferenceSchema(ResponseSchema):
    """Every table the service works with."""

    stock = ObjectField(BuiltinStocksSchema, "the built-in stock")
    rim_diameters = ObjectField(RimDiametersSchema, "specified rim diameters")
    flange_heights = ObjectField(FlangeHeightsSchema, "heights of flanges")
    defaults = ObjectField(DefaultsSchema, "what is taken where a request is silent")
    marks = ListField(ObjectField(MarkSchema), "by which measuring is judged", most=None)
    guidance = ListField(ObjectField(GuidanceSchema), "all codes of remarks", most=None)
    problems = ListField(ObjectField(ProblemTypeSchema), "all types of problems", most=None)
    rules = ListField(ObjectField(RuleSchema), "all rules", most=None)
    languages = ListField(ObjectField(SentenceLanguageSchema), "of all sentences", most=None)
