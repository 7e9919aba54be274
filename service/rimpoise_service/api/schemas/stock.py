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

SKU = "Number of the item in the shop, unique in the stock."
PRICE = "in any one currency, as a decimal string"
WHERE = "Place of the item on the shelf."
COATED = "Whether the weight is coated; without it, that is unknown. A bare clip-on is kept off a finished wheel."


class ThicknessRangeSchema(RequestSchema):
    """The flange lips a clip fits, both ends included."""

    makes = Range
    min = Thickness("Thickness of the thinnest lip [mm].", required=True)
    max = Thickness("Thickness of the thickest lip [mm].", required=True)

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
    label = Text("Name of the weight for people.")
    mass_g = StockMass("Mass of one piece [g].", required=True)
    material = Choice(words.MATERIALS, "Material of the weight, which decides how it is recycled.", required=True)
    thickness_mm = ObjectField(ThicknessRangeSchema, "Thickness of the flange lips that the weight fits [mm].")
    profiles = ListField(
        Text(), "The shop's own names for flanges that the weight fits.", least=1, most=50, unique=True
    )
    for_materials = ListField(
        Choice(words.WHEEL_MATERIALS),
        "Wheel materials that the weight is for; without them, all.",
        least=1,
        most=2,
        unique=True,
    )
    for_vehicle_classes = ListField(
        Choice(words.VEHICLE_CLASSES),
        "Classes of vehicle that the weight is for; without them, all.",
        least=1,
        most=7,
        unique=True,
    )
    length_mm = Length("Length along the flange [mm]; without it, the weight counts as a point.")
    height_mm = Length("Height off the flange [mm], compared with max_height_mm.")
    on_hand = Count("Number of pieces on the shelf for this wheel; without it there are enough.")
    unit_price = Money(f"Price of one piece, {PRICE}.")
    location = Text(WHERE)
    coated = Boolean(COATED)
    wire_spokes = Boolean(
        "Whether it is a nipple weight, which goes on wheels with wire spokes only.", load_default=False
    )


class StripSchema(RequestSchema):
    """An adhesive strip that is cut between its segments."""

    makes = Strip
    sku = Text(SKU, required=True)
    label = Text("Name of the strip for people.")
    material = Choice(words.MATERIALS, "Material of the weight, which decides how it is recycled.", required=True)
    segment_mass_g = StockMass("Mass of one segment [g].", high=1_000, required=True)
    segment_length_mm = Length("Length of one segment along the land [mm].", required=True)
    width_mm = Length("Width of the strip across the land [mm].", required=True)
    thickness_mm = Thickness("Thickness of the strip with its tape [mm].", required=True)
    max_segments = Segments("Largest number of segments in one piece.", required=True)
    on_hand = Count("Number of segments on the shelf for this wheel; without it there are enough.")
    unit_price = Money(f"Price of one segment, {PRICE}.")
    location = Text(WHERE)
    coated = Boolean(COATED)


class BuiltinStockSchema(RequestSchema):
    """A generic, invented set; GET /v1/reference lists it in full."""

    kind = Tag("builtin")
    name = Choice(words.BUILTINS, "Name of the set.", required=True)

    def make(self, data: dict[str, Any]) -> Stock:
        """The set itself."""
        return BUILTIN[data["name"]]


class OwnStockSchema(RequestSchema):
    """The shop's own stock, in the order of preference. An empty shelf is allowed: then nothing is possible."""

    shared = True
    makes = Stock
    kind = Tag("own")
    clip_ons = ListField(ObjectField(ClipOnSchema), "Weights for flanges.", most=200, load_default=())
    strips = ListField(ObjectField(StripSchema), "Weights for lands.", most=20, load_default=())

    @rule("names_unique", "clip_ons", "strips")
    def _unique(self, data: dict[str, Any]) -> Iterator[Break]:
        places = [(kind, i, item) for kind in ("clip_ons", "strips") for i, item in enumerate(data[kind])]
        for index, sku in repeated(item.sku for *_, item in places):
            kind, i, _ = places[index]
            yield Break((kind, i, "sku"), message("sku_twice", called=sku))


STOCK = Variants(
    "Stock",
    "What there is to fit: a built-in set, or the shop's own.",
    '{"kind": "builtin", "name": "metric"}',
    BuiltinStockSchema,
    OwnStockSchema,
)


def stock_field(about: str = "Stock from which weights are chosen.", *, required: bool = True) -> UnionField:
    """A stock, built in or the shop's own."""
    return UnionField(STOCK, about, required=required)
