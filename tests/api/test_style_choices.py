"""POST /v1/style-choices."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from tests.api.fixture_types import Ask, Conforms, Example


def test_a_clean_face_comes_first_where_it_can(example: Example, ask: Ask) -> None:
    choices = ask("/v1/style-choices", example("chooseStyles", "alloy")).get_json()["choices"]
    assert len(choices) > 1
    assert "outboard_flange" not in {p["place"] for p in choices[0]["places"]}


def test_an_unmeasured_flange_is_a_next_step(example: Example, ask: Ask) -> None:
    answer = ask("/v1/style-choices", example("chooseStyles", "unknown_flange")).get_json()
    assert "inboard_flange" not in {p["place"] for c in answer["choices"] for p in c["places"]}
    assert answer["next_steps"]
    assert answer["ruled_out"]
    assert answer["cautions"]
    assert answer["warnings"] == []


def test_only_what_fits_is_offered(example: Example, ask: Ask) -> None:
    body = example("chooseStyles", "alloy")
    for side in ("inboard", "outboard"):
        body["wheel"]["flanges"][side]["thickness_mm"] = 5
    answer = ask("/v1/style-choices", body).get_json()
    skus = {s for c in answer["choices"] for p in c["places"] if p["style"] == "clip_on" for s in p["skus"]}
    assert skus
    assert all(sku.startswith("CLIP-ALLOY-WIDE") for sku in skus)


@pytest.mark.parametrize("name", ["metric", "ounce"])
def test_the_built_in_stock_can_be_sent_back(
    name: str, example: Example, ask: Ask, client: FlaskClient, conforms: Conforms
) -> None:
    stock = client.get("/v1/reference").get_json()["stock"][name]
    assert conforms("OwnStockInput", stock)
    body = example("chooseStyles", "alloy")
    built_in = ask("/v1/style-choices", body | {"stock": {"kind": "builtin", "name": name}}).get_json()
    assert ask("/v1/style-choices", body | {"stock": stock}).get_json() == built_in
