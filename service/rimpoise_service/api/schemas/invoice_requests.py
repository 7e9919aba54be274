"""What POST /v1/charges is asked: the job and the price list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any, get_args

from ...model.stock import Material
from ...model.wheel import SIDES
from ...planning.models import STYLES
from ...workshop.invoice_models import (
    DisposalPrice,
    FittedPiece,
    InvoiceRequest,
    JobWheel,
    LabourPrice,
    LineKind,
    PricedItem,
    PriceList,
    RemovedWeight,
    TaxRate,
    VehicleItem,
)
from ...workshop.money import How, MoneyRounding, Where, minor_digits
from .base import EchoSchema, RequestSchema
from .nested_fields import ByKey, ListField, ObjectField
from .quantities import (
    Angle,
    ArcEnd,
    BareAngle,
    Items,
    Length,
    Mass,
    Position,
    Radius,
    Segments,
    SentLength,
    ShownMass,
    Static,
    StockMass,
)
from .request_fields import MAX_TEXT, Boolean, Choice, Money, Text
from .rules import Break, repeated, rule

MATERIALS, LINE_KINDS = get_args(Material), get_args(LineKind)
USUAL = MoneyRounding()
NOT_USED = "as a plan tells it; not used here"
MAX_WINDOW = 2 * MAX_TEXT + len(" and ")  # two spokes that touch


class FittedPieceSchema(RequestSchema):
    """A weight that was fitted by hand."""

    makes = FittedPiece
    sku = Text("the shop's number for it", required=True)
    segments = Segments("of a strip; without it: a clip-on", allow_none=True)
    count = Items("how many alike", load_default=1)
    material = Choice("for the warning about lead; default: the price list's", MATERIALS)
    label = Text("for people", allow_none=True)
    location = Text("where it is on the shelf; default: the price list's", allow_none=True)


class SentClockSchema(EchoSchema):
    """A time of the clock, as a plan tells it."""

    kind = Text(NOT_USED)
    clock = Text(NOT_USED)


class SentCalledSchema(EchoSchema):
    """A weight in a balancer's words, as a plan tells it."""

    mass = ShownMass(NOT_USED)
    mass_unit = Text(NOT_USED)
    angle = BareAngle(NOT_USED)
    valve_at = ObjectField(SentClockSchema, NOT_USED, allow_none=True)
    distance = SentLength(NOT_USED, allow_none=True)
    size = SentLength(NOT_USED, allow_none=True)
    distance_unit = Text(NOT_USED)
    size_unit = Text(NOT_USED)


class PlannedPieceSchema(RequestSchema):
    """A piece just as a plan tells it."""

    place = Text(NOT_USED, required=True)
    side = Choice(NOT_USED, SIDES)
    style = Choice(NOT_USED, STYLES)
    sku = Text("the shop's number for it", required=True)
    label = Text("for people", allow_none=True)
    material = Choice("for the warning about lead", MATERIALS)
    mass_g = Mass(NOT_USED)
    segments = Segments("of a strip", allow_none=True)
    position_mm = Position(NOT_USED)
    radius_mm = Radius(NOT_USED)
    effective_gmm = Static(NOT_USED)
    angle_deg = Angle(NOT_USED)
    clock = Text(NOT_USED)
    window = Text(NOT_USED, most=MAX_WINDOW, allow_none=True)
    arc_deg = ArcEnd(NOT_USED)
    length_mm = Length(NOT_USED, allow_none=True)
    hidden = Boolean(NOT_USED)
    location = Text("where it is on the shelf", allow_none=True)
    called = ObjectField(SentCalledSchema, NOT_USED, allow_none=True)

    def make(self, data: dict[str, Any]) -> FittedPiece:
        """What the invoice needs of it."""
        needed = ("sku", "segments", "material", "label", "location")
        return FittedPiece(**{name: data[name] for name in needed if name in data})


class RemovedWeightSchema(RequestSchema):
    """Old weights that came off, alike."""

    makes = RemovedWeight
    material = Choice("for recycling", MATERIALS, required=True)
    count = Items("how many", load_default=1)
    mass_g = StockMass("of one of them; without it: not weighed")


class JobWheelSchema(RequestSchema):
    """What was done to a wheel."""

    makes = JobWheel
    name = Text("like front left; unique in the job", required=True)
    kind = Text("the shop's own word for what its labour costs, like alloy")
    pieces = ListField(
        ByKey({"place": PlannedPieceSchema, "sku": FittedPieceSchema}, "a plan's pieces as they are, or by hand"),
        "what was fitted",
        most=64,
        load_default=(),
    )
    removed = ListField(ObjectField(RemovedWeightSchema), "what came off", most=64, load_default=())


class PricedItemSchema(RequestSchema):
    """A weight and its price."""

    makes = PricedItem
    sku = Text("unique in the list", required=True)
    unit_price = Money("of a piece, or of a segment of a strip")
    label = Text("for the invoice; default: the piece's, or the sku")
    material = Choice("for the warning about lead", MATERIALS)
    location = Text("where it is on the shelf")


class LabourPriceSchema(RequestSchema):
    """What balancing one wheel costs."""

    makes = LabourPrice
    unit_price = Money("per wheel", required=True)
    kind = Text("of wheel; without it: any wheel whose kind has no price of its own")
    label = Text("for the invoice")


class DisposalPriceSchema(RequestSchema):
    """What getting rid of old weights costs."""

    makes = DisposalPrice
    material = Choice("of the old weights", MATERIALS, required=True)
    unit_price = Money("per piece or kilogram", required=True)
    per = Choice("what the price is for", ["piece", "kg"], load_default="piece")
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
    disposal = ListField(ObjectField(DisposalPriceSchema), "of old weights", most=len(MATERIALS), load_default=())
    per_vehicle = ListField(ObjectField(VehicleItemSchema), "once for the vehicle", most=50, load_default=())

    @rule("entries_unique", "items", "labour", "disposal", "per_vehicle")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        keys = {"items": "sku", "labour": "kind", "disposal": "material", "per_vehicle": "code"}
        for name, key in keys.items():
            yield from _once([getattr(entry, key) for entry in data[name]], name, key)


class RoundingRuleSchema(RequestSchema):
    """Where amounts are rounded to the currency's minor unit, and how."""

    makes = MoneyRounding
    where = Choice(
        "line: each line; total: once per tax rate, lines keep every decimal",
        get_args(Where),
        load_default=USUAL.where,
    )
    how = Choice("a half goes up, or to the even neighbour", get_args(How), load_default=USUAL.how)


class TaxRateSchema(RequestSchema):
    """The tax on one kind of line, as the caller knows it."""

    makes = TaxRate
    kind = Choice("of line", LINE_KINDS, required=True)
    rate_pct = Text(
        "a decimal string, like 19 or 8.875 [%]",
        pattern=r"^[0-9]{1,3}(\.[0-9]{1,4})?$",
        hint='a rate like "19" or "8.875" (up to 4 decimals)',
        required=True,
    )

    def make(self, data: dict[str, Any]) -> TaxRate:
        """The exact rate."""
        return TaxRate(data["kind"], Decimal(data["rate_pct"]))


class ChargesRequestSchema(RequestSchema):
    """What was fitted and taken off, and the prices."""

    makes = InvoiceRequest
    currency = Text("ISO 4217 code", pattern=r"^[A-Z]{3}$", hint="a code like EUR", required=True)
    wheels = ListField(ObjectField(JobWheelSchema), "of one job", least=1, most=32, required=True)
    price_list = ObjectField(PriceListSchema, "prices", required=True)
    rounding = ObjectField(RoundingRuleSchema, "default: on the line, half up", load_default=USUAL)
    tax_rates = ListField(ObjectField(TaxRateSchema), "default: no tax", most=len(LINE_KINDS), load_default=())
    prices_include_tax = Boolean("whether the tax is in the prices", load_default=False)
    lead_ban = Text("the law that bans lead weights where the vehicle is used, if any")
    reference = Text("the caller's own, echoed")

    @rule("currency_known", "currency")
    def _known(self, data: dict[str, Any]) -> Iterator[Break]:
        if minor_digits(data["currency"]) is None:
            text = f'"{data["currency"]}" is no currency with a minor unit in ISO 4217; write a code like EUR'
            yield Break(("currency",), text)

    @rule("entries_unique", "wheels", "tax_rates")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        yield from _once([wheel.name for wheel in data["wheels"]], "wheels", "name")
        yield from _once([rate.kind for rate in data["tax_rates"]], "tax_rates", "kind")

    @rule("strip_or_clip_on", "wheels")
    def _alike(self, data: dict[str, Any]) -> Iterator[Break]:
        strips: dict[str, bool] = {}
        for i, wheel in enumerate(data["wheels"]):
            for j, piece in enumerate(wheel.pieces):
                strip = piece.segments is not None
                if strips.setdefault(piece.sku, strip) != strip:
                    what = "a strip" if strip else "no strip"
                    text = f'"{piece.sku}" is {what} here; write segments always or never'
                    yield Break(("wheels", i, "pieces", j), text)


def _once(keys: Sequence[str | None], name: str, key: str) -> Iterator[Break]:
    for index, value in repeated(keys):
        said = f"without {key}" if value is None else f'with {key} "{value}"'
        yield Break((name, index), f"another entry of {name} {said} stands before; write each once")
