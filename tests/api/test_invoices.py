"""POST /v1/charges: invoices added up again by a bookkeeper of our own, and the lists that go with them."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from copy import deepcopy
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from tests.workshop.invoices import DIGITS, MATERIALS, faults, quantities, random_job, unit_prices

Ask = Callable[[str, object], TestResponse]
Example = Callable[[str, str], Any]
JOBS = 500

seeds = st.integers(0, 10**9)


@pytest.fixture(scope="session")
def charged(ask: Ask) -> Callable[[Any], Any]:
    """The answer to a job."""

    def of(body: Any) -> Any:
        response = ask("/v1/charges", body)
        assert response.status_code == 200, response.text
        return response.get_json()

    return of


def test_five_hundred_invoices_add_up(charged: Callable[[Any], Any]) -> None:
    seen: Counter[str] = Counter()
    for seed in range(JOBS):
        body = random_job(seed)
        answer = charged(body)
        assert faults(body, answer) == [], seed
        seen.update([body["rounding"]["where"], body["rounding"]["how"], body["currency"]])
        seen.update(line["kind"] for line in answer["lines"])
        seen.update(w["code"] for w in answer["warnings"])
    wanted = {"line", "total", "half_up", "half_even", *DIGITS, "weights", "labour", "disposal", "per_vehicle"}
    wanted |= {"no_price", "not_listed", "no_labour_price", "unweighed"}
    assert {name for name in wanted if seen[name] < 20} == set(), "else the jobs were too tame"


def test_the_bookkeeper_notices_a_minor_unit() -> None:
    body = random_job(3)
    answer = {"lines": [], "taxes": [], "totals": {"net": "0", "tax": "0", "gross": "0.01"}}
    assert any("gross" in fault for fault in faults(body, answer))


@given(seeds)
def test_every_amount_has_the_minor_units_of_its_currency(charged: Callable[[Any], Any], seed: int) -> None:
    body = random_job(seed)
    answer = charged(body)
    digits = DIGITS[body["currency"]]
    assert answer["minor_digits"] == digits
    told = [
        *answer["totals"].values(),
        *(row[part] for row in answer["taxes"] for part in ("net", "tax", "gross")),
    ]
    told += [line["amount"] for line in answer["lines"] if body["rounding"]["where"] == "line"]
    assert {len(amount.partition(".")[2]) for amount in told} <= {digits}


@given(seeds)
def test_lines_do_not_depend_on_how_the_job_is_listed(charged: Callable[[Any], Any], seed: int) -> None:
    body = random_job(seed)
    other = deepcopy(body)
    random.Random(seed).shuffle(other["wheels"])
    for wheel in other["wheels"]:
        random.Random(seed).shuffle(wheel["pieces"])
    assert charged(other) == charged(body)


@given(seeds)
def test_two_jobs_in_one_charge_what_both_charge(charged: Callable[[Any], Any], seed: int) -> None:
    body = random_job(seed) | {"rounding": {"where": "total", "how": "half_up"}, "tax_rates": []}
    both = deepcopy(body)
    both["wheels"] += [w | {"name": f"spare {w['name']}"} for w in body["wheels"]]
    once, twice = (
        {line["id"]: Decimal(line["amount"]) for line in charged(b)["lines"] if line["kind"] != "per_vehicle"}
        for b in (body, both)
    )
    assert twice == {name: 2 * amount for name, amount in once.items()}


@given(seeds)
def test_nothing_used_is_lost(charged: Callable[[Any], Any], seed: int) -> None:
    body = random_job(seed)
    answer = charged(body)
    lost = {f"{row['kind']}:{row['code']}" if row["code"] else row["kind"] for row in answer["unpriced"]}
    assert lost == quantities(body).keys() - unit_prices(body).keys()
    picked: Counter[str] = Counter()
    for place in answer["pick_list"]:
        for pick in place["picks"]:
            picked[pick["sku"]] += pick["segments"] or pick["pieces"]
            if pick["segments"]:
                assert sum(c["segments"] * c["pieces"] for c in pick["cuts"]) == pick["segments"]
                assert sum(c["pieces"] for c in pick["cuts"]) == pick["pieces"]
    weights = {name: int(n) for name, n in quantities(body).items() if name.startswith("weights:")}
    assert {f"weights:{sku}": n for sku, n in picked.items()} == weights


@given(seeds)
def test_the_tally_counts_all_that_came_off(charged: Callable[[Any], Any], seed: int) -> None:
    body = random_job(seed)
    off = [old for wheel in body["wheels"] for old in wheel["removed"]]
    tally = {row["material"]: row for row in charged(body)["recycling"]}
    assert [m for m in MATERIALS if m in tally] == list(tally)
    assert tally.keys() == {old["material"] for old in off}
    for material, row in tally.items():
        alike = [old for old in off if old["material"] == material]
        assert row["count"] == sum(old["count"] for old in alike)
        assert row["mass_g"] == pytest.approx(sum(old["count"] * old.get("mass_g", 0) for old in alike))
        assert row["unweighed"] == sum(old["count"] for old in alike if "mass_g" not in old)


def test_a_plan_is_charged_just_as_it_was_told(
    example: Example, ask: Ask, charged: Callable[[Any], Any], conforms: Callable[[str, object], bool]
) -> None:
    for name in ("hidden", "own_stock", "steel_wheel"):
        asked = example("planFitting", name)
        plan = ask("/v1/plans", asked).get_json()
        pieces = plan["recommended"]["pieces"]
        prices = {
            item["sku"]: item.get("unit_price", "1")
            for kind in ("clip_ons", "strips")
            for item in asked["stock"].get(kind, [])
        }
        items = [{"sku": sku, "unit_price": prices.get(sku, "1")} for sku in sorted({p["sku"] for p in pieces})]
        wheels = [{"name": "front left", "pieces": pieces}]
        body = {"currency": "EUR", "wheels": wheels, "price_list": {"items": items}}
        assert conforms("ChargesRequest", body)
        answer = charged(body)
        assert answer["warnings"] == []
        if plan["recommended"]["price"] is not None:
            assert Decimal(answer["totals"]["gross"]) == Decimal(plan["recommended"]["price"])
        places = {p["location"] for p in pieces}
        assert {place["location"] for place in answer["pick_list"]} == places


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
def test_lead_under_a_ban_is_warned_of(
    piece: Any, item: Any, ban: str | None, warned: bool, charged: Callable[[Any], Any]
) -> None:
    items = [{"sku": "L-1", "unit_price": "1"} | item]
    body = {"currency": "EUR", "wheels": [{"name": "1", "pieces": [piece]}], "price_list": {"items": items}}
    answer = charged(body | ({"lead_ban": ban} if ban else {}))
    assert [w["code"] for w in answer["warnings"]] == (["lead_under_ban"] if warned else [])
    if warned:
        assert "L-1 is lead, and lead is banned by EU 2000/53/EC" in answer["warnings"][0]["text"]
    handled = piece.get("material") == "lead" or "material" not in piece
    assert [c["code"] for c in answer["cautions"]] == (["lead_handling"] if handled else [])


def test_no_digit_is_lost_in_the_largest_amounts(charged: Callable[[Any], Any]) -> None:
    pieces = [{"sku": "S", "segments": 60, "count": 1000}] * 64
    body = {
        "currency": "CLF",
        "wheels": [{"name": str(n), "pieces": pieces} for n in range(32)],
        "price_list": {"items": [{"sku": "S", "unit_price": "999999999.9999"}]},
        "tax_rates": [{"kind": "weights", "rate_pct": "999.9999"}],
    }
    totals = charged(body)["totals"]
    net = 9999999999999 * 60 * 1000 * 64 * 32  # in ten-thousandths
    assert Decimal(totals["net"]) == Decimal(net).scaleb(-4)
    tax, rest = divmod(net * 9999999, 1000000)
    assert Decimal(totals["tax"]) == Decimal(tax + (rest >= 500000)).scaleb(-4)
