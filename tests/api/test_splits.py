"""POST /v1/splits: what the strips do is summed up segment by segment, mass point by mass point."""

from __future__ import annotations

import cmath
import math
from typing import Any

import pytest

from tests.api.fixture_types import Ask, Example

POINTS = 2000


def effect_gmm(piece: dict[str, Any], strip: dict[str, Any], land_radius_mm: float) -> complex:
    """A strip as many points on its arc, at the radius of its middle thickness."""
    radius = land_radius_mm - strip["thickness_mm"] / 2
    arc = math.radians(piece["segments"] * strip["segment_length_mm"] / land_radius_mm * 180 / math.pi)
    start = math.radians(piece["angle_deg"]) - arc / 2
    point = piece["segments"] * strip["segment_mass_g"] * radius / POINTS
    return sum((point * cmath.exp(1j * (start + arc * (i + 0.5) / POINTS)) for i in range(POINTS)), 0j)


@pytest.mark.parametrize("name", ["even_spokes", "windows"])
@pytest.mark.parametrize("max_pieces", [1, 2, 3, 4])
def test_the_strips_leave_what_is_said(name: str, max_pieces: int, example: Example, ask: Ask) -> None:
    body = example("splitBehindSpokes", name) | {"max_pieces": max_pieces}
    answer = ask("/v1/splits", body).get_json()
    assert len(answer["pieces"]) <= max_pieces
    target = body["target"]
    land = body.get("land_radius_mm", target["radius_mm"])
    fitted = sum(effect_gmm(piece, body["strip"], land) for piece in answer["pieces"])
    left = fitted - cmath.rect(target["mass_g"] * target["radius_mm"], math.radians(target["angle_deg"]))
    reported = answer["residual"]
    assert abs(left) == pytest.approx(reported["unbalance_gmm"], abs=0.01)
    assert abs(left) / target["radius_mm"] == pytest.approx(reported["mass_g"], abs=1e-4)
    assert cmath.rect(abs(left), math.radians(reported["angle_deg"])) == pytest.approx(left, abs=0.01)
    assert answer["proven_optimal"] is True


def test_more_strips_never_leave_more(example: Example, ask: Ask) -> None:
    body = example("splitBehindSpokes", "even_spokes") | {"within_g": 0}
    answers = [ask("/v1/splits", body | {"max_pieces": n}).get_json() for n in (1, 2, 3, 4)]
    left = [answer["residual"]["unbalance_gmm"] for answer in answers]
    assert left == sorted(left, reverse=True)


@pytest.mark.parametrize(("within_g", "segments"), [(None, [1, 1]), (2, [1, 1]), (11, []), (0, [3, 2])])
def test_the_fewest_strips_that_leave_no_more(
    within_g: float | None, segments: list[int], example: Example, ask: Ask
) -> None:
    """10 g half way between two spokes: 5 g behind each, not 25 g for the sake of half a gram."""
    body = example("splitBehindSpokes", "near_enough")
    del body["within_g"]
    answer = ask("/v1/splits", body if within_g is None else body | {"within_g": within_g}).get_json()
    assert sorted((p["segments"] for p in answer["pieces"]), reverse=True) == segments
    assert answer["proven_optimal"] is True
    if within_g != 0:
        assert answer["residual"]["mass_g"] <= (within_g or 2)


@pytest.mark.parametrize("within_g", [-0.1, 100.1, "2", True])
def test_what_may_be_left_is_a_mass_up_to_100_g(within_g: object, example: Example, ask: Ask) -> None:
    response = ask("/v1/splits", example("splitBehindSpokes", "even_spokes") | {"within_g": within_g})
    assert response.status_code == 400
    (error,) = response.get_json()["errors"]
    assert error["pointer"] == "#/within_g"


def test_strips_stay_behind_their_spokes_and_off_the_keep_outs(example: Example, ask: Ask) -> None:
    body = example("splitBehindSpokes", "windows") | {"max_pieces": 4}
    spokes = {w["name"]: w for w in body["spokes"]["windows"]}
    pieces = ask("/v1/splits", body).get_json()["pieces"]
    assert pieces
    for piece in pieces:
        spoke = spokes[piece["window"]]
        off = abs((piece["angle_deg"] - spoke["centre_deg"] + 180) % 360 - 180)
        assert off + piece["arc_deg"] / 2 <= spoke["width_deg"] / 2 + 1e-5
        (keep_out,) = body["keep_out"]
        middle, half = 178.5, 6.5
        assert (keep_out["from_deg"], keep_out["to_deg"]) == (middle - half, middle + half)
        assert abs(piece["angle_deg"] - middle) >= half + piece["arc_deg"] / 2 - 1e-5
        assert piece["length_mm"] == pytest.approx(piece["segments"] * body["strip"]["segment_length_mm"])


def test_the_ideal_weights_make_up_the_target(example: Example, ask: Ask) -> None:
    body = example("splitBehindSpokes", "even_spokes")
    ideal = ask("/v1/splits", body).get_json()["ideal"]
    assert [i["window"] for i in ideal] == ["1", "2"]
    made = sum(cmath.rect(i["mass_g"], math.radians(44 + 72 * (int(i["window"]) - 1))) for i in ideal)
    assert made == pytest.approx(cmath.rect(60, math.radians(80)), abs=1e-4)


def test_nothing_called_takes_no_strip(example: Example, ask: Ask) -> None:
    body = example("splitBehindSpokes", "even_spokes")
    body["target"]["mass_g"] = 0
    answer = ask("/v1/splits", body).get_json()
    assert answer["pieces"] == []
    assert answer["residual"] == {"unbalance_gmm": 0, "mass_g": 0, "angle_deg": 0}


@pytest.mark.parametrize("on_hand", [0, 1, 5])
def test_no_more_segments_than_there_are(on_hand: int, example: Example, ask: Ask) -> None:
    body = example("splitBehindSpokes", "even_spokes")
    body["strip"]["on_hand"] = on_hand
    pieces = ask("/v1/splits", body).get_json()["pieces"]
    assert sum(p["segments"] for p in pieces) == on_hand


def test_a_keep_out_all_round_leaves_no_room(example: Example, ask: Ask) -> None:
    body = example("splitBehindSpokes", "even_spokes")
    body["keep_out"] = [{"from_deg": 0, "to_deg": 360, "reason": "damage"}]
    answer = ask("/v1/splits", body).get_json()
    assert answer["pieces"] == []
    assert answer["residual"]["mass_g"] == 60
    assert answer["residual"]["angle_deg"] == 260
