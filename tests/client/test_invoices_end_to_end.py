"""From a plan to its invoice, through the client and the real application."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from rimpoise import (
    Client,
    FittedItem,
    InvoiceRequest,
    JobWheel,
    LabourPrice,
    PricedItem,
    PriceList,
    RemovedWeight,
    RoundingPlace,
    RoundingRule,
    RoundingRuleInput,
    RoundingWay,
    RuleBroken,
    TaxRate,
)
from tests.client.invented import QUESTION, SHELF

PRICES = PriceList(
    items=[PricedItem(c.sku, c.unit_price) for c in SHELF.clip_ons or ()]
    + [PricedItem(s.sku, s.unit_price) for s in SHELF.strips or ()],
    labour=[LabourPrice(Decimal("9.75"))],
)


def test_a_plan_becomes_an_invoice(live: Client) -> None:
    best = live.plan(replace(QUESTION, stock=SHELF)).recommended
    assert best is not None
    assert best.price is not None
    wheels = [
        JobWheel("front left", pieces=best.pieces, removed=[RemovedWeight("lead", mass_g=40)]),
        JobWheel("front right", pieces=[FittedItem(p.sku, p.segments) for p in best.pieces]),
    ]
    tax = [TaxRate("weights", Decimal("7.7"))]
    charges = live.charges(InvoiceRequest("EUR", wheels, PRICES, RoundingRuleInput("total"), tax))
    weights = sum(line.amount for line in charges.lines if line.line_type == "weights")
    assert weights == 2 * best.price
    assert charges.totals.net == weights + 2 * Decimal("9.75")
    assert charges.totals.gross == charges.totals.net + (weights * Decimal("0.077")).quantize(Decimal("0.01"))
    assert [(r.material, r.count, r.mass_g) for r in charges.recycling] == [("lead", 1, 40.0)]
    assert {p.sku for place in charges.pick_list for p in place.picks} == {p.sku for p in best.pieces}
    assert charges.rounding == RoundingRule(RoundingPlace("total"), RoundingWay("half_up"))


def test_a_currency_that_is_none_is_a_broken_rule(live: Client) -> None:
    with pytest.raises(RuleBroken) as broken:
        live.charges(InvoiceRequest("XAU", [JobWheel("1")], PRICES))
    assert [fault.rule for fault in broken.value.errors] == ["currency_known"]
