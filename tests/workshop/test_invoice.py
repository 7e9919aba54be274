"""Invoices added up again by a bookkeeper of our own, and how their lines behave."""

from __future__ import annotations

import random
from collections import Counter
from copy import deepcopy
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.workshop.invoice import make_invoice
from tests.factories.invoices import LARGEST, random_job
from tests.workshop.bookkeeper import DIGITS, LARGEST_NET, as_sent, faults, quantities, request_of, unit_prices

JOBS = 500

seeds = st.integers(0, 10**9)


def charged(body: dict[str, Any]) -> dict[str, Any]:
    """The invoice of a body."""
    return as_sent(make_invoice(request_of(body)))


def test_five_hundred_invoices_add_up() -> None:
    seen: Counter[str] = Counter()
    for seed in range(JOBS):
        body = random_job(seed)
        invoice = charged(body)
        assert faults(body, invoice) == [], seed
        seen.update([body["rounding"]["where"], body["rounding"]["how"], body["currency"]])
        seen.update(line["line_type"] for line in invoice["lines"])
        seen.update(invoice["warnings"])
    wanted = {"line", "total", "half_up", "half_even", *DIGITS, "weights", "labour", "disposal", "per_vehicle"}
    wanted |= {"no_price", "not_listed", "no_labour_price", "unweighed", "no_tax_rate"}
    assert {name for name in wanted if seen[name] < 20} == set(), "else the jobs were too tame"


def test_the_bookkeeper_notices_a_minor_unit() -> None:
    body = random_job(3)
    invoice = {"lines": [], "taxes": [], "totals": {"net": "0", "tax": "0", "gross": "0.01"}}
    assert any("gross" in fault for fault in faults(body, invoice))


@given(seeds)
def test_every_amount_has_the_minor_units_of_its_currency(seed: int) -> None:
    body = random_job(seed)
    invoice = charged(body)
    digits = DIGITS[body["currency"]]
    assert invoice["minor_digits"] == digits
    amounts = [
        *invoice["totals"].values(),
        *(row[part] for row in invoice["taxes"] for part in ("net", "tax", "gross")),
    ]
    amounts += [line["amount"] for line in invoice["lines"] if body["rounding"]["where"] == "line"]
    assert {len(amount.partition(".")[2]) for amount in amounts} <= {digits}


@given(seeds)
def test_lines_do_not_depend_on_how_the_job_is_listed(seed: int) -> None:
    body = random_job(seed)
    other = deepcopy(body)
    random.Random(seed).shuffle(other["wheels"])
    for wheel in other["wheels"]:
        random.Random(seed).shuffle(wheel["pieces"])
    assert charged(other) == charged(body)


@given(seeds)
def test_two_jobs_in_one_charge_what_both_charge(seed: int) -> None:
    body = random_job(seed) | {"rounding": {"where": "total", "how": "half_up"}, "tax_rates": []}
    both = deepcopy(body)
    both["wheels"] += [w | {"name": f"spare {w['name']}"} for w in body["wheels"]]
    once, twice = (
        {line["id"]: Decimal(line["amount"]) for line in charged(b)["lines"] if line["line_type"] != "per_vehicle"}
        for b in (body, both)
    )
    assert twice == {name: 2 * amount for name, amount in once.items()}


@given(seeds)
def test_what_has_no_price_is_listed_and_in_no_line(seed: int) -> None:
    body = random_job(seed)
    unpriced = charged(body)["unpriced"]
    named = {
        f"{row['line_type']}:{row['code']}" if row["code"] else row["line_type"]: row["quantity"]
        for row in unpriced
    }
    used = quantities(body)
    assert named.keys() == used.keys() - unit_prices(body).keys()
    assert {name: Decimal(n) for name, n in named.items()} == {name: used[name] for name in named}


def test_what_has_no_price_is_counted_in_segments_where_it_is_cut() -> None:
    """A message has one of both counts, so that it can be said in either unit."""
    pieces = [{"kind": "item", "sku": "CLIP"}, {"kind": "item", "sku": "STRIP", "segments": 3}]
    body = {"currency": "EUR", "wheels": [{"name": "1", "pieces": pieces}], "price_list": {}}
    said = {dict(m.values)["item"]: dict(m.values) for m in make_invoice(request_of(body)).warnings}
    counts = {item: (said[item].get("pieces"), said[item].get("segments")) for item in ("CLIP", "STRIP")}
    assert counts == {"CLIP": (1, None), "STRIP": (None, 3)}


def test_a_line_is_named_by_the_price_list_else_by_the_piece() -> None:
    pieces = [{"sku": "A", "label": "from the piece"}, {"sku": "B", "label": "from the piece"}, {"sku": "C"}]
    items = [{"sku": sku, "unit_price": "1"} for sku in "BAC"]
    items[0]["label"] = "from the list"
    body = {
        "currency": "EUR",
        "wheels": [
            {"name": "1", "wheel_type": "alloy", "pieces": pieces, "removed": [{"material": "lead", "mass_g": 30}]}
        ],
        "price_list": {
            "items": items,
            "labour": [{"unit_price": "9"}],
            "disposal": [{"material": "lead", "unit_price": "2", "per": "kg", "label": "old lead"}],
            "per_vehicle": [{"code": "env", "unit_price": "1.5"}],
        },
    }
    lines = charged(body)["lines"]
    assert [line["id"] for line in lines] == [
        *("weights:B", "weights:A", "weights:C"),
        *("labour", "disposal:lead", "per_vehicle:env"),
    ]
    assert [line["label"] for line in lines] == [
        *("from the list", "from the piece", "C"),
        *({"code": "balancing_line", "values": {}}, "old lead", "env"),
    ]
    assert lines[4]["quantity"] == "0.03"


@pytest.mark.parametrize(
    ("rates", "bare"),
    [
        ({}, None),
        ({"weights": "19"}, ("labour", "per_vehicle")),
        ({"weights": "19", "labour": "0", "per_vehicle": "7"}, None),
        ({"disposal": "19"}, ("weights", "labour", "per_vehicle")),
    ],
)
def test_a_type_of_line_without_tax_beside_others_is_warned_of(rates: dict[str, str], bare: Any) -> None:
    """Nobody who states no rate at all has forgotten one, and a rate of 0 is one."""
    body = {
        "currency": "EUR",
        "wheels": [{"name": "1", "pieces": [{"sku": "A"}]}, {"name": "2", "pieces": [{"sku": "B"}]}],
        "price_list": {
            "items": [{"sku": sku, "unit_price": "1"} for sku in "AB"],
            "labour": [{"unit_price": "9"}],
            "per_vehicle": [{"code": "env", "unit_price": "2"}],
        },
        "tax_rates": [{"line_type": name, "rate_pct": rate} for name, rate in rates.items()],
    }
    said = [(m.code, m.values) for m in make_invoice(request_of(body)).warnings]
    assert said == ([("no_tax_rate", {"line_types": bare})] if bare else [])


LEAD = {"sku": "L-1", "material": "lead"}


@pytest.mark.parametrize(
    ("piece", "item", "ban", "warned"),
    [
        (LEAD, {}, "EU 2000/53/EC", True),
        ({"sku": "L-1"}, {"material": "lead"}, "EU 2000/53/EC", True),
        ({"sku": "L-1", "material": "zinc"}, {"material": "lead"}, "EU 2000/53/EC", False),
        (LEAD, {}, None, False),
    ],
)
def test_lead_under_a_ban_is_warned_of(piece: Any, item: Any, ban: str | None, warned: bool) -> None:
    items = [{"sku": "L-1", "unit_price": "1"} | item]
    body = {"currency": "EUR", "wheels": [{"name": "1", "pieces": [piece]}], "price_list": {"items": items}}
    invoice = make_invoice(request_of(body | ({"lead_ban": ban} if ban else {})))
    assert [w.code for w in invoice.warnings] == (["lead_under_ban"] if warned else [])
    if warned:
        assert invoice.warnings[0].values == {"sku": "L-1", "law": ban}
    handled = piece.get("material") == "lead" or "material" not in piece
    assert [c.code for c in invoice.cautions] == (["lead_handling"] if handled else [])


def test_lead_that_came_off_is_handled_with_care() -> None:
    wheels = [{"name": "1", "removed": [{"material": "lead", "count": 2}]}]
    assert charged({"currency": "EUR", "wheels": wheels, "price_list": {}})["cautions"] == ["lead_handling"]


def test_no_digit_is_lost_in_the_largest_amounts() -> None:
    totals = charged(LARGEST)["totals"]
    assert Decimal(totals["net"]) == Decimal(LARGEST_NET).scaleb(-4)
    tax, rest = divmod(LARGEST_NET * 9999999, 1000000)
    assert Decimal(totals["tax"]) == Decimal(tax + (rest >= 500000)).scaleb(-4)


@pytest.mark.parametrize("currency", ["XAU", "ABC"])
def test_a_currency_without_a_minor_unit_raises(currency: str) -> None:
    body = {"currency": currency, "wheels": [{"name": "1"}], "price_list": {}}
    with pytest.raises(ValueError, match=f"{currency} has no minor unit"):
        make_invoice(request_of(body))


def test_quantities_and_empty_totals_are_written_as_they_are() -> None:
    """Two pieces are "2"; nothing charged is still reported in the minor unit."""
    wheels = [{"name": "1", "pieces": [{"sku": "A"}, {"sku": "A"}]}]
    body = {"currency": "EUR", "wheels": wheels, "price_list": {"items": [{"sku": "A", "unit_price": "1.50"}]}}
    (line,) = make_invoice(request_of(body)).lines
    assert (str(line.quantity), str(line.unit_price), str(line.amount)) == ("2", "1.50", "3.00")
    nothing = make_invoice(request_of(body | {"price_list": {}})).totals
    assert [str(amount) for amount in (nothing.net, nothing.tax, nothing.gross)] == ["0.00"] * 3


def test_disposal_names_the_wheels_that_the_material_came_off() -> None:
    wheels = [
        {"name": "1", "removed": [{"material": "lead", "count": 2}]},
        {"name": "2", "removed": [{"material": "zinc", "count": 1}, {"material": "lead", "count": 1}]},
        {"name": "3", "removed": [{"material": "steel", "count": 1}]},
        {"name": "4"},
    ]
    prices = [{"material": m, "unit_price": "1", "per": "piece"} for m in ("lead", "zinc")]
    body = {"currency": "EUR", "wheels": wheels, "price_list": {"disposal": prices}}
    reported = {line.code: (line.wheels, str(line.quantity)) for line in make_invoice(request_of(body)).lines}
    assert reported == {"lead": (("1", "2"), "3"), "zinc": (("2",), "1")}
