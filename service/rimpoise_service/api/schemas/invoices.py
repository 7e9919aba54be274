"""What POST /v1/charges answers: the invoice, the pick list and the tally for recycling."""

from __future__ import annotations

from typing import Any

from ...workshop.invoice import Invoice
from . import words
from .base import ResponseSchema
from .invoice_requests import RoundingRuleSchema
from .messages import remarks, warnings
from .nested_fields import ListField, ObjectField
from .response_fields import BooleanField, DecimalField, IntegerField, NumberField, StringField, WordField


class LineSchema(ResponseSchema):
    """A line to post as it is."""

    id = StringField("names what is charged: the same for the same thing, however the job is listed")
    line_type = WordField(words.LINE_TYPES, "of line")
    code = StringField("sku, type of wheel, material, or the item's own code", allow_none=True)
    label = StringField("for the invoice")
    quantity = DecimalField("how many units; kilograms may have decimals")
    unit = WordField(words.UNITS, "of the quantity")
    unit_price = DecimalField("of one unit, from the price list")
    amount = DecimalField(
        "quantity times price: net, or with tax where prices include it; rounded where lines are"
    )
    tax_rate_pct = DecimalField("null: no rate for this type of line [%]", allow_none=True)
    tax = DecimalField("on the amount, or in it; null where rounding is on the total", allow_none=True)
    wheels = ListField(StringField(""), "that it is for; none: for the vehicle", most=None)


class TaxedSchema(ResponseSchema):
    """The sums of all lines with one tax rate."""

    rate_pct = DecimalField("null: the lines without one [%]", allow_none=True)
    net = DecimalField("without tax")
    tax = DecimalField("the tax")
    gross = DecimalField("with tax")


class TotalsSchema(ResponseSchema):
    """The sums over all tax rates."""

    net = DecimalField("without tax")
    tax = DecimalField("the tax")
    gross = DecimalField("with tax: what is to be paid")


class UnpricedSchema(ResponseSchema):
    """What was fitted or done and has no price: in no line and no total."""

    line_type = WordField(words.LINE_TYPES, "of line")
    code = StringField("sku or type of wheel", allow_none=True)
    quantity = DecimalField("how many units")
    unit = WordField(words.UNITS, "of the quantity")
    wheels = ListField(StringField(""), "that it was for", most=None)


class CutSchema(ResponseSchema):
    """Pieces of one length, to be cut off a strip."""

    segments = IntegerField("of each")
    pieces = IntegerField("how many")


class PickSchema(ResponseSchema):
    """What to fetch of one sku."""

    sku = StringField("the shop's number")
    label = StringField("for people", allow_none=True)
    pieces = IntegerField("how many")
    segments = IntegerField("in all, of a strip", allow_none=True)
    cuts = ListField(ObjectField(CutSchema), "how to cut a strip, the longest first", most=None)
    wheels = ListField(StringField(""), "that they are for", most=None)


class PickingSchema(ResponseSchema):
    """What to fetch from one place."""

    location = StringField("on the shelf; null: not known", allow_none=True)
    picks = ListField(ObjectField(PickSchema), "by sku", most=None)


class RecycledSchema(ResponseSchema):
    """Old weights of one material."""

    material = WordField(words.MATERIALS, "to be sorted by")
    count = IntegerField("how many in all")
    mass_g = NumberField("of those that were weighed")
    unweighed = IntegerField("how many of them were not")


class InvoiceSchema(ResponseSchema):
    """The invoice, and the lists that go with it to the workshop."""

    currency = StringField("ISO 4217 code")
    minor_digits = IntegerField("decimals of its minor unit (ISO 4217)")
    prices_include_tax = BooleanField("whether amounts of lines are with tax")
    rounding = ObjectField(RoundingRuleSchema, "as it was done")
    lines = ListField(ObjectField(LineSchema), "in the order of the price list", most=None)
    taxes = ListField(ObjectField(TaxedSchema), "the lines summed by rate, the highest first", most=None)
    totals = ObjectField(TotalsSchema, "the sums of taxes")
    unpriced = ListField(ObjectField(UnpricedSchema), "what has no price", most=None)
    pick_list = ListField(ObjectField(PickingSchema), "by place on the shelf", most=None)
    recycling = ListField(ObjectField(RecycledSchema), "old weights by material; never bin them", most=None)
    warnings = warnings()
    cautions = remarks("for safety and for the law")
    reference = StringField("the caller's own", allow_none=True)

    def unpack(self, charges: Invoice) -> dict[str, Any]:
        """The invoice, and what it echoes of its request."""
        request = charges.request
        own = ("minor_digits", "lines", "taxes", "totals", "unpriced", "pick_list", "recycling")
        told = {name: getattr(charges, name) for name in (*own, "warnings", "cautions")}
        echoed = ("currency", "prices_include_tax", "rounding", "reference")
        return told | {name: getattr(request, name) for name in echoed}
