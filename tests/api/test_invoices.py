"""POST /v1/charges: invoices as they are sent, added up again by a bookkeeper of our own."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.api.fixture_types import Ask, Conforms, Example
from tests.factories.invoices import LARGEST, random_job
from tests.workshop.bookkeeper import LARGEST_NET, faults, quantities, unit_prices


@pytest.fixture(scope="session")
def charged(ask: Ask) -> Callable[[Any], Any]:
    """The answer to a job."""

    def of(body: Any) -> Any:
        response = ask("/v1/charges", body)
        assert response.status_code == 200, response.text
        return response.get_json()

    return of


def test_invoices_add_up_as_they_are_sent(charged: Callable[[Any], Any]) -> None:
    """The function's own tests take five hundred jobs; here it is the JSON that is read."""
    for seed in range(40):
        body = random_job(seed)
        assert faults(body, charged(body)) == [], seed


def test_what_comes_off_and_what_is_picked_is_sent(charged: Callable[[Any], Any]) -> None:
    body = random_job(5)
    answer = charged(body)
    off = [old for wheel in body["wheels"] for old in wheel["removed"]]
    for row in answer["recycling"]:
        alike = [old for old in off if old["material"] == row["material"]]
        assert row["count"] == sum(old["count"] for old in alike)
        assert row["mass_g"] == pytest.approx(sum(old["count"] * old.get("mass_g", 0) for old in alike))
    picked = {pick["sku"] for place in answer["pick_list"] for pick in place["picks"]}
    assert picked == {piece["sku"] for wheel in body["wheels"] for piece in wheel["pieces"]}
    lost = {f"{row['line_type']}:{row['code']}" if row["code"] else row["line_type"] for row in answer["unpriced"]}
    assert lost == quantities(body).keys() - unit_prices(body).keys()


def test_a_plan_is_charged_just_as_it_was_reported(
    example: Example, ask: Ask, charged: Callable[[Any], Any], conforms: Conforms
) -> None:
    for name in ("hidden", "own_stock", "steel_wheel"):
        requested = example("planFitting", name)
        plan = ask("/v1/plans", requested).get_json()
        pieces = plan["recommended"]["pieces"]
        prices = {
            item["sku"]: item.get("unit_price", "1")
            for kind in ("clip_ons", "strips")
            for item in requested["stock"].get(kind, [])
        }
        items = [{"sku": sku, "unit_price": prices.get(sku, "1")} for sku in sorted({p["sku"] for p in pieces})]
        wheels = [{"name": "front left", "pieces": pieces}]
        body = {"currency": "EUR", "wheels": wheels, "price_list": {"items": items}}
        assert conforms("InvoiceRequest", body)
        answer = charged(body)
        assert answer["warnings"] == []
        if plan["recommended"]["price"] is not None:
            assert Decimal(answer["totals"]["gross"]) == Decimal(plan["recommended"]["price"])
        places = {p["location"] for p in pieces}
        assert {place["location"] for place in answer["pick_list"]} == places


def test_lead_under_a_ban_is_warned_of_in_words(charged: Callable[[Any], Any]) -> None:
    body = {
        "currency": "EUR",
        "wheels": [{"name": "1", "pieces": [{"kind": "item", "sku": "L-1", "material": "lead"}]}],
        "price_list": {"items": [{"sku": "L-1", "unit_price": "1"}]},
        "lead_ban": "EU 2000/53/EC",
    }
    (warning,) = charged(body)["warnings"]
    assert warning["code"] == "lead_under_ban"
    assert "L-1 is lead, banned by EU 2000/53/EC" in warning["text"]


def test_no_digit_is_lost_in_the_largest_amounts(charged: Callable[[Any], Any]) -> None:
    totals = charged(LARGEST)["totals"]
    assert Decimal(totals["net"]) == Decimal(LARGEST_NET).scaleb(-4)
    tax, rest = divmod(LARGEST_NET * 9999999, 1000000)
    assert Decimal(totals["tax"]) == Decimal(tax + (rest >= 500000)).scaleb(-4)


def test_lines_that_the_list_does_not_name_are_in_the_language(client: FlaskClient) -> None:
    """Our own labels and the word for what was counted; the shop's own labels stay as they are."""
    body = {
        "currency": "EUR",
        "wheels": [{"name": "1", "wheel_type": "SUV", "removed": [{"material": "lead", "mass_g": 30}]}],
        "price_list": {
            "labour": [{"wheel_type": "SUV", "unit_price": "9"}],
            "disposal": [{"material": "lead", "unit_price": "2", "per": "piece"}],
            "per_vehicle": [{"code": "env", "label": "Umwelt", "unit_price": "1.5"}],
        },
    }
    said = {
        language: [line["label"] for line in _posted(client, body, language)["lines"]]
        for language in ("en-GB", "de", "es")
    }
    assert said == {
        "en-GB": ["wheel balancing, SUV", "disposal of old weights, lead", "Umwelt"],
        "de": ["Auswuchten, SUV", "Entsorgung alter Gewichte, Blei", "Umwelt"],
        "es": ["equilibrado de rueda, SUV", "eliminación de contrapesos viejos, plomo", "Umwelt"],
    }


def test_a_missing_price_names_the_unit_in_the_language(client: FlaskClient) -> None:
    body = {
        "currency": "EUR",
        "wheels": [
            {
                "name": name,
                "pieces": [{"kind": "item", "sku": "C-1"}, {"kind": "item", "sku": "S-1", "segments": 1}],
            }
            for name in ("1", "2")
        ],
        "price_list": {"items": [{"sku": "S-1"}], "labour": [{"unit_price": "9", "wheel_type": "SUV"}]},
    }
    assert [warning["text"] for warning in _posted(client, body, "de")["warnings"]] == [
        "S-1: kein Preis in der Liste; 2 Segmente nicht berechnet.",
        "C-1: nicht in der Preisliste; 2 Stück nicht berechnet.",
        "ohne Art: kein Arbeitspreis für diese Radart; 2 Räder nicht berechnet.",
    ]


def test_what_is_charged_without_tax_is_named_in_the_language(client: FlaskClient) -> None:
    body = {
        "currency": "EUR",
        "wheels": [{"name": "1"}],
        "price_list": {
            "labour": [{"unit_price": "9"}],
            "per_vehicle": [{"code": "env", "unit_price": "1.5"}],
        },
        "tax_rates": [{"line_type": "weights", "rate_pct": "19"}],
    }
    said = {language: _posted(client, body, language)["warnings"][0]["text"] for language in ("en-US", "de")}
    assert said["en-US"].startswith("No tax rate for labor and charges per vehicle: charged without tax.")
    assert said["de"].startswith("Kein Steuersatz für Arbeit und Posten je Fahrzeug:")


def _posted(client: FlaskClient, body: Any, language: str) -> Any:
    response = client.post("/v1/charges", json=body, headers={"Accept-Language": language})
    assert response.status_code == 200, response.text
    return response.get_json()
