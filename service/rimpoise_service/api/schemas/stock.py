"""What is on the shelf."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...messages.message import message
from ...model.stock import BUILTIN, ClipOn, Range, Stock, Strip
from . import words
from .base import RequestSchema
from .nested_fields import ListField, ObjectField, UnionField, Variants
from .quantities import Count, Length, Segments, StockMass, Thickness
from .request_fields import Boolean, Choice, Money, Tag, Text
from .rules import Break, repeated, rule

SKU = "the shop's number for it; unique in the stock"
PRICE = "in any one currency, as a decimal string"
WHERE = "where it is on the shelf"
COATED = "whether it is; without it: unknown. A bare clip-on is kept off a finished wheel"


class ThicknessRangeSchema(RequestSchema):
    """The flange lips a clip fits, both ends included."""

    makes = Range
    min = Thickness("thinnest lip", required=True)
    max = Thickness("thickest lip", required=True)

    @rule("range_order", "min", "max")
    def _in_order(self, data: dict[str, Any]) -> Iterator[Break]:
        low, high = data["min"], data["max"]
        if low > high:
            yield Break(("max",), message("max_below_min", sent_mm=high, min_mm=low))


class ClipOnSchema(RequestSchema):
    """A clip-on weight. It fits a flange by lip thickness, or by the shop's own profile names; where neither is
    given it fits any flange of its materials and vehicles."""

    makes = ClipOn
    sku = Text(SKU, required=True)
    label = Text("for people")
    mass_g = StockMass("of one piece", required=True)
    material = Choice(words.MATERIALS, "for recycling", required=True)
    thickness_mm = ObjectField(ThicknessRangeSchema, "flange lips it fits")
    profiles = ListField(Text(), "the shop's own names for flanges it fits", least=1, most=50, unique=True)
    for_materials = ListField(Choice(words.WHEEL_MATERIALS), "default: all", least=1, most=2, unique=True)
    for_vehicle_classes = ListField(Choice(words.VEHICLE_CLASSES), "default: all", least=1, most=7, unique=True)
    length_mm = Length("along the flange; without it the weight is taken as a point")
    height_mm = Length("off the flange, to be held against max_height_mm")
    on_hand = Count("pieces; without it there are enough")
    unit_price = Money(f"of a piece, {PRICE}")
    location = Text(WHERE)
    coated = Boolean(COATED)
    wire_spokes = Boolean("a nipple weight: for wheels with wire spokes alone", load_default=False)


class StripSchema(RequestSchema):
    """An adhesive strip that is cut between its segments."""

    makes = Strip
    sku = Text(SKU, required=True)
    label = Text("for people")
    material = Choice(words.MATERIALS, "for recycling", required=True)
    segment_mass_g = StockMass("of one segment", high=1_000, required=True)
    segment_length_mm = Length("of one segment, along the land", required=True)
    width_mm = Length("across the land", required=True)
    thickness_mm = Thickness("off the land, its tape included", required=True)
    max_segments = Segments("in one piece", required=True)
    on_hand = Count("segments; without it there are enough")
    unit_price = Money(f"of a segment, {PRICE}")
    location = Text(WHERE)
    coated = Boolean(COATED)


class BuiltinStockSchema(RequestSchema):
    """A generic set, invented, listed in full by GET /v1/reference."""

    kind = Tag("builtin")
    name = Choice(words.BUILTINS, "of the set", required=True)

    def make(self, data: dict[str, Any]) -> Stock:
        """The set itself."""
        return BUILTIN[data["name"]]


class OwnStockSchema(RequestSchema):
    """The shop's own stock, in the order of preference. An empty shelf is allowed: then nothing is possible."""

    shared = True
    makes = Stock
    kind = Tag("own")
    clip_ons = ListField(ObjectField(ClipOnSchema), "weights for flanges", most=200, load_default=())
    strips = ListField(ObjectField(StripSchema), "weights for lands", most=20, load_default=())

    @rule("names_unique", "clip_ons", "strips")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        places = [(kind, i, item) for kind in ("clip_ons", "strips") for i, item in enumerate(data[kind])]
        for index, sku in repeated(item.sku for *_, item in places):
            kind, i, _ = places[index]
            yield Break((kind, i, "sku"), message("sku_twice", called=sku))

    def make(self, data: dict[str, Any]) -> Stock:
        """The shelf."""
        return Stock(data["clip_ons"], data["strips"])


STOCK = Variants(
    "Stock",
    "What there is to fit: a built-in set, or the shop's own.",
    '{"kind": "builtin", "name": "metric"}',
    BuiltinStockSchema,
    OwnStockSchema,
)


def stock_field(about: str = "what there is to fit", *, required: bool = True) -> UnionField:
    """A stock, built in or the shop's own."""
    return UnionField(STOCK, about, required=required)
