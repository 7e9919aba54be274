"""A job as the shop bills it: what was fitted to which wheel, what came off, and the shop's prices."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from ..model.stock import Material
from .money import MoneyRounding

LineType = Literal["weights", "labour", "disposal", "per_vehicle"]


@dataclass(frozen=True, slots=True)
class ChargedPiece:
    """A weight that was fitted ``count`` times: segments of a strip, None for a clip-on."""

    sku: str
    segments: int | None = None
    count: int = 1
    material: Material | None = None
    label: str | None = None
    location: str | None = None

    @property
    def quantity(self) -> int:
        """Pieces or segments taken off the shelf."""
        return self.count * (self.segments or 1)


@dataclass(frozen=True, slots=True)
class RemovedWeight:
    """Old weights of one kind that came off: mass_g [g] is that of one, None if it was not weighed."""

    material: Material
    count: int = 1
    mass_g: float | None = None


@dataclass(frozen=True, slots=True)
class JobWheel:
    """A wheel of the job; wheel_type is the caller's own word for what its labour costs."""

    name: str
    wheel_type: str | None = None
    pieces: tuple[ChargedPiece, ...] = ()
    removed: tuple[RemovedWeight, ...] = ()


@dataclass(frozen=True, slots=True)
class PricedItem:
    """A weight in the price list; the price is for a piece, or for a segment of a strip."""

    sku: str
    unit_price: Decimal | None = None
    label: str | None = None
    material: Material | None = None
    location: str | None = None


@dataclass(frozen=True, slots=True)
class LabourPrice:
    """What balancing one wheel costs; wheel_type None: any wheel whose type has no price of its own."""

    unit_price: Decimal
    wheel_type: str | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True)
class DisposalPrice:
    """What getting rid of old weights of a material costs, by the piece or by the kilogram."""

    material: Material
    unit_price: Decimal
    per: Literal["piece", "kg"] = "piece"
    label: str | None = None


@dataclass(frozen=True, slots=True)
class VehicleItem:
    """What is charged for the vehicle, ``quantity`` times."""

    code: str
    unit_price: Decimal
    label: str | None = None
    quantity: int = 1


@dataclass(frozen=True, slots=True)
class PriceList:
    """All prices, in one currency."""

    items: tuple[PricedItem, ...] = ()
    labour: tuple[LabourPrice, ...] = ()
    disposal: tuple[DisposalPrice, ...] = ()
    per_vehicle: tuple[VehicleItem, ...] = ()


@dataclass(frozen=True, slots=True)
class TaxRate:
    """The tax rate [%] on one type of line, as the caller states it; the service knows no tax law."""

    line_type: LineType
    rate_pct: Decimal


@dataclass(frozen=True, slots=True)
class InvoiceRequest:
    """Everything that an invoice needs. lead_ban: the law that bans lead where the vehicle is used, by name."""

    currency: str
    wheels: tuple[JobWheel, ...]
    price_list: PriceList
    rounding: MoneyRounding = field(default_factory=MoneyRounding)
    tax_rates: tuple[TaxRate, ...] = ()
    prices_include_tax: bool = False
    lead_ban: str | None = None
    reference: str | None = None
