"""The invoice: what was fitted and taken off, the shop's prices, and the charges that come of it.

Money is ``Decimal``, exact to the currency's minor unit; ``Decimal("0.185")``, never a float.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from .plans import Piece
from .responses import Remark
from .stock import Material

LineKind = Literal["weights", "labour", "disposal", "per_vehicle"]
Unit = Literal["piece", "segment", "wheel", "kg", "vehicle"]


@dataclass(frozen=True, slots=True)
class FittedPiece:
    """A weight fitted by hand, count times; segments of a strip, None for a clip-on."""

    sku: str
    segments: int | None = None
    count: int = 1
    material: Material | None = None
    label: str | None = None
    location: str | None = None


@dataclass(frozen=True, slots=True)
class RemovedWeight:
    """Old weights that came off, count alike; mass_g [g] is that of one, None if nobody weighed it."""

    material: Material
    count: int = 1
    mass_g: float | None = None


@dataclass(frozen=True, slots=True)
class JobWheel:
    """What was done to a wheel.

    pieces may be those of a plan as they are; kind is your own word for what its labour costs.
    """

    name: str
    kind: str | None = None
    pieces: Sequence[Piece | FittedPiece] = ()
    removed: Sequence[RemovedWeight] = ()


@dataclass(frozen=True, slots=True)
class PricedItem:
    """A weight and its price: of a piece, or of a segment of a strip."""

    sku: str
    unit_price: Decimal | None = None
    label: str | None = None
    material: Material | None = None
    location: str | None = None


@dataclass(frozen=True, slots=True)
class LabourPrice:
    """What balancing one wheel costs; kind None: any wheel whose kind has no price of its own."""

    unit_price: Decimal
    kind: str | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True)
class DisposalPrice:
    """What getting rid of old weights of a material costs, by the piece or the kilogram."""

    material: Material
    unit_price: Decimal
    per: Literal["piece", "kg"] = "piece"
    label: str | None = None


@dataclass(frozen=True, slots=True)
class VehicleItem:
    """What is charged for the vehicle, whatever its wheels needed."""

    code: str
    unit_price: Decimal
    label: str | None = None
    quantity: int = 1


@dataclass(frozen=True, slots=True)
class PriceList:
    """All prices, in the job's currency."""

    items: Sequence[PricedItem] = ()
    labour: Sequence[LabourPrice] = ()
    disposal: Sequence[DisposalPrice] = ()
    per_vehicle: Sequence[VehicleItem] = ()


@dataclass(frozen=True, slots=True)
class RoundingRule:
    """Round each line, or once per tax rate on the total; a half goes up, or to the even neighbour."""

    where: Literal["line", "total"] = "line"
    how: Literal["half_up", "half_even"] = "half_up"


@dataclass(frozen=True, slots=True)
class TaxRate:
    """The tax rate_pct [%] on one kind of line."""

    kind: LineKind
    rate_pct: Decimal


@dataclass(frozen=True, slots=True)
class ChargesQuestion:
    """What does the job cost?

    currency is an ISO 4217 code; lead_ban names the law that bans lead where the vehicle is used, if any.
    """

    currency: str
    wheels: Sequence[JobWheel]
    price_list: PriceList
    rounding: RoundingRule = RoundingRule()
    tax_rates: Sequence[TaxRate] = ()
    prices_include_tax: bool = False
    lead_ban: str | None = None
    reference: str | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A line to post as it is; its id is the same for the same thing, however the job is listed.

    amount is net, or with tax where prices include it; tax is None where it is rounded on the total alone.
    """

    id: str
    kind: LineKind
    code: str | None
    label: str
    quantity: Decimal
    unit: Unit
    unit_price: Decimal
    amount: Decimal
    tax_rate_pct: Decimal | None
    tax: Decimal | None
    wheels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Taxed:
    """The sums of the lines with one tax rate; rate_pct None [%] is that of lines without."""

    rate_pct: Decimal | None
    net: Decimal
    tax: Decimal
    gross: Decimal


@dataclass(frozen=True, slots=True)
class Totals:
    """The sums over all rates; gross is to be paid."""

    net: Decimal
    tax: Decimal
    gross: Decimal


@dataclass(frozen=True, slots=True)
class Unpriced:
    """What has no price, and so is in no line and no total."""

    kind: LineKind
    code: str | None
    quantity: Decimal
    unit: Unit
    wheels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """So many pieces of so many segments, to be cut off a strip."""

    segments: int
    pieces: int


@dataclass(frozen=True, slots=True)
class Pick:
    """What to fetch of one sku, and how to cut it."""

    sku: str
    label: str | None
    pieces: int
    segments: int | None
    cuts: tuple[Cut, ...]
    wheels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Picking:
    """What to fetch from one place on the shelf."""

    location: str | None
    picks: tuple[Pick, ...]


@dataclass(frozen=True, slots=True)
class Recycled:
    """Old weights of one material: how many, the mass_g [g] of those weighed, and how many were not."""

    material: Material
    count: int
    mass_g: float
    unweighed: int


@dataclass(frozen=True, slots=True)
class Charges:
    """The invoice, the pick list and the tally for recycling."""

    currency: str
    minor_digits: int
    prices_include_tax: bool
    rounding: RoundingRule
    lines: tuple[Line, ...]
    taxes: tuple[Taxed, ...]
    totals: Totals
    unpriced: tuple[Unpriced, ...]
    pick_list: tuple[Picking, ...]
    recycling: tuple[Recycled, ...]
    warnings: tuple[Remark, ...]
    cautions: tuple[Remark, ...]
    reference: str | None
