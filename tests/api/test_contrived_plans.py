"""Valid requests that nobody would send: limits of a millionth of a gram beside hundreds, and the like."""

from __future__ import annotations

from typing import Any

import pytest

from tests.api.fixture_types import Ask, Example

TENTHS_OF_MILLIGRAMS = {"kind": "grade", "grade": "G0.1", "assembly_mass_kg": 6, "speed_rpm": 200_000}
"""e·ω of 0.1 mm/s at 200,000 1/min: 0.03 g·mm for 6 kg, 0.13 thousandths of a gram at the rim."""

MILLIGRAMS = {"kind": "masses", "per_plane_g": 0.001, "static_g": 0.001}


def called(*masses_g: float) -> dict[str, Any]:
    """So much in each plane."""
    planes = [
        {"kind": "position", "position_mm": z, "radius_mm": 218.3, "mass_g": m, "angle_deg": a}
        for z, m, a in zip((-133.9, 43.9), masses_g, (112.0, 287.5), strict=True)
    ]
    return {"kind": "two_plane", "planes": planes, "reports": "correction"}


@pytest.mark.parametrize(
    ("acceptance", "masses_g", "machine_sd_g"),
    [
        (TENTHS_OF_MILLIGRAMS, (38.0, 22.0), 0),
        pytest.param(TENTHS_OF_MILLIGRAMS, (38.0, 22.0), 0.7, marks=pytest.mark.slow),
        pytest.param(TENTHS_OF_MILLIGRAMS, (400.0, 400.0), 0, marks=pytest.mark.slow),
        pytest.param(TENTHS_OF_MILLIGRAMS, (7.5, 0.0), 0, marks=pytest.mark.slow),
        pytest.param(MILLIGRAMS, (38.0, 22.0), 0, marks=pytest.mark.slow),
        (MILLIGRAMS, (490.0, 1e-3), 0.7),
        ({"kind": "masses", "per_plane_g": 0.001, "static_g": 10_000}, (400.0, 400.0), 0),
    ],
)
def test_limits_far_below_the_weights(
    acceptance: dict[str, Any], masses_g: tuple[float, float], machine_sd_g: float, example: Example, ask: Ask
) -> None:
    body = example("planFitting", "own_stock") | {"reading": called(*masses_g), "acceptance": acceptance}
    body["spread"] = {"machine_sd_g": machine_sd_g}
    response = ask("/v1/plans", body)
    assert response.status_code == 200, response.get_json()
    assert not [word for word in ("NaN", "Infinity") if word in response.get_data(as_text=True)]
    assert response.get_json()["decision"] != "already_within"


@pytest.mark.parametrize(("requested", "said"), [(1, False), (2, False), (3, True), (4, True)])
def test_more_pieces_than_a_flange_takes(requested: int, said: bool, example: Example, ask: Ask) -> None:
    """A flange takes two clip-ons: to allow more changes nothing there, and that is said."""
    body = example("planFitting", "own_stock") | {"preferences": {"max_pieces_per_plane": requested}}
    codes = [warning["code"] for warning in ask("/v1/plans", body).get_json()["warnings"]]
    assert ("two_clip_ons_at_most" in codes) == said


def test_where_no_clip_on_goes_nothing_is_said_of_them(example: Example, ask: Ask) -> None:
    wanted = {"max_pieces_per_plane": 4, "styles": ["adhesive"]}
    answer = ask("/v1/plans", example("planFitting", "own_stock") | {"preferences": wanted}).get_json()
    assert "two_clip_ons_at_most" not in [warning["code"] for warning in answer["warnings"]]
