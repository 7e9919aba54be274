"""POST /v1/style-choices, and GET /v1/reference, whose stock can be sent back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

Ask = Callable[[str, object], TestResponse]
Example = Callable[[str, str], Any]


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
    name: str, example: Example, ask: Ask, client: FlaskClient, conforms: Callable[[str, object], bool]
) -> None:
    stock = client.get("/v1/reference").get_json()["stock"][name]
    assert conforms("OwnStockInput", stock)
    body = example("chooseStyles", "alloy")
    built_in = ask("/v1/style-choices", body | {"stock": {"kind": "builtin", "name": name}}).get_json()
    assert ask("/v1/style-choices", body | {"stock": stock}).get_json() == built_in


def test_the_reference_has_sources_for_all(client: FlaskClient) -> None:
    tables = client.get("/v1/reference").get_json()
    for name in ("stock", "rim_diameters", "flange_heights", "defaults"):
        assert tables[name]["source"]
    assert all(row["source"] for row in (*tables["guidance"], *tables["marks"]))
    marks = {row["mark"]: row["value"] for row in tables["marks"]}
    assert (marks["plane_share_least"], marks["plane_share_largest"]) == (0.3, 0.7)  # ISO 21940-11, from memory
    assert (marks["condition_doubtful"], marks["condition_ill"]) == (10, 20)
    diameters = {row["code"]: row["diameter_mm"] for row in tables["rim_diameters"]["values"]}
    assert (diameters[16], diameters[17]) == (405.6, 436.6)  # ISO 4000-2 Table 4
    assert {row["contour"]: row["height_mm"] for row in tables["flange_heights"]["values"]}["J"] == 17.5
    statuses = {400, 401, 404, 405, 406, 408, 413, 414, 415, 417, 422, 429, 431, 500, 501, 502, 503, 504}
    assert {row["status"] for row in tables["problems"]} == statuses


def test_health(client: FlaskClient) -> None:
    assert client.get("/healthz").get_json()["status"] == "ok"
