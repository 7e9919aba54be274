"""POST /v1/roundings: by hand, and for any request what is left is recomputed."""

from __future__ import annotations

import cmath
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.api.fixture_types import Ask, Conforms


def target(plane: str, mass_g: float, angle_deg: float = 0, position_mm: float = 0) -> dict[str, Any]:
    """An exact correction at a radius of 200 mm."""
    at = {"plane": plane, "position_mm": position_mm, "radius_mm": 200}
    return at | {"mass_g": mass_g, "angle_deg": angle_deg}


@pytest.mark.parametrize(("exact", "weight", "left", "side"), [(23, 20, 3, 180), (28, 30, 2, 0), (4, 0, 4, 180)])
def test_the_nearest_mass_or_none(exact: float, weight: float, left: float, side: float, ask: Ask) -> None:
    answer = ask("/v1/roundings", {"targets": [target("a", exact)], "masses_g": [10, 20, 30]}).get_json()
    assert answer["weights"] == [{"plane": "a", "mass_g": weight, "angle_deg": 0}]
    assert answer["residual"]["planes"] == [{"plane": "a", "mass_g": left, "angle_deg": side}]
    assert answer["residual"]["static_gmm"] == left * 200


def test_steps_are_the_multiples_up_to_the_largest(ask: Ask) -> None:
    body = {"targets": [target("a", 100)], "step_g": 0.1, "max_mass_g": 0.3}
    assert ask("/v1/roundings", body).get_json()["weights"][0]["mass_g"] == 0.3


def test_static_first_weighs_the_planes_together(ask: Ask) -> None:
    targets = [target("in", 17, 0, -50), target("out", 17, 180, 50)]
    body = {"targets": targets, "step_g": 5, "max_mass_g": 60}
    nearest = ask("/v1/roundings", body).get_json()
    assert [w["mass_g"] for w in nearest["weights"]] == [15, 15]
    targets[1]["mass_g"] = 18
    assert ask("/v1/roundings", body).get_json()["residual"]["static_gmm"] == pytest.approx(4 * 200)
    together = ask("/v1/roundings", body | {"aim": "static_first"}).get_json()
    assert together["residual"]["static_gmm"] == pytest.approx(200)


@st.composite
def requests(draw: st.DrawFn) -> dict[str, Any]:
    """Any request that breaks no rule."""
    number = st.floats(0.01, 300)
    targets = [
        {
            "plane": name,
            "position_mm": draw(st.floats(*(-500.0, -1.0) if name == "a" else (1.0, 500.0))),
            "radius_mm": draw(st.floats(50, 500)),
            "mass_g": draw(number),
            "angle_deg": draw(st.floats(0, 360, exclude_max=True)),
        }
        for name in draw(st.sampled_from([["a"], ["a", "b"]]))
    ]
    steps = st.builds(
        lambda s, n: {"step_g": s, "max_mass_g": s * n}, st.sampled_from([0.5, 2.5, 5.0]), st.integers(1, 40)
    )
    masses = st.builds(lambda m: {"masses_g": m}, st.lists(st.floats(0.1, 100), min_size=1, max_size=20))
    aim = st.sampled_from(["nearest", "static_first"])
    choice: dict[str, Any] = draw(st.one_of(steps, masses))
    return {"targets": targets, "aim": draw(aim), "per_plane_g": draw(st.floats(1, 50))} | choice


@given(body=requests())
def test_what_is_left_is_what_it_says(body: dict[str, Any], ask: Ask, conforms: Conforms) -> None:
    response = ask("/v1/roundings", body)
    assert response.status_code == 200, response.text
    answer = response.get_json()
    assert conforms("Rounding", answer)
    masses = body.get("masses_g") or [body["step_g"] * n for n in range(1, 41)]
    left = []
    for exact, weight in zip(body["targets"], answer["weights"], strict=True):
        assert any(abs(weight["mass_g"] - m) < 1e-5 for m in [0, *masses])
        turn = cmath.rect(exact["radius_mm"], math.radians(exact["angle_deg"]))
        reported = cmath.rect(exact["radius_mm"], math.radians(weight["angle_deg"]))
        assert weight["mass_g"] == 0 or reported == pytest.approx(turn, abs=1e-4)
        left.append((exact["position_mm"], (weight["mass_g"] - exact["mass_g"]) * turn))
    assert abs(sum(v for _, v in left)) == pytest.approx(answer["residual"]["static_gmm"], abs=1e-2)
    for (_, vector), exact, reported in zip(left, body["targets"], answer["residual"]["planes"], strict=True):
        assert abs(vector) / exact["radius_mm"] == pytest.approx(reported["mass_g"], abs=1e-5)
