"""A bookkeeper who adds an invoice up again from the request alone.

The bookkeeper shares no code with the service: ``decimal`` and the request, line by line. ``request_of`` and
``as_sent`` stand in for the schemas, so that the function is tested without the API above it. All data invented.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, localcontext
from typing import Any

from rimpoise_service.workshop.invoice import Invoice
from rimpoise_service.workshop.invoice_models import (
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
from rimpoise_service.workshop.money import MoneyRounding

DIGITS = {"EUR": 2, "USD": 2, "JPY": 0, "KWD": 3, "CLF": 4}
"""ISO 4217, from memory."""

LARGEST_NET = 9999999999999 * 60 * 1000 * 64 * 32
"""What `factories.invoices.LARGEST` comes to, in ten-thousandths."""

WAYS = {"half_up": ROUND_HALF_UP, "half_even": ROUND_HALF_EVEN}


def request_of(body: dict[str, Any]) -> InvoiceRequest:
    """The request that a body asks, with amounts as exact decimals."""
    prices = body["price_list"]
    return InvoiceRequest(
        currency=body["currency"],
        wheels=tuple(
            JobWheel(
                wheel["name"],
                wheel.get("wheel_type"),
                tuple(ChargedPiece(**_untagged(piece)) for piece in wheel.get("pieces", ())),
                tuple(RemovedWeight(**old) for old in wheel.get("removed", ())),
            )
            for wheel in body["wheels"]
        ),
        price_list=PriceList(
            items=tuple(PricedItem(**_exact(row)) for row in prices.get("items", ())),
            labour=tuple(LabourPrice(**_exact(row)) for row in prices.get("labour", ())),
            disposal=tuple(DisposalPrice(**_exact(row)) for row in prices.get("disposal", ())),
            per_vehicle=tuple(VehicleItem(**_exact(row)) for row in prices.get("per_vehicle", ())),
        ),
        rounding=MoneyRounding(**body.get("rounding", {})),
        tax_rates=tuple(TaxRate(row["line_type"], Decimal(row["rate_pct"])) for row in body.get("tax_rates", ())),
        prices_include_tax=body.get("prices_include_tax", False),
        lead_ban=body.get("lead_ban"),
    )


def _exact(row: dict[str, Any]) -> dict[str, Any]:
    return row | ({"unit_price": Decimal(row["unit_price"])} if "unit_price" in row else {})


def as_sent(invoice: Invoice) -> dict[str, Any]:
    """The parts of an invoice that the bookkeeper reads, in the form in which the service sends them."""
    parts = asdict(invoice)
    return {
        name: _sendable(parts[name])
        for name in ("minor_digits", "lines", "taxes", "totals", "unpriced", "pick_list", "recycling")
    } | {name: [each.code for each in getattr(invoice, name)] for name in ("warnings", "cautions")}


def _sendable(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _sendable(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_sendable(inner) for inner in value]
    return format(value, "f") if isinstance(value, Decimal) else value


def _untagged(form: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in form.items() if name != "kind"}


def quantities(body: dict[str, Any]) -> dict[str, Decimal]:
    """What was used, by the id that its line should have, priced or not."""
    used: Counter[str] = Counter()
    kilograms: dict[str, Decimal] = {}
    prices = body["price_list"]
    labour = {row.get("wheel_type") for row in prices["labour"]}
    per = {row["material"]: row["per"] for row in prices["disposal"]}
    for wheel in body["wheels"]:
        for piece in wheel["pieces"]:
            used[f"weights:{piece['sku']}"] += piece.get("count", 1) * piece.get("segments", 1)
        kind = wheel.get("wheel_type")
        if labour:
            kind = None if kind not in labour and None in labour else kind
            used["labour" if kind is None else f"labour:{kind}"] += 1
        for old in wheel["removed"]:
            material, count = old["material"], old["count"]
            if per.get(material) == "piece":
                used[f"disposal:{material}"] += count
            elif per.get(material) == "kg" and "mass_g" in old:
                mass = Decimal(str(old["mass_g"])) * count / 1000
                kilograms[f"disposal:{material}"] = kilograms.get(f"disposal:{material}", Decimal(0)) + mass
    for row in prices["per_vehicle"]:
        used[f"per_vehicle:{row['code']}"] += row["quantity"]
    return {name: Decimal(n) for name, n in used.items()} | kilograms


def unit_prices(body: dict[str, Any]) -> dict[str, Decimal]:
    """Every price of the list, by the id that its line should have."""
    prices = body["price_list"]
    found = {f"weights:{row['sku']}": row["unit_price"] for row in prices["items"] if "unit_price" in row}
    found |= {
        f"labour:{row['wheel_type']}" if "wheel_type" in row else "labour": row["unit_price"]
        for row in prices["labour"]
    }
    found |= {f"disposal:{row['material']}": row["unit_price"] for row in prices["disposal"]}
    found |= {f"per_vehicle:{row['code']}": row["unit_price"] for row in prices["per_vehicle"]}
    return {name: Decimal(price) for name, price in found.items()}


def faults(body: dict[str, Any], answer: dict[str, Any]) -> list[str]:
    """Everything in an invoice that does not add up."""
    with localcontext() as context:
        context.prec = 80
        return [*_line_faults(body, answer), *_total_faults(body, answer)]


def _rounded(body: dict[str, Any], amount: Decimal) -> Decimal:
    return amount.quantize(Decimal(10) ** -DIGITS[body["currency"]], WAYS[body["rounding"]["how"]])


def _tax(body: dict[str, Any], amount: Decimal, rate: str | None) -> Decimal:
    percent = Decimal(rate or 0)
    exact = amount - amount / (1 + percent / 100) if body["prices_include_tax"] else amount * percent / 100
    # A non-terminating quotient is off in its 80th digit: look at it to the 60th, where ties are ties again.
    return _rounded(body, exact.quantize(Decimal("1e-60")))


def _line_faults(body: dict[str, Any], answer: dict[str, Any]) -> list[str]:
    used, price, rates = (
        quantities(body),
        unit_prices(body),
        {r["line_type"]: r["rate_pct"] for r in body["tax_rates"]},
    )
    found = []
    lines = {line["id"]: line for line in answer["lines"]}
    if len(lines) != len(answer["lines"]) or set(lines) != {name for name in used if name in price}:
        found.append(f"lines are {sorted(lines)}")
    for name, line in lines.items():
        amount = used[name] * price[name]
        on_line = body["rounding"]["where"] == "line"
        amount = _rounded(body, amount) if on_line else amount
        rate = rates.get(line["line_type"])
        expected = {
            "quantity": used[name],
            "unit_price": price[name],
            "amount": amount,
            "tax_rate_pct": rate if rate is None else Decimal(rate),
            "tax": _tax(body, amount, rate) if on_line else None,
        }
        reported = {key: None if line[key] is None else Decimal(line[key]) for key in expected}
        if reported != expected:
            found.append(f"{name}: {reported}, not {expected}")
    return found


def _total_faults(body: dict[str, Any], answer: dict[str, Any]) -> list[str]:
    found = []
    for row in answer["taxes"]:
        lines = [line for line in answer["lines"] if line["tax_rate_pct"] == row["rate_pct"]]
        amount = sum((Decimal(line["amount"]) for line in lines), Decimal(0))
        if body["rounding"]["where"] == "line":
            tax = sum((Decimal(line["tax"]) for line in lines), Decimal(0))
        else:
            tax, amount = _tax(body, amount, row["rate_pct"]), _rounded(body, amount)
        net, gross = (amount - tax, amount) if body["prices_include_tax"] else (amount, amount + tax)
        reported = tuple(Decimal(row[part]) for part in ("net", "tax", "gross"))
        if reported != (net, tax, gross):
            found.append(f"at {row['rate_pct']} %: {reported}, not {net, tax, gross}")
    if {row["rate_pct"] for row in answer["taxes"]} != {line["tax_rate_pct"] for line in answer["lines"]}:
        found.append("a tax rate is missing")
    for part in ("net", "tax", "gross"):
        total = sum((Decimal(row[part]) for row in answer["taxes"]), Decimal(0))
        if Decimal(answer["totals"][part]) != total:
            found.append(f"{part} is {answer['totals'][part]}, not {total}")
    return found
