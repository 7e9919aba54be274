"""Vehicles through HTTP: released with reasons, the invoice that follows, the sheet, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from werkzeug.test import TestResponse

Ask = Callable[..., TestResponse]
Example = Callable[[str, str], Any]


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
