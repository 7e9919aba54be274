"""What POST /v1/charges is asked: the job and the price list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...messages.message import message
from ...workshop.invoice_models import (
    DisposalPrice,
    FittedPiece,
    InvoiceRequest,
    JobWheel,
    LabourPrice,
    PricedItem,
    PriceList,
    RemovedWeight,
    TaxRate,
    VehicleItem,
)
from ...workshop.money import MoneyRounding, minor_digits
from . import words
from .base import RequestSchema
from .given_plans import GivenPieceSchema
from .nested_fields import ListField, ObjectField, UnionField, Variants
from .quantities import Items, Segments, StockMass
from .request_fields import Boolean, Choice, DecimalText, Money, Tag, Text
from .rules import Break, Elsewhere, refuse, repeated, rule
from .units import UnitsRequestSchema, units_field

USUAL = MoneyRounding()


class FittedItemSchema(RequestSchema):
    """A weight that was fitted by hand."""

    makes = FittedPiece
    kind = Tag("item")
    sku = Text("the shop's number for it", required=True)
    segments = Segments("of a strip; without it: a clip-on")
    count = Items("how many alike", load_default=1)
    material = Choice(words.MATERIALS, "for the warning about lead; default: the price list's")
    label = Text("for people")
    location = Text("where it is on the shelf; default: the price list's")


class PlannedPieceSchema(GivenPieceSchema):
    """A piece as a plan tells it."""

    def make(self, data: dict[str, Any]) -> FittedPiece:
        """What the invoice needs of it. Raises ValidationError for a piece of a brief plan: it may be lead."""
        if "material" not in data:
            raise refuse("detail_enough", ("material",), message("piece_without_material", like='{"detail": "standard"}'))
        needed = ("sku", "segments", "material", "label", "location")
        return FittedPiece(**{name: data[name] for name in needed if name in data})


CHARGED_PIECE = Variants(
    "ChargedPiece",
    "A weight that was fitted: a plan's piece as it was told, or a weight from the shelf.",
    '{"kind": "item", "sku": "C-20", "count": 2}',
    PlannedPieceSchema,
    FittedItemSchema,
)


class RemovedWeightSchema(RequestSchema):
    """Old weights that came off, alike."""

    makes = RemovedWeight
    material = Choice(words.MATERIALS, "for recycling", required=True)
    count = Items("how many", load_default=1)
    mass_g = StockMass("of one of them; without it: not weighed")


class JobWheelSchema(RequestSchema):
    """What was done to a wheel."""

    makes = JobWheel
    name = Text("like front left; unique in the job", required=True)
    wheel_type = Text("the shop's own word for what its labour costs, like alloy")
    pieces = ListField(
        UnionField(CHARGED_PIECE),
        "what was fitted: a plan's pieces as they are, or by hand",
        most=64,
        load_default=(),
    )
    removed = ListField(ObjectField(RemovedWeightSchema), "what came off", most=64, load_default=())
    detail_enough = Elsewhere("detail_enough")


class PricedItemSchema(RequestSchema):
    """A weight and its price."""

    makes = PricedItem
    sku = Text("unique in the list", required=True)
    unit_price = Money("of a piece, or of a segment of a strip")
    label = Text("for the invoice; default: the piece's, or the sku")
    material = Choice(words.MATERIALS, "for the warning about lead")
    location = Text("where it is on the shelf")


class LabourPriceSchema(RequestSchema):
    """What balancing one wheel costs."""

    makes = LabourPrice
    unit_price = Money("per wheel", required=True)
    wheel_type = Text("of wheel; without it: any wheel whose type has no price of its own")
    label = Text("for the invoice")


class DisposalPriceSchema(RequestSchema):
    """What getting rid of old weights costs."""

    makes = DisposalPrice
    material = Choice(words.MATERIALS, "of the old weights", required=True)
    unit_price = Money("per piece or kilogram", required=True)
    per = Choice(words.DISPOSAL_UNITS, "what the price is for", load_default="piece")
    label = Text("for the invoice")


class VehicleItemSchema(RequestSchema):
    """What is charged for the vehicle, whatever its wheels needed."""

    makes = VehicleItem
    code = Text("the shop's own; unique in the list", required=True)
    unit_price = Money("of one", required=True)
    label = Text("for the invoice; default: the code")
    quantity = Items("how many", load_default=1)


class PriceListSchema(RequestSchema):
    """All prices, in the job's currency. Labour and disposal without prices are not charged."""

    makes = PriceList
    items = ListField(ObjectField(PricedItemSchema), "weights", most=500, load_default=())
    labour = ListField(ObjectField(LabourPriceSchema), "per wheel", most=50, load_default=())
    disposal = ListField(
        ObjectField(DisposalPriceSchema), "of old weights", most=len(words.MATERIALS), load_default=()
    )
    per_vehicle = ListField(ObjectField(VehicleItemSchema), "once for the vehicle", most=50, load_default=())

    @rule("entries_unique", "items", "labour", "disposal", "per_vehicle")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        keys = {"items": "sku", "labour": "wheel_type", "disposal": "material", "per_vehicle": "code"}
        for name, key in keys.items():
            yield from _once([getattr(entry, key) for entry in data[name]], name, key)


class RoundingRuleSchema(RequestSchema):
    """Where amounts are rounded to the currency's minor unit, and how."""

    makes = MoneyRounding
    where = Choice(words.ROUNDING_PLACES, "where amounts are rounded", load_default=USUAL.where)
    how = Choice(words.ROUNDING_WAYS, "how a half is rounded", load_default=USUAL.how)


class TaxRateSchema(RequestSchema):
    """The tax on one type of line, as the caller knows it."""

    makes = TaxRate
    line_type = Choice(words.LINE_TYPES, "of line", required=True)
    rate_pct = DecimalText(
        "a decimal string, like 19 or 8.875 [%]",
        pattern=r"^[0-9]{1,3}(\.[0-9]{1,4})?$",
        hint='a rate like "19" or "8.875" (up to 4 decimals)',
        required=True,
    )


class InvoiceRequestSchema(UnitsRequestSchema):
    """What was fitted and taken off, and the prices."""

    makes = InvoiceRequest
    currency = Text("ISO 4217 code", pattern=r"^[A-Z]{3}$", hint="a code like EUR", required=True)
    wheels = ListField(ObjectField(JobWheelSchema), "of one job", least=1, most=32, required=True)
    price_list = ObjectField(PriceListSchema, "prices", required=True)
    rounding = ObjectField(RoundingRuleSchema, "default: on the line, half up", load_default=USUAL)
    tax_rates = ListField(ObjectField(TaxRateSchema), "default: none", most=len(words.LINE_TYPES), load_default=())
    prices_include_tax = Boolean("whether the tax is in the prices", load_default=False)
    lead_ban = Text("the law that bans lead weights where the vehicle is used, if any")
    reference = Text("the caller's own, echoed")
    units = units_field()

    @rule("currency_known", "currency")
    def _known(self, data: dict[str, Any]) -> Iterator[Break]:
        if minor_digits(data["currency"]) is None:
            yield Break(("currency",), message("no_such_currency", called=data["currency"], like="EUR"))

    @rule("entries_unique", "wheels", "tax_rates")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        yield from _once([wheel.name for wheel in data["wheels"]], "wheels", "name")
        yield from _once([rate.line_type for rate in data["tax_rates"]], "tax_rates", "line_type")

    @rule("strip_or_clip_on", "wheels")
    def _alike(self, data: dict[str, Any]) -> Iterator[Break]:
        strips: dict[str, bool] = {}
        for i, wheel in enumerate(data["wheels"]):
            for j, piece in enumerate(wheel.pieces):
                strip = piece.segments is not None
                if strips.setdefault(piece.sku, strip) != strip:
                    code = "strip_elsewhere_clip" if strip else "clip_elsewhere_strip"
                    yield Break(("wheels", i, "pieces", j), message(code, called=piece.sku))


def _once(keys: Sequence[str | None], name: str, key: str) -> Iterator[Break]:
    for index, value in repeated(keys):
        code = "entry_without_twice" if value is None else "entry_twice"
        yield Break((name, index), message(code, fields=name, key=key, called=value))
