"""What the job costs: invoice lines, totals, the pick list and the tally for recycling.

1. Weights are one line per sku over all wheels: pieces, or segments where the sku is a strip.
2. Labour is one line per kind of wheel; a wheel without a type, or of one without a price, takes the price
   that names no type. Disposal is one line per material, by piece or by kilogram. Items per vehicle follow.
3. What has no price is listed separately and left out of lines and totals: a line can be posted as it stands.
4. Lines come in the order of the price list and are named by what they charge, so that the same job has the
   same lines with the same ids however its wheels are listed.
5. Rounding on the line: amount and tax of each line, and totals are their sums. On the total: once per tax
   rate; lines then keep every decimal, and tax is given per rate only. Either way the amounts add up exactly.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Literal

from ..messages.message import Message, message
from .invoice_models import ChargedPiece, InvoiceRequest, JobWheel, LineType, PricedItem
from .money import EXACT, minor_digits, plain
from .pick_list import Picking, Recycled, pick_list, recycling

Unit = Literal["piece", "segment", "wheel", "kg", "vehicle"]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the invoice. label: the price list's, or ours as a message; amount is as priced.

    tax at tax_rate_pct [%], None if only the total has it.
    """

    id: str
    line_type: LineType
    code: str | None
    label: str | Message
    quantity: Decimal
    unit: Unit
    unit_price: Decimal
    amount: Decimal
    tax_rate_pct: Decimal | None
    tax: Decimal | None
    wheels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Taxed:
    """The sums of all lines with one tax rate_pct [%]; None is that of lines without."""

    rate_pct: Decimal | None
    net: Decimal
    tax: Decimal
    gross: Decimal


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums over all tax rates."""

    net: Decimal
    tax: Decimal
    gross: Decimal


@dataclass(frozen=True, slots=True)
class Unpriced:
    """What was fitted or done and has no price."""

    line_type: LineType
    code: str | None
    quantity: Decimal
    unit: Unit
    wheels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Invoice:
    """The invoice, and what goes with it."""

    request: InvoiceRequest
    minor_digits: int
    lines: tuple[Line, ...]
    taxes: tuple[Taxed, ...]
    totals: Totals
    unpriced: tuple[Unpriced, ...]
    pick_list: tuple[Picking, ...]
    recycling: tuple[Recycled, ...]
    warnings: tuple[Message, ...]
    cautions: tuple[Message, ...]


@dataclass(frozen=True, slots=True)
class Due:
    """Something to charge, before it is priced; price None where the list has none."""

    line_type: LineType
    code: str | None
    label: str | Message
    quantity: Decimal
    unit: Unit
    price: Decimal | None
    wheels: tuple[str, ...]


def make_invoice(request: InvoiceRequest) -> Invoice:
    """The invoice of a job. Raises ValueError for a currency without a minor unit."""
    digits = minor_digits(request.currency)
    if digits is None:
        raise ValueError(f"{request.currency} has no minor unit in ISO 4217")
    with localcontext(EXACT):
        tally = recycling(request)
        due = [*_weights(request), *_labour(request), *_disposal(request, tally), *_per_vehicle(request)]
        lines = tuple(_line(d, d.price, request, digits) for d in due if d.price is not None)
        taxes = _taxes(lines, request, digits)
        zero = Decimal(0).scaleb(-digits)
        sums = (sum((getattr(t, part) for t in taxes), zero) for part in ("net", "tax", "gross"))
        return Invoice(
            request=request,
            minor_digits=digits,
            lines=lines,
            taxes=taxes,
            totals=Totals(*sums),
            unpriced=tuple(
                Unpriced(d.line_type, d.code, d.quantity, d.unit, d.wheels) for d in due if d.price is None
            ),
            pick_list=pick_list(request),
            recycling=tally,
            warnings=(*_missing(request, due, tally), *_untaxed(request, lines), *_banned(request)),
            cautions=_cautions(request),
        )


def _weights(request: InvoiceRequest) -> Iterator[Due]:
    """One per sku: the list's order first, then what it lacks, by sku."""
    fitted: dict[str, list[tuple[JobWheel, ChargedPiece]]] = {}
    for wheel in request.wheels:
        for piece in wheel.pieces:
            fitted.setdefault(piece.sku, []).append((wheel, piece))
    listed = {item.sku: item for item in request.price_list.items}
    for sku in [*(s for s in listed if s in fitted), *sorted(fitted.keys() - listed.keys())]:
        pieces = [piece for _, piece in fitted[sku]]
        item = listed.get(sku, PricedItem(sku))
        yield Due(
            line_type="weights",
            code=sku,
            label=item.label or next((p.label for p in pieces if p.label), sku),
            quantity=Decimal(sum(p.quantity for p in pieces)),
            unit="piece" if pieces[0].segments is None else "segment",
            price=item.unit_price,
            wheels=_names(wheel for wheel, _ in fitted[sku]),
        )


def _labour(request: InvoiceRequest) -> Iterator[Due]:
    """One per type of wheel with a price; without any labour prices labour is not charged."""
    prices = {p.wheel_type: p for p in request.price_list.labour}
    by_type: dict[str | None, list[JobWheel]] = {}
    for wheel in request.wheels if prices else ():
        takes_any = wheel.wheel_type not in prices and None in prices
        by_type.setdefault(None if takes_any else wheel.wheel_type, []).append(wheel)
    unpriced = sorted(by_type.keys() - prices.keys(), key=lambda name: (name is None, name))
    for wheel_type in [*(k for k in prices if k in by_type), *unpriced]:
        price = prices.get(wheel_type)
        label = message("balancing_line", wheel_type=wheel_type)
        yield Due(
            line_type="labour",
            code=wheel_type,
            label=price.label if price and price.label else label,
            quantity=Decimal(len(by_type[wheel_type])),
            unit="wheel",
            price=price.unit_price if price else None,
            wheels=_names(by_type[wheel_type]),
        )


def _disposal(request: InvoiceRequest, tally: Sequence[Recycled]) -> Iterator[Due]:
    """One per material with a price; disposal of the other materials is free."""
    by_material = {r.material: r for r in tally}
    for price in request.price_list.disposal:
        old = by_material.get(price.material)
        quantity = Decimal(0) if old is None else old.mass_g / 1000 if price.per == "kg" else Decimal(old.count)
        if quantity:
            yield Due(
                line_type="disposal",
                code=price.material,
                label=price.label or message("disposal_line", material=price.material),
                quantity=quantity,
                unit=price.per,
                price=price.unit_price,
                wheels=_names(w for w in request.wheels if any(r.material == price.material for r in w.removed)),
            )


def _per_vehicle(request: InvoiceRequest) -> Iterator[Due]:
    for item in request.price_list.per_vehicle:
        label, quantity = item.label or item.code, Decimal(item.quantity)
        yield Due("per_vehicle", item.code, label, quantity, "vehicle", item.unit_price, ())


def _names(wheels: Iterable[JobWheel]) -> tuple[str, ...]:
    """Each name once, sorted: the same however the job lists its wheels."""
    return tuple(sorted({wheel.name for wheel in wheels}))


def _line(due: Due, price: Decimal, request: InvoiceRequest, digits: int) -> Line:
    rates = {r.line_type: r.rate_pct for r in request.tax_rates}
    rate, amount = rates.get(due.line_type), due.quantity * price
    on_line = request.rounding.where == "line"
    amount = request.rounding.money(amount, digits) if on_line else plain(amount, digits)
    return Line(
        id=due.line_type if due.code is None else f"{due.line_type}:{due.code}",
        line_type=due.line_type,
        code=due.code,
        label=due.label,
        quantity=plain(due.quantity, 0),
        unit=due.unit,
        unit_price=plain(price, digits),
        amount=amount,
        tax_rate_pct=rate,
        tax=_tax(amount, rate, request, digits) if on_line else None,
        wheels=due.wheels,
    )


def _tax(amount: Decimal, rate_pct: Decimal | None, request: InvoiceRequest, digits: int) -> Decimal:
    """The tax on, or in, an amount, rounded."""
    rate = rate_pct or Decimal(0)
    tax = amount * rate / (100 + rate) if request.prices_include_tax else amount * rate / 100
    return request.rounding.money(tax, digits)


def _taxes(lines: Sequence[Line], request: InvoiceRequest, digits: int) -> tuple[Taxed, ...]:
    """The lines summed by rate, untaxed ones last."""
    rates = {line.tax_rate_pct for line in lines}
    in_order = sorted((r for r in rates if r is not None), reverse=True) + [None] * (None in rates)
    return tuple(_taxed(rate, [x for x in lines if x.tax_rate_pct == rate], request, digits) for rate in in_order)


def _taxed(rate: Decimal | None, lines: Sequence[Line], request: InvoiceRequest, digits: int) -> Taxed:
    exact = sum((line.amount for line in lines), Decimal(0))
    amount = request.rounding.money(exact, digits)  # of rounded lines it changes nothing
    on_lines = [line.tax for line in lines if line.tax is not None]
    tax = sum(on_lines, Decimal(0)) if on_lines else _tax(exact, rate, request, digits)
    if request.prices_include_tax:
        return Taxed(rate, amount - tax, tax, amount)
    return Taxed(rate, amount, tax, amount + tax)


def _missing(request: InvoiceRequest, due: Sequence[Due], tally: Sequence[Recycled]) -> Iterator[Message]:
    """What has no price, and what can't be charged by mass because it was not weighed."""
    listed = {item.sku for item in request.price_list.items}
    for d in due:
        if d.price is None:
            yield _without_price(d, listed=d.code in listed)
    by_mass = {p.material for p in request.price_list.disposal if p.per == "kg"}
    for old in tally:
        if old.unweighed and old.material in by_mass:
            yield message("unweighed", material=old.material, count=old.unweighed)


def _without_price(due: Due, *, listed: bool) -> Message:
    """What is due and has no price: weights by piece or segment, labour by wheel."""
    item, count = due.code or "without_type", int(due.quantity)
    if due.line_type == "labour":
        return message("no_labour_price", item=item, quantity=due.quantity, unit=due.unit, wheels=count)
    pieces, segments = (None, count) if due.unit == "segment" else (count, None)
    code = "no_price" if listed else "not_listed"
    return message(code, item=item, quantity=due.quantity, unit=due.unit, pieces=pieces, segments=segments)


def _untaxed(request: InvoiceRequest, lines: Sequence[Line]) -> Iterator[Message]:
    """The types of line that were charged without tax although others have a rate."""
    bare = tuple(dict.fromkeys(line.line_type for line in lines if line.tax_rate_pct is None))
    if request.tax_rates and bare:
        yield message("no_tax_rate", line_types=bare)


def _banned(request: InvoiceRequest) -> Iterator[Message]:
    if request.lead_ban is not None:
        for sku in sorted(_lead_skus(request)):
            yield message("lead_under_ban", sku=sku, law=request.lead_ban)


def _cautions(request: InvoiceRequest) -> tuple[Message, ...]:
    handled = _lead_skus(request) or any(r.material == "lead" for w in request.wheels for r in w.removed)
    return (message("lead_handling"),) if handled else ()


def _lead_skus(request: InvoiceRequest) -> set[str]:
    """The skus fitted that are of lead, as the piece states it, or else the price list."""
    listed = {item.sku: item.material for item in request.price_list.items}
    pieces = [p for wheel in request.wheels for p in wheel.pieces]
    return {p.sku for p in pieces if (p.material or listed.get(p.sku)) == "lead"}
