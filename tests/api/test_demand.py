"""POST /v1/demand: counted again here from single plans."""

from __future__ import annotations

from collections import Counter
from copy import deepcopy
from decimal import Decimal
from typing import Any

import pytest

from tests.api.fixture_types import Ask, Example


def plans_of(ask: Ask, plans: list[Any], stock: Any, acceptances: list[Any]) -> list[Any]:
    """The single plans with a stock, or each with its own, to the limits that it had with its own."""
    reported = []
    for plan, acceptance in zip(plans, acceptances, strict=True):
        body = deepcopy(plan) | ({"stock": stock, "acceptance": acceptance} if stock else {})
        reported.append(ask("/v1/plans", body).get_json())
    return reported


def recount(outcome: dict[str, Any], plans: list[Any]) -> None:
    """Hold an outcome against the plans that it should be of."""
    layouts = [plan["recommended"] for plan in plans if plan["recommended"]]
    pieces = [piece for layout in layouts for piece in layout["pieces"]]
    assert outcome["wheels"] == len(plans)
    assert outcome["fitted"] == len(layouts)
    assert {d["decision"]: d["wheels"] for d in outcome["decisions"]} == Counter(p["decision"] for p in plans)
    assert outcome["within_acceptance"] == sum(p["decision"] in ("fit", "already_within") for p in plans)
    means = {
        "mean_static_g": [layout["residual"]["static_g"] for layout in layouts],
        "mean_largest_residual_g": [layout["largest_residual_g"] for layout in layouts],
        "mean_pass_chance_pct": [layout["pass_chance_pct"] for layout in layouts],
        "mean_pieces": [len(layout["pieces"]) for layout in layouts],
        "mean_mass_g": [layout["total_mass_g"] for layout in layouts],
    }
    for name, values in means.items():
        assert outcome[name] == (pytest.approx(sum(values) / len(values), abs=0.01) if values else None)
    priced = [Decimal(layout["price"]) for layout in layouts if layout["price"] is not None]
    assert Decimal(outcome["price"]) == sum(priced)
    assert outcome["unpriced"] == len(layouts) - len(priced)
    assert {u["sku"]: u["pieces"] for u in outcome["skus"]} == Counter(p["sku"] for p in pieces)
    for use in outcome["skus"]:
        segments = [p["segments"] for p in pieces if p["sku"] == use["sku"]]
        assert use["segments"] == (None if segments[0] is None else sum(segments))
        assert use["wheels"] == sum(any(p["sku"] == use["sku"] for p in layout["pieces"]) for layout in layouts)
    assert {(u["style"], u["mass_g"]): u["pieces"] for u in outcome["masses"]} == Counter(
        (p["style"], p["mass_g"]) for p in pieces
    )


@pytest.mark.slow
def test_outcomes_are_those_of_the_single_plans(example: Example, ask: Ask) -> None:
    body = example("forecastDemand", "fine_strip")
    light = deepcopy(body["plans"][0])
    for plane in light["reading"]["planes"]:
        plane["mass_g"] = 1
    body["plans"] += [light, example("planFitting", "steel_wheel"), example("planFitting", "repair_first")]
    answer = ask("/v1/demand", body).get_json()
    own = plans_of(ask, body["plans"], None, [None] * len(body["plans"]))
    limits = [plan["acceptance"] for plan in own]
    stocks = [None, *(shelf["stock"] for shelf in body["shelves"])]
    assert [o["shelf"] for o in answer["outcomes"]] == ["as asked", "with 2.5 g", "2.5 g alone"]
    for outcome, stock in zip(answer["outcomes"], stocks, strict=True):
        recount(outcome, own if stock is None else plans_of(ask, body["plans"], stock, limits))
    assert answer["skipped"] == []


def test_bad_plans_are_skipped_and_reported(example: Example, ask: Ask) -> None:
    good = example("planFitting", "hidden")
    bad = deepcopy(good)
    bad["inspection"] = ["none", "worn_out"]
    answer = ask("/v1/demand", {"plans": [good, {}, bad, good, None]}).get_json()
    assert answer["outcomes"][0]["wheels"] == 2
    assert [(s["index"], s["problem"]["status"]) for s in answer["skipped"]] == [(1, 400), (2, 422), (4, 400)]
    assert answer["skipped"][1]["problem"]["errors"][0]["pointer"] == "#/inspection/0"


def test_nothing_sound_has_no_means(ask: Ask) -> None:
    (outcome,) = ask("/v1/demand", {"plans": [3]}).get_json()["outcomes"]
    recount(outcome, [])
    assert outcome["mean_static_g"] is None


@pytest.mark.parametrize(("count", "status"), [(0, 400), (1, 200), (200, 200), (201, 400)])
def test_how_many(count: int, status: int, ask: Ask) -> None:
    assert ask("/v1/demand", {"plans": [{}] * count}).status_code == status
