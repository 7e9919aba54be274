"""What POST /v1/charges answers: the invoice, the pick list and the tally for recycling."""

from __future__ import annotations

from typing import Any, get_args

from marshmallow import pre_dump

from ...workshop.invoice import Charges, Unit
from .base import Answer
from .invoice_requests import LINE_KINDS, MATERIALS, RoundingRuleSchema
from .messages import remarks, warnings
from .nested_fields import Listed, Object
from .response_fields import Amount, Flag, Told, Whole, Word


class LineSchema(Answer):
    """A line to post as it is."""

    id = Word("names what is charged: the same for the same thing, however the job is listed")
    kind = Word("of line", LINE_KINDS)
    code = Word("sku, kind of wheel, material, or the item's own code", allow_none=True)
    label = Word("for the invoice")
    quantity = Amount("how many units; kilograms may have decimals")
    unit = Word("of the quantity", get_args(Unit))
    unit_price = Amount("of one unit, from the price list")
    amount = Amount("quantity times price: net, or with tax where prices include it; rounded where lines are")
    tax_rate_pct = Amount("null: no rate for this kind of line [%]", allow_none=True)
    tax = Amount("on the amount, or in it; null where rounding is on the total", allow_none=True)
    wheels = Listed(Word(""), "that it is for; none: for the vehicle", most=None)


class TaxedSchema(Answer):
    """The sums of all lines with one tax rate."""

    rate_pct = Amount("null: the lines without one [%]", allow_none=True)
    net = Amount("without tax")
    tax = Amount("the tax")
    gross = Amount("with tax")


class TotalsSchema(Answer):
    """The sums over all tax rates."""

    net = Amount("without tax")
    tax = Amount("the tax")
    gross = Amount("with tax: what is to be paid")


class UnpricedSchema(Answer):
    """What was fitted or done and has no price: in no line and no total."""

    kind = Word("of line", LINE_KINDS)
    code = Word("sku or kind of wheel", allow_none=True)
    quantity = Amount("how many units")
    unit = Word("of the quantity", get_args(Unit))
    wheels = Listed(Word(""), "that it was for", most=None)


class CutSchema(Answer):
    """Pieces of one length, to be cut off a strip."""

    segments = Whole("of each")
    pieces = Whole("how many")


class PickSchema(Answer):
    """What to fetch of one sku."""

    sku = Word("the shop's number")
    label = Word("for people", allow_none=True)
    pieces = Whole("how many")
    segments = Whole("in all, of a strip", allow_none=True)
    cuts = Listed(Object(CutSchema), "how to cut a strip, the longest first", most=None)
    wheels = Listed(Word(""), "that they are for", most=None)


class PickingSchema(Answer):
    """What to fetch from one place."""

    location = Word("on the shelf; null: not known", allow_none=True)
    picks = Listed(Object(PickSchema), "by sku", most=None)


class RecycledSchema(Answer):
    """Old weights of one material."""

    material = Word("to be sorted by", MATERIALS)
    count = Whole("how many in all")
    mass_g = Told("of those that were weighed")
    unweighed = Whole("how many of them were not")


class ChargesSchema(Answer):
    """The invoice, and the lists that go with it to the workshop."""

    currency = Word("ISO 4217 code")
    minor_digits = Whole("decimals of its minor unit (ISO 4217)")
    prices_include_tax = Flag("whether amounts of lines are with tax")
    rounding = Object(RoundingRuleSchema, "as it was done")
    lines = Listed(Object(LineSchema), "in the order of the price list", most=None)
    taxes = Listed(Object(TaxedSchema), "the lines summed by rate, the highest first", most=None)
    totals = Object(TotalsSchema, "the sums of taxes")
    unpriced = Listed(Object(UnpricedSchema), "what has no price", most=None)
    pick_list = Listed(Object(PickingSchema), "by place on the shelf", most=None)
    recycling = Listed(Object(RecycledSchema), "old weights by material; never bin them", most=None)
    warnings = warnings()
    cautions = remarks("for safety and for the law")
    reference = Word("the caller's own", allow_none=True)

    @pre_dump
    def _with_bill(self, charges: Charges, **_: object) -> dict[str, Any]:
        bill = charges.bill
        own = ("minor_digits", "lines", "taxes", "totals", "unpriced", "pick_list", "recycling")
        told = {name: getattr(charges, name) for name in (*own, "warnings", "cautions")}
        echoed = ("currency", "prices_include_tax", "rounding", "reference")
        return told | {name: getattr(bill, name) for name in echoed}
