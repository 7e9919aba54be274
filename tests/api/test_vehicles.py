"""Vehicles through HTTP: released with reasons, the invoice that follows, the sheet, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.api.fixture_types import Example

Ask = Callable[..., TestResponse]


def test_the_reasons_name_the_wheel(ask: Ask, example: Example) -> None:
    reported = ask("/v1/vehicles", example("finishVehicle", "front_axle")).get_json()
    assert reported["released"] is False
    assert [m["code"] for m in reported["reasons"]] == ["open_second_pass"]
    assert "Front right" in reported["reasons"][0]["text"]
    assert [w["verdict"] for w in reported["wheels"]] == ["released", "open"]
    assert reported["wheels"][0]["plan"]["decision"] == "fit"


def test_charges_take_the_wheels_as_they_are(ask: Ask, example: Example) -> None:
    wheels = ask("/v1/vehicles", example("finishVehicle", "front_axle")).get_json()["charges_wheels"]
    response = ask("/v1/charges", {"currency": "EUR", "wheels": wheels, "price_list": {}})
    assert response.status_code == 200, response.text
    fetched = {pick["sku"] for place in response.get_json()["pick_list"] for pick in place["picks"]}
    assert fetched == {p["sku"] for w in wheels for p in w["pieces"]}
    assert fetched


def test_a_place_that_no_wheel_has_is_refused(ask: Ask, example: Example) -> None:
    body = example("finishVehicle", "front_axle")
    body["wheels"][0]["position"] = "axle_0_left_single"
    response = ask("/v1/vehicles", body)
    assert response.status_code == 400
    assert response.get_json()["errors"][0]["pointer"] == "#/wheels/0/position"


def test_what_goes_to_the_invoice_is_called_as_in_the_plan(client: FlaskClient, example: Example) -> None:
    response = client.post(
        "/v1/vehicles", json=example("finishVehicle", "front_axle"), headers={"Accept-Language": "de"}
    )
    answer = response.get_json()
    planned = [p["label"] for p in answer["wheels"][0]["plan"]["recommended"]["pieces"]]
    assert [p["label"] for p in answer["charges_wheels"][0]["pieces"]] == planned
    assert planned[0].startswith("Standard-Schlaggewicht, ")


@pytest.mark.parametrize("name", ["front_axle", "spare"])
def test_the_sheet_has_every_wheel_and_what_is_open(ask: Ask, example: Example, name: str) -> None:
    body = example("printVehicle", name)
    body["wheels"][0]["fitted_by"] = "<b>A & B</b>"
    reported, page = ask("/v1/vehicles", body).get_json(), ask("/v1/vehicles/sheet", body)
    assert page.content_type == "text/html; charset=utf-8"
    for wheel in body["wheels"]:
        assert wheel["position"].replace("_", " ").capitalize() in page.text
    assert all(m["text"] in page.text for m in reported["reasons"])
    assert "50 to 100 km" in page.text
    assert "&lt;b&gt;A &amp; B" in page.text
    assert "<b>" not in page.text
    assert "<script" not in page.text


def test_the_sheet_says_what_a_wheel_judged_statically_was_judged_by(ask: Ask) -> None:
    """20 g a side with one lip: 40 g on it leave the couple, which a spin in two planes shows, and no more."""

    def reading(inner_deg: float) -> dict[str, Any]:
        places = (("inboard_flange", inner_deg), ("outboard_flange", 90))
        at = [{"kind": "at", "place": p, "mass_g": 20, "angle_deg": deg} for p, deg in places]
        return {"kind": "two_plane", "planes": at}

    flanges = {"inboard": {"thickness_mm": 3.2}, "outboard": {"present": False}}
    wheel = {"material": "alloy", "origin": "aftermarket", "vehicle_class": "car", "rim_size": "7Jx17 ET45"}
    plan = {
        "reading": reading(90),
        "wheel": wheel | {"flanges": flanges},
        "stock": {"kind": "builtin", "name": "metric"},
    }
    done = {"position": "front_left", "plan": plan, "torque": {"torque_nm": 120, "second_pass": True}}
    static = {"kind": "static", "plane": {"kind": "at", "place": "inboard_flange", "mass_g": 1, "angle_deg": 90}}
    for after, words in ((reading(270), "static 0 g, inner 20 g, outer 20 g"), (static, "static 1 g")):
        body = {"wheels": [done | {"check_spin": {"after": after}}]}
        assert ask("/v1/vehicles", body).get_json()["released"] is True
        page = ask("/v1/vehicles/sheet", body).text.replace("\u00a0", " ")
        assert "static 40 g, inner 20 g, outer 20 g" in page
        assert words in page
