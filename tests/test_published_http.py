"""The cited cases once more, sent as JSON and read back as JSON: nothing is lost or turned over on the way."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from rimpoise_service.api.app import create_app
from tests.cited import Case, cases

ROUNDED = 1e-6
"""Answers are rounded to the sixth decimal or finer."""


@pytest.fixture(scope="module")
def client() -> FlaskClient:
    return create_app().test_client()


def answer(client: FlaskClient, path: str, body: dict[str, Any]) -> dict[str, Any]:
    response = client.post(path, json=body)
    assert response.status_code == 200, response.text
    reported: dict[str, Any] = response.get_json()
    return reported


@pytest.mark.parametrize("case", cases("corrections"), ids=str)
def test_corrections(case: Case, client: FlaskClient) -> None:
    reported = answer(client, "/v1/corrections", case.inputs)
    assert len(reported["corrections"]) == len(case.expected["corrections"])
    for ours, theirs in zip(reported["corrections"], case.expected["corrections"], strict=True):
        assert ours["plane"] == theirs["plane"]
        tolerance = case.tolerance["mass_rel"]
        assert ours["mass_g"] == pytest.approx(theirs["mass_g"], rel=tolerance, abs=ROUNDED)
        turned = abs((ours["angle_deg"] - theirs["angle_deg"] + 180) % 360 - 180)
        assert turned <= case.tolerance["angle_deg"] + ROUNDED
    assert reported["residual"]["static_gmm"] == pytest.approx(0, abs=ROUNDED)


@pytest.mark.parametrize("case", cases("ideals"), ids=str)
def test_ideal_weights(case: Case, client: FlaskClient) -> None:
    given = case.inputs
    middle = given["angle_deg"]
    windows = [
        {"name": name, "centre_deg": centre % 360, "width_deg": 20}
        for name, centre in (("before", middle - given["before_deg"]), ("after", middle + given["after_deg"]))
    ]
    body = {
        "target": {"mass_g": given["mass_g"], "angle_deg": middle, "radius_mm": 190},
        "spokes": {"kind": "windows", "windows": windows},
        "strip": {
            "sku": "strip",
            "material": "steel",
            "segment_mass_g": 5,
            "segment_length_mm": 16,
            "width_mm": 19,
            "thickness_mm": 3.6,
            "max_segments": 12,
        },
    }
    reported = {ideal["window"]: ideal["mass_g"] for ideal in answer(client, "/v1/splits", body)["ideal"]}
    tolerance = case.tolerance["rel"]
    expected = {"before": case.expected["before_g"], "after": case.expected["after_g"]}
    assert reported == pytest.approx(expected, rel=tolerance, abs=ROUNDED)


@pytest.mark.parametrize("case", cases("arcs"), ids=str)
def test_a_strip_acts_as_its_arc_says(case: Case, client: FlaskClient) -> None:
    """One segment as long as the arc, centred in its window: what is left is what it lacks."""
    given = case.inputs
    if given["length_mm"] > 1000:  # longer than any strip
        return
    thickness, radius = 2.0, given["radius_mm"]
    body = {
        "target": {"mass_g": given["mass_g"], "angle_deg": 75, "radius_mm": radius - thickness / 2},
        "land_radius_mm": radius,
        "spokes": {"kind": "windows", "windows": [{"name": "1", "centre_deg": 75, "width_deg": 200}]},
        "strip": {
            "sku": "strip",
            "material": "steel",
            "segment_mass_g": given["mass_g"],
            "segment_length_mm": given["length_mm"],
            "width_mm": 19,
            "thickness_mm": thickness,
            "max_segments": 1,
        },
        "max_pieces": 1,
    }
    reported = answer(client, "/v1/splits", body)
    assert [p["angle_deg"] for p in reported["pieces"]] == [75]
    lacking = given["mass_g"] - case.expected["acts_as_g"]
    assert reported["residual"]["mass_g"] == pytest.approx(lacking, rel=1e-4, abs=1e-4)
    assert reported["residual"]["angle_deg"] == pytest.approx(255)
