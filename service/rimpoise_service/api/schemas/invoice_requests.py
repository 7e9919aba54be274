"""What POST /v1/charges is asked: the job and the price list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ...messages.message import message
from ...workshop.invoice_models import (
    ChargedPiece,
    DisposalPrice,
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

    makes = ChargedPiece
    kind = Tag("item")
    sku = Text("The shop's number for the weight.", required=True)
    segments = Segments("Number of segments in one strip; leave it out for a clip-on.")
    count = Items("Number of such weights.", load_default=1)
    material = Choice(
        words.MATERIALS, "Material of the weight, for the warning about lead; without it, the price list's."
    )
    label = Text("Name of the weight for people.")
    location = Text("Place of the weight on the shelf; without it, the price list's.")


class PlannedPieceSchema(GivenPieceSchema):
    """A weight as a plan gives it."""

    def make(self, data: dict[str, Any]) -> ChargedPiece:
        """What the invoice needs of it. Raises ValidationError for a piece of a brief plan: it may be lead."""
        if "material" not in data:
            raise refuse(
                "detail_enough", ("material",), message("piece_without_material", like='{"detail": "standard"}')
            )
        needed = ("sku", "segments", "material", "label", "location")
        return ChargedPiece(**{name: data[name] for name in needed if name in data})


CHARGED_PIECE = Variants(
    "ChargedPiece",
    "A weight that was fitted: a plan's piece as the plan states it, or a weight from the shelf.",
    '{"kind": "item", "sku": "C-20", "count": 2}',
    PlannedPieceSchema,
    FittedItemSchema,
)


class RemovedWeightSchema(RequestSchema):
    """Old weights of one kind that came off."""

    makes = RemovedWeight
    material = Choice(
        words.MATERIALS, "Material of the old weights, which decides how they are recycled.", required=True
    )
    count = Items("Number of such weights.", load_default=1)
    mass_g = StockMass("Mass of one of them [g]; leave it out if it was not weighed.")


class JobWheelSchema(RequestSchema):
    """The work done on a wheel."""

    makes = JobWheel
    name = Text("Name of the wheel, like front left; unique in the job.", required=True)
    wheel_type = Text("The shop's own word for what sets the labour price, like alloy.")
    pieces = ListField(
        UnionField(CHARGED_PIECE),
        "Weights that were fitted, as a plan gives them or by hand.",
        most=64,
        load_default=(),
    )
    removed = ListField(ObjectField(RemovedWeightSchema), "Old weights that came off.", most=64, load_default=())
    detail_enough = Elsewhere("detail_enough")


class PricedItemSchema(RequestSchema):
    """A weight and its price."""

    makes = PricedItem
    sku = Text("The shop's number for the weight; unique in the list.", required=True)
    unit_price = Money("Price of one clip-on, or of one segment of a strip.")
    label = Text("Text for the invoice; without it, the weight's label, or else its sku.")
    material = Choice(words.MATERIALS, "Material of the weight, for the warning about lead.")
    location = Text("Place of the weight on the shelf.")


class LabourPriceSchema(RequestSchema):
    """What balancing one wheel costs."""

    makes = LabourPrice
    unit_price = Money("Price for balancing one wheel.", required=True)
    wheel_type = Text("Type of wheel that the price is for; without it, any type that has no price of its own.")
    label = Text("Text for the invoice.")


class DisposalPriceSchema(RequestSchema):
    """The price of getting rid of old weights."""

    makes = DisposalPrice
    material = Choice(words.MATERIALS, "Material of the old weights.", required=True)
    unit_price = Money("Price of one old weight or one kilogram, as per says.", required=True)
    per = Choice(words.DISPOSAL_UNITS, "What the price is for, one weight or one kilogram.", load_default="piece")
    label = Text("Text for the invoice.")


class VehicleItemSchema(RequestSchema):
    """A charge for the vehicle as a whole, whatever its wheels needed."""

    makes = VehicleItem
    code = Text("The shop's own code; unique in the list.", required=True)
    unit_price = Money("Price of one unit.", required=True)
    label = Text("Text for the invoice; without it, the code.")
    quantity = Items("Number of units.", load_default=1)


class PriceListSchema(RequestSchema):
    """All prices, in the job's currency. Without any labour prices no labour is charged; disposal is charged of
    materials that have a price.
    """

    makes = PriceList
    items = ListField(ObjectField(PricedItemSchema), "Prices of weights.", most=500, load_default=())
    labour = ListField(ObjectField(LabourPriceSchema), "Prices for balancing one wheel.", most=50, load_default=())
    disposal = ListField(
        ObjectField(DisposalPriceSchema),
        "Prices for getting rid of old weights.",
        most=len(words.MATERIALS),
        load_default=(),
    )
    per_vehicle = ListField(
        ObjectField(VehicleItemSchema), "Charges made once for the vehicle.", most=50, load_default=()
    )

    @rule("entries_unique", "items", "labour", "disposal", "per_vehicle")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        keys = {"items": "sku", "labour": "wheel_type", "disposal": "material", "per_vehicle": "code"}
        for name, key in keys.items():
            yield from _once([getattr(entry, key) for entry in data[name]], name, key)


class RoundingRuleSchema(RequestSchema):
    """Where amounts are rounded to the currency's minor unit, and how."""

    makes = MoneyRounding
    where = Choice(
        words.ROUNDING_PLACES,
        "Where amounts are rounded, on each line or on the totals.",
        load_default=USUAL.where,
    )
    how = Choice(words.ROUNDING_WAYS, "How an exact half is rounded.", load_default=USUAL.how)


class TaxRateSchema(RequestSchema):
    """The tax on one type of line, as the caller knows it."""

    makes = TaxRate
    line_type = Choice(words.LINE_TYPES, "Type of line that the rate is for.", required=True)
    rate_pct = DecimalText(
        "Tax rate [%], as a decimal string like 19 or 8.875.",
        pattern=r"^[0-9]{1,3}(\.[0-9]{1,4})?$",
        hint="tax_rate",
        required=True,
    )


class InvoiceRequestSchema(UnitsRequestSchema):
    """The weights that were fitted and taken off, and the prices."""

    makes = InvoiceRequest
    currency = Text(
        "Currency of all amounts, as an ISO 4217 code.",
        pattern=r"^[A-Z]{3}$",
        hint="currency_code",
        required=True,
    )
    wheels = ListField(ObjectField(JobWheelSchema), "Wheels of one job.", least=1, most=32, required=True)
    price_list = ObjectField(
        PriceListSchema, "Prices of weights, labour, disposal and other charges.", required=True
    )
    rounding = ObjectField(
        RoundingRuleSchema, "How amounts are rounded; without it, on each line, half up.", load_default=USUAL
    )
    tax_rates = ListField(
        ObjectField(TaxRateSchema),
        "Tax rate of each type of line; without them, no tax.",
        most=len(words.LINE_TYPES),
        load_default=(),
    )
    prices_include_tax = Boolean("Whether the prices include tax.", load_default=False)
    lead_ban = Text("Law that bans lead weights where the vehicle is used, if any.")
    reference = Text("The caller's own reference, repeated in the answer.")
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
