"""What POST /v1/charges answers: the invoice, the pick list and the tally for recycling."""

from __future__ import annotations

from typing import Any

from ...workshop.invoice import Invoice
from . import words
from .base import ResponseSchema
from .invoice_requests import RoundingRuleSchema
from .messages import LabelField, remarks, warnings
from .nested_fields import ListField, ObjectField
from .response_fields import BooleanField, DecimalField, IntegerField, NumberField, StringField, WordField


class LineSchema(ResponseSchema):
    """A line to post as it is."""

    id = StringField("Identifier of what is charged, the same for the same thing however the job is listed.")
    line_type = WordField(words.LINE_TYPES, "Type of line.")
    code = StringField(
        "Stock number, wheel type, material or the item's own code; null for labour at the price for any wheel.",
        allow_none=True,
    )
    label = LabelField("Text for the invoice: the price list's, or one in the language of the request.")
    quantity = DecimalField("Number of units; kilograms may have decimals.")
    unit = WordField(words.UNITS, "Unit of the quantity.")
    unit_price = DecimalField("Price of one unit, from the price list.")
    amount = DecimalField(
        "Quantity times price, with tax only where prices include it; rounded where lines are rounded."
    )
    tax_rate_pct = DecimalField(
        "Tax rate for this type of line [%]; null where the request gave none.", allow_none=True
    )
    tax = DecimalField(
        "Tax on the amount, or the tax that it includes; null where amounts are rounded on the totals.",
        allow_none=True,
    )
    wheels = ListField(
        StringField(""), "Names of the wheels that the line is for; empty where it is for the vehicle.", most=None
    )


class TaxedSchema(ResponseSchema):
    """The sums of all lines with one tax rate."""

    rate_pct = DecimalField("Tax rate of these lines [%]; null for the lines without a rate.", allow_none=True)
    net = DecimalField("Sum without tax.")
    tax = DecimalField("Sum of the tax.")
    gross = DecimalField("Sum with tax.")


class TotalsSchema(ResponseSchema):
    """The sums over all tax rates."""

    net = DecimalField("Total without tax.")
    tax = DecimalField("Total of the tax.")
    gross = DecimalField("Total with tax, which is to be paid.")


class UnpricedSchema(ResponseSchema):
    """Something that was fitted or done and has no price; it is in no line and no total."""

    line_type = WordField(words.LINE_TYPES, "Type of line that it would be.")
    code = StringField("Stock number or wheel type; null for labour on a wheel without a type.", allow_none=True)
    quantity = DecimalField("Number of units.")
    unit = WordField(words.UNITS, "Unit of the quantity.")
    wheels = ListField(StringField(""), "Names of the wheels that it was for.", most=None)


class CutSchema(ResponseSchema):
    """Pieces of one length, to be cut off a strip."""

    segments = IntegerField("Number of segments in each piece.")
    pieces = IntegerField("Number of such pieces.")


class PickSchema(ResponseSchema):
    """The amount to fetch of one stock item."""

    sku = StringField("The shop's number for the weight.")
    label = LabelField("Name of the weight for people; null where none is known.", allow_none=True)
    pieces = IntegerField("Number of pieces.")
    segments = IntegerField("Number of segments in all; null for a clip-on.", allow_none=True)
    cuts = ListField(ObjectField(CutSchema), "How to cut a strip, the longest pieces first.", most=None)
    wheels = ListField(StringField(""), "Names of the wheels that they are for.", most=None)


class PickingSchema(ResponseSchema):
    """The weights to fetch from one place."""

    location = StringField("Place on the shelf; null where it is not known.", allow_none=True)
    picks = ListField(ObjectField(PickSchema), "Weights to fetch there, by stock number.", most=None)


class RecycledSchema(ResponseSchema):
    """Old weights of one material."""

    material = WordField(words.MATERIALS, "Material to sort the old weights by.")
    count = IntegerField("Number of old weights of this material.")
    mass_g = NumberField("Mass of those that were weighed [g].")
    unweighed = IntegerField("Number of those that were not weighed.")


class InvoiceSchema(ResponseSchema):
    """The invoice, and the lists that go with it to the workshop."""

    currency = StringField("Currency of all amounts, as an ISO 4217 code.")
    minor_digits = IntegerField("Number of decimals of the currency's minor unit, from ISO 4217.")
    prices_include_tax = BooleanField("Whether the amounts of lines include tax.")
    rounding = ObjectField(RoundingRuleSchema, "How amounts were rounded.")
    lines = ListField(ObjectField(LineSchema), "Lines of the invoice, in the order of the price list.", most=None)
    taxes = ListField(
        ObjectField(TaxedSchema), "Sums of the lines for each tax rate, the highest rate first.", most=None
    )
    totals = ObjectField(TotalsSchema, "Sums over all tax rates.")
    unpriced = ListField(ObjectField(UnpricedSchema), "What was fitted or done and has no price.", most=None)
    pick_list = ListField(ObjectField(PickingSchema), "Weights to fetch, by place on the shelf.", most=None)
    recycling = ListField(
        ObjectField(RecycledSchema), "Old weights by material, to be recycled and never thrown away.", most=None
    )
    warnings = warnings()
    cautions = remarks("Messages on safety and the law.")
    reference = StringField("The caller's own reference; null where none was sent.", allow_none=True)

    def unpack(self, charges: Invoice) -> dict[str, Any]:
        """The invoice, and what it echoes of its request."""
        request = charges.request
        own = ("minor_digits", "lines", "taxes", "totals", "unpriced", "pick_list", "recycling")
        written = {name: getattr(charges, name) for name in (*own, "warnings", "cautions")}
        echoed = ("currency", "prices_include_tax", "rounding", "reference")
        return written | {name: getattr(request, name) for name in echoed}
