"""GET /v1/reference."""

from __future__ import annotations

from ...messages.catalogue import GUIDANCE
from .acceptance import AcceptanceSchema
from .base import Answer
from .nested_fields import Listed, Object
from .plans import SpreadSchema
from .response_fields import Told, Whole, Word
from .stock import ShopStockSchema

SOURCE = "where it comes from"
KINDS = tuple(dict.fromkeys(guidance.kind for guidance in GUIDANCE.values()))


class BuiltinStocksSchema(Answer):
    """The generic sets in full; each can be sent back as a stock."""

    source = Word(SOURCE)
    metric = Object(ShopStockSchema, "steps of 5 g")
    ounce = Object(ShopStockSchema, "steps of 1/4 oz")


class RimDiameterSchema(Answer):
    """A diameter code and what it stands for."""

    code = Whole("as in a rim's marking")
    diameter_mm = Told("specified diameter at the bead seat")


class RimDiametersSchema(Answer):
    """Specified rim diameters."""

    source = Word(SOURCE)
    values = Listed(Object(RimDiameterSchema), "by code", most=None)


class FlangeHeightSchema(Answer):
    """A flange contour and its height."""

    contour = Word("letter in a rim's marking")
    height_mm = Told("above the bead seat")


class FlangeHeightsSchema(Answer):
    """Flange heights."""

    source = Word(SOURCE)
    values = Listed(Object(FlangeHeightSchema), "by contour", most=None)


class DefaultAcceptanceSchema(Answer):
    """The acceptance that is taken where none is given."""

    metric = Object(AcceptanceSchema, "with any stock but the ounce set")
    ounce = Object(AcceptanceSchema, "with the built-in ounce set")


class DefaultsSchema(Answer):
    """What is taken where a request is silent."""

    source = Word(SOURCE)
    acceptance = Object(DefaultAcceptanceSchema, "one stock step")
    spread = Object(SpreadSchema, "of what hands and machine do")


class MarkSchema(Answer):
    """A number by which measuring is judged."""

    mark = Word("its name")
    value = Told("a share or a ratio, unless the name ends in a unit")
    text = Word("what it is")
    source = Word(SOURCE)


class GuidanceSchema(Answer):
    """A sentence that answers can carry."""

    code = Word("stable")
    kind = Word("what it is for", KINDS)
    text = Word("the sentence, with places for values in braces")
    source = Word(SOURCE)


class ProblemTypeSchema(Answer):
    """A type of problem."""

    type = Word("as in a problem's type")
    status = Whole("the HTTP status")
    title = Word("in words")
    advice = Word("what to do about it")


class RuleSchema(Answer):
    """A rule that the schema can't state; breaking it is answered 422."""

    rule = Word("its name")
    text = Word("what it asks")


class ReferenceSchema(Answer):
    """Every table the service works with."""

    stock = Object(BuiltinStocksSchema, "the built-in stock")
    rim_diameters = Object(RimDiametersSchema, "specified rim diameters")
    flange_heights = Object(FlangeHeightsSchema, "heights of flanges")
    defaults = Object(DefaultsSchema, "what is taken where a request is silent")
    marks = Listed(Object(MarkSchema), "by which measuring is judged", most=None)
    guidance = Listed(Object(GuidanceSchema), "all codes of remarks", most=None)
    problems = Listed(Object(ProblemTypeSchema), "all types of problems", most=None)
    rules = Listed(Object(RuleSchema), "all rules", most=None)
