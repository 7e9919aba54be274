"""POST /v1/corrections: cases small enough to be worked by hand."""

from __future__ import annotations

from typing import Any

import pytest

from tests.api.fixture_types import Ask


def mass(position_mm: float, mass_g: float, angle_deg: float, radius_mm: float = 100) -> dict[str, Any]:
    """A mass at a place."""
    return {"position_mm": position_mm, "radius_mm": radius_mm, "mass_g": mass_g, "angle_deg": angle_deg}


def plane(name: str, position_mm: float, radius_mm: float = 100) -> dict[str, Any]:
    """A plane."""
    return {"name": name, "position_mm": position_mm, "radius_mm": radius_mm}


def weights(ask: Ask, reading: dict[str, Any], *planes: dict[str, Any]) -> list[tuple[str, float, float]]:
    """Name, mass and angle of each correction."""
    response = ask("/v1/corrections", {"reading": reading, "planes": planes})
    assert response.status_code == 200, response.text
    return [(c["plane"], c["mass_g"], c["angle_deg"]) for c in response.get_json()["corrections"]]


def two_plane(*masses: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A two-plane reading."""
    return {"kind": "two_plane", "planes": [{"kind": "position", **m} for m in masses], **more}


def test_a_call_in_its_own_planes_is_itself(ask: Ask) -> None:
    reading = two_plane(mass(-60, 35, 120), mass(40, 20, 310))
    assert weights(ask, reading, plane("in", -60), plane("out", 40)) == [("in", 35, 120), ("out", 20, 310)]


def test_the_order_of_planes_is_the_requests(ask: Ask) -> None:
    reading = two_plane(mass(40, 20, 310), mass(-60, 35, 120))
    assert weights(ask, reading, plane("out", 40), plane("in", -60)) == [("out", 20, 310), ("in", 35, 120)]


def test_unbalance_is_corrected_opposite(ask: Ask) -> None:
    reading = two_plane(mass(-60, 35, 120), mass(40, 20, 310), reports="unbalance")
    assert weights(ask, reading, plane("in", -60), plane("out", 40)) == [("in", 35, 300), ("out", 20, 130)]


def test_another_radius_takes_another_mass(ask: Ask) -> None:
    reading = {"kind": "static", "plane": {"kind": "position", **mass(0, 30, 45, 200)}}
    assert weights(ask, reading, plane("a", 0, 150)) == [("a", 40, 45)]


def test_a_lever_shares_between_two_planes(ask: Ask) -> None:
    reading = two_plane(mass(0, 12, 90), mass(50, 0, 0))
    assert weights(ask, reading, plane("a", -50), plane("b", 100)) == [("a", 8, 90), ("b", 4, 90)]


def test_planes_to_one_side_oppose_each_other_and_warn(ask: Ask) -> None:
    body = {
        "reading": {"kind": "point_masses", "masses": [mass(0, 10, 0)]},
        "planes": [plane("near", 100), plane("far", 150)],
    }
    answer = ask("/v1/corrections", body).get_json()
    assert [(c["mass_g"], c["angle_deg"]) for c in answer["corrections"]] == [(30, 180), (20, 0)]
    assert answer["gain"] == 5
    assert [w["code"] for w in answer["warnings"]] == ["high_gain"]
    assert "5 times" in answer["warnings"][0]["text"]


def test_a_pure_couple_takes_two_opposite_weights(ask: Ask) -> None:
    reading = {
        "kind": "static_couple",
        "position_mm": 7,
        "static_gmm": 0,
        "static_angle_deg": 0,
        "couple_gmm2": 100_000,
        "couple_angle_deg": 90,
        "reports": "unbalance",
    }
    assert weights(ask, reading, plane("in", -50), plane("out", 50)) == [("in", 10, 90), ("out", 10, 270)]


def test_a_static_vector_acts_where_it_is_said_to(ask: Ask) -> None:
    reading = {
        "kind": "static_couple",
        "position_mm": 50,
        "static_gmm": 1000,
        "static_angle_deg": 200,
        "couple_gmm2": 0,
        "couple_angle_deg": 0,
    }
    assert weights(ask, reading, plane("in", -50), plane("out", 50)) == [("in", 0, 0), ("out", 10, 200)]


def test_one_plane_leaves_the_couple(ask: Ask) -> None:
    body = {
        "reading": two_plane(mass(-50, 10, 0), mass(50, 10, 180), reports="unbalance"),
        "planes": [plane("a", 0)],
    }
    answer = ask("/v1/corrections", body).get_json()
    assert answer["corrections"] == [{"plane": "a", "mass_g": 0, "angle_deg": 0, "unbalance_gmm": 0}]
    assert answer["residual"] == {
        "static_gmm": 0,
        "static_angle_deg": 0,
        "couple_gmm2": 100_000,
        "couple_angle_deg": 180,
    }
    assert [w["code"] for w in answer["warnings"]] == ["couple_stays"]


def test_an_old_weight_still_on_is_taken_off_by_computation(ask: Ask) -> None:
    reading = two_plane(mass(-50, 0, 0), mass(50, 0, 0), old_weights=[mass(-50, 20, 40)])
    assert weights(ask, reading, plane("in", -50), plane("out", 50)) == [("in", 20, 40), ("out", 0, 0)]


STATIC: dict[str, Any] = {"kind": "static", "plane": {"kind": "position", **mass(0, 10, 0)}}
OLD = {"old_weights": [mass(0, 4, 0)]}


@pytest.mark.parametrize(
    ("reading", "expected"),
    [
        ({**STATIC}, 10),
        ({**STATIC, "reports": "unbalance"}, -10),
        ({**STATIC, **OLD}, 14),
        ({**STATIC, **OLD, "reports": "unbalance"}, -6),
        ({"kind": "point_masses", "masses": [mass(0, 10, 0)]}, -10),
        ({"kind": "point_masses", "masses": [mass(0, 10, 0)], **OLD}, -6),
    ],
)
def test_every_kind_knows_what_it_reports_and_what_is_still_on(
    reading: dict[str, Any], expected: float, ask: Ask
) -> None:
    """10 g called or heavy at 0°, 4 g of it an old weight at 0°; expected [g], negative: at 180°."""
    assert weights(ask, reading, plane("a", 0)) == [("a", abs(expected), 0 if expected > 0 else 180)]


def test_nothing_read_is_nothing_to_fit(ask: Ask) -> None:
    body = {
        "reading": {"kind": "static", "plane": {"kind": "position", **mass(0, 0, 77)}},
        "planes": [plane("a", 5)],
    }
    answer = ask("/v1/corrections", body).get_json()
    assert answer["gain"] is None
    assert answer["corrections"] == [{"plane": "a", "mass_g": 0, "angle_deg": 0, "unbalance_gmm": 0}]


def test_angles_are_from_minus_180_to_under_360(ask: Ask) -> None:
    def at(angle: float) -> dict[str, Any]:
        return {"kind": "static", "plane": {"kind": "position", **mass(0, 10, angle)}}

    assert weights(ask, at(-180), plane("a", 0)) == [("a", 10, 180)]
    assert weights(ask, at(-68), plane("a", 0)) == [("a", 10, 292)]
    refused = ask("/v1/corrections", {"reading": at(360), "planes": [plane("a", 0)]})
    assert refused.get_json()["errors"] == [
        {
            "pointer": "#/reading/plane/angle_deg",
            "detail": "must be from -180 to under 360 deg, was 360",
            "rule": None,
            "code": "must_be_from_to_under",
            "values": {"low": -180, "high": 360, "unit": "deg", "was": "360"},
        }
    ]


@pytest.mark.parametrize("angle", [0, 1e-9, 359.9999999])
def test_angles_are_reported_below_360(angle: float, ask: Ask) -> None:
    ((_, _, reported),) = weights(
        ask, {"kind": "static", "plane": {"kind": "position", **mass(0, 10, angle)}}, plane("a", 0)
    )
    assert reported == 0


def test_the_largest_request_has_a_finite_answer(ask: Ask) -> None:
    heavy = [mass(10_000, 1_000_000, 0, 5_000), mass(-10_000, 1_000_000, 180, 5_000)]
    reading = {"kind": "point_masses", "masses": heavy * 32, "old_weights": heavy * 32}
    body = {"reading": reading, "planes": [plane("a", 9_999, 0.1), plane("b", 10_000, 0.1)]}
    response = ask("/v1/corrections", body)
    assert response.status_code == 200
    assert "inf" not in response.text.lower().replace("info", "")
