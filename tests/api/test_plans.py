"""POST /v1/plans: whatever is planned is recomputed here from the answer alone."""

from __future__ import annotations

import cmath
import math
from decimal import Decimal
from typing import Any

import pytest
from flask.testing import FlaskClient

from tests.api.fixture_types import Ask, Example, Worked
from tests.detail import with_detail

Vectors = list[tuple[float, complex]]


def vector(size: float, angle_deg: float) -> complex:
    """Of that size and direction."""
    return cmath.rect(size, math.radians(angle_deg))


def bare_wheel(reading: dict[str, Any]) -> Vectors:
    """The unbalance of a reading that reports corrections, as vectors at positions."""
    called = reading["planes"] if reading["kind"] == "two_plane" else [reading["plane"]]
    return [(m["position_mm"], -vector(m["mass_g"] * m["radius_mm"], m["angle_deg"])) for m in called]


def sums(vectors: Vectors) -> tuple[complex, complex]:
    """Static vector and moment."""
    return sum(v for _, v in vectors), sum(v * z for z, v in vectors)


def all_layouts(answer: dict[str, Any]) -> list[dict[str, Any]]:
    """The recommended one and its alternatives."""
    return [layout for layout in (answer["recommended"], *answer["alternatives"]) if layout]


@pytest.fixture(params=["hidden", "own_stock", "steel_wheel"])
def planned(request: pytest.FixtureRequest, example: Example, ask: Ask) -> tuple[dict[str, Any], dict[str, Any]]:
    """An example's request and its answer, with full detail."""
    body = with_detail(example("planFitting", request.param), "full")
    return body, ask("/v1/plans", body).get_json()


def test_the_residual_is_that_of_the_pieces(planned: tuple[dict[str, Any], dict[str, Any]]) -> None:
    body, answer = planned
    for layout in all_layouts(answer):
        pieces = [(p["position_mm"], vector(p["effective_gmm"], p["angle_deg"])) for p in layout["pieces"]]
        static, moment = sums(bare_wheel(body["reading"]) + pieces)
        residual = layout["residual"]
        assert abs(static) == pytest.approx(residual["static_gmm"], abs=0.01)
        if body["reading"]["kind"] == "two_plane":
            a, b = body["reading"]["planes"]
            in_a = (moment - static * b["position_mm"]) / (a["position_mm"] - b["position_mm"])
            for plane, reported, left in zip((a, b), residual["planes"], (in_a, static - in_a), strict=True):
                expected = left / plane["radius_mm"]
                assert vector(reported["mass_g"], reported["angle_deg"]) == pytest.approx(expected, abs=1e-3)
            mean_radius = (a["radius_mm"] + b["radius_mm"]) / 2
            assert residual["static_g"] == pytest.approx(abs(static) / mean_radius, abs=1e-4)


def test_acceptance_is_kept_where_it_is_said_to_be(planned: tuple[dict[str, Any], dict[str, Any]]) -> None:
    _, answer = planned
    for layout in all_layouts(answer):
        judged = layout["residual"]["planes"] if answer["limits"]["planes"] else []
        within = layout["residual"]["static_g"] <= answer["acceptance"]["static_g"] + 1e-5 and all(
            plane["mass_g"] <= answer["acceptance"]["per_plane_g"] + 1e-5 for plane in judged
        )
        assert layout["within_acceptance"] == within
        assert 0 <= layout["pass_chance_pct"] <= 100


def test_the_required_weights_correct_the_wheel(planned: tuple[dict[str, Any], dict[str, Any]]) -> None:
    body, answer = planned
    fitted = [(r["position_mm"], vector(r["mass_g"] * r["radius_mm"], r["angle_deg"])) for r in answer["required"]]
    static, moment = sums(bare_wheel(body["reading"]) + fitted)
    assert abs(static) == pytest.approx(0, abs=0.01)
    if len(fitted) == 2:
        assert abs(moment) == pytest.approx(0, abs=1)


def test_totals_are_those_of_the_pieces(planned: tuple[dict[str, Any], dict[str, Any]]) -> None:
    body, answer = planned
    items = [item for kind in ("clip_ons", "strips") for item in body["stock"].get(kind, ())]
    prices = {item["sku"]: Decimal(item["unit_price"]) for item in items}
    for layout in all_layouts(answer):
        pieces = layout["pieces"]
        assert layout["total_mass_g"] == pytest.approx(sum(p["mass_g"] for p in pieces))
        assert layout["visible_pieces"] == sum(not p["hidden"] for p in pieces)
        if prices:
            assert Decimal(layout["price"]) == sum(prices[p["sku"]] * (p["segments"] or 1) for p in pieces)
        else:
            assert layout["price"] is None


def test_pieces_are_on_the_shelf(example: Example, ask: Ask) -> None:
    body = with_detail(example("planFitting", "own_stock"), "full")
    stock = {item["sku"]: item for kind in ("clip_ons", "strips") for item in body["stock"][kind]}
    layouts = all_layouts(ask("/v1/plans", body).get_json())
    assert layouts
    for layout in layouts:
        used: dict[str, int] = {}
        for piece in layout["pieces"]:
            item = stock[piece["sku"]]
            used[piece["sku"]] = used.get(piece["sku"], 0) + (piece["segments"] or 1)
            each = item.get("mass_g", item.get("segment_mass_g"))
            assert piece["mass_g"] == pytest.approx(each * (piece["segments"] or 1))
            assert (piece["material"], piece["location"]) == (item["material"], item["location"])
        assert all(count <= stock[sku]["on_hand"] for sku, count in used.items())


def test_keep_outs_are_kept_off(example: Example, ask: Ask) -> None:
    body = example("planFitting", "own_stock")
    body["wheel"]["keep_out"] = [{"place": "inner land", "from_deg": 100, "to_deg": 122, "reason": "weld"}]
    body["preferences"] = {"styles": ["adhesive"], "detail": "full"}
    pieces = [p for layout in all_layouts(ask("/v1/plans", body).get_json()) for p in layout["pieces"]]
    inside = [p for p in pieces if p["place"] == "inner land"]
    assert inside
    for piece in inside:
        off = abs((piece["angle_deg"] - 111 + 180) % 360 - 180)
        assert off >= 11 + piece["arc_deg"] / 2 - 1e-4


def test_clocks_and_angles_agree(planned: tuple[dict[str, Any], dict[str, Any]]) -> None:
    _, answer = planned
    for layout in all_layouts(answer):
        for piece in layout["pieces"]:
            hours, minutes = map(int, piece["clock"].split(":"))
            off = abs(((hours % 12) * 30 + minutes / 2 - piece["angle_deg"] + 180) % 360 - 180)
            assert off <= 0.26


def test_wishes_are_met_where_they_can_be(example: Example, ask: Ask) -> None:
    hidden = ask("/v1/plans", example("planFitting", "hidden")).get_json()["recommended"]
    assert hidden["visible_pieces"] == 0
    clean = ask("/v1/plans", example("planFitting", "own_stock")).get_json()["recommended"]
    assert "outboard_flange" not in {p["place"] for p in clean["pieces"]}
    body = example("planFitting", "hidden")
    body["preferences"] = {"styles": ["clip_on"]}
    assert {p["style"] for p in ask("/v1/plans", body).get_json()["recommended"]["pieces"]} == {"clip_on"}


def test_every_code_is_in_the_reference(worked: Worked, ask: Ask, client: FlaskClient) -> None:
    known = {row["code"]: row["use"] for row in client.get("/v1/reference").get_json()["guidance"]}
    path, _, _, body = worked

    def remarks(value: Any) -> list[dict[str, str]]:
        if isinstance(value, dict):
            own = [value] if value.keys() == {"code", "text", "values"} else []
            return own + [r for inner in value.values() for r in remarks(inner)]
        return [r for inner in value for r in remarks(inner)] if isinstance(value, list) else []

    found = remarks(ask(path, body).get_json())
    assert {r["code"] for r in found} <= known.keys()
    assert [r["text"] for r in found if "{" in r["text"]] == []


def test_repair_comes_first(example: Example, ask: Ask) -> None:
    answer = ask("/v1/plans", example("planFitting", "repair_first")).get_json()
    assert answer["decision"] == "repair_first"
    assert (answer["recommended"], answer["alternatives"], answer["required"]) == (None, [], [])
    assert {s["code"] for s in answer["next_steps"]} >= {"repair_sidewall_bulge", "repair_low_pressure"}


def test_an_empty_shelf_is_no_error(example: Example, ask: Ask) -> None:
    body = example("planFitting", "hidden") | {"stock": {"kind": "own"}}
    answer = ask("/v1/plans", body).get_json()
    assert (answer["decision"], answer["recommended"]) == ("none_possible", None)
    assert answer["ruled_out"]


def test_a_small_reading_is_already_within(example: Example, ask: Ask) -> None:
    body = example("planFitting", "hidden")
    for plane in body["reading"]["planes"]:
        plane["mass_g"] = 2
    answer = ask("/v1/plans", body).get_json()
    assert answer["decision"] == "already_within"
    assert [p["mass_g"] for p in answer["before"]["planes"]] == [2, 2]


def test_what_cannot_be_met_is_best_effort(example: Example, ask: Ask) -> None:
    body = example("planFitting", "own_stock")
    body["acceptance"] = {"kind": "masses", "per_plane_g": 0.001, "static_g": 0.001}
    answer = ask("/v1/plans", body).get_json()
    assert answer["decision"] == "best_effort"
    assert answer["recommended"]["within_acceptance"] is False
    assert answer["acceptance"] == body["acceptance"]


@pytest.mark.parametrize(
    ("correction", "code"), [("static", "static_looser_than_trade"), ("dynamic", "looser_than_trade")]
)
def test_a_limit_is_told_as_it_is_judged(correction: str, code: str, example: Example, ask: Ask) -> None:
    """By grade 10 g a plane may stay, 20 g of the static sum, where that alone is judged."""
    body = example("planFitting", "by_grade") | {"preferences": {"correction": correction}}
    answer = ask("/v1/plans", body).get_json()
    (told,) = [w["values"]["mass_g"] for w in answer["warnings"] if w["code"] == code]
    judged = answer["limits"]
    limits = [p["limit_g"] for p in judged["planes"]] or [judged["static_g"]]
    assert told == pytest.approx(max(limits), rel=0.03)
    assert (not judged["planes"]) is (correction == "static")


def test_what_was_used_is_echoed(example: Example, ask: Ask) -> None:
    answer = ask("/v1/plans", example("planFitting", "hidden")).get_json()
    assert answer["reference"] == "job 1047, front left"
    assert answer["acceptance"] == {"kind": "masses", "per_plane_g": 5, "static_g": 5}
    assert answer["spread"] == {
        "angle_sd_deg": 2,
        "clip_position_sd_mm": 0.5,
        "strip_position_sd_mm": 3,
        "mass_sd_pct": 2,
        "machine_sd_g": 0.7,
    }
    assert answer["effort"]["respin_min"] == 2
    assert answer["effort"]["tyre_turn_min"] == 8
    body = example("planFitting", "own_stock") | {"spread": {"machine_sd_g": 0}}
    answer = ask("/v1/plans", body).get_json()
    assert answer["spread"]["machine_sd_g"] == 0
    assert answer["reference"] is None


def test_ounces_have_their_own_acceptance(example: Example, ask: Ask) -> None:
    answer = ask("/v1/plans", example("planFitting", "steel_wheel")).get_json()
    assert answer["acceptance"]["static_g"] == pytest.approx(28.349523125 / 4, abs=1e-6)
