"""Trial runs, centring checks and tolerances through HTTP: published cases, and what no input may do."""

from __future__ import annotations

import cmath
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.api.fixture_types import Ask, Conforms, Example
from tests.cited import Case, cases

RAO, NEARLY_DEPENDENT = cases("trial_runs")


def turned(a_deg: float, b_deg: float) -> float:
    """How far apart two directions are [deg]."""
    return abs(math.remainder(a_deg - b_deg, 360))


def reported(vector: complex) -> dict[str, float]:
    """A vibration as it is sent."""
    return {"amplitude": abs(vector), "phase_deg": math.degrees(cmath.phase(vector)) % 360}


def test_raos_two_plane_example(ask: Ask) -> None:
    answer = ask("/v1/trial-runs", RAO.inputs).get_json()
    assert [c["plane"] for c in answer["corrections"]] == ["L", "R"]
    for ours, (size, heavy_deg) in zip(answer["corrections"], RAO.expected["unbalance"], strict=True):
        assert ours["mass_g"] == pytest.approx(size, rel=RAO.tolerance["mass_rel"])
        assert turned(ours["angle_deg"], heavy_deg + 180) <= RAO.tolerance["angle_deg"]
    assert (answer["verdict"], answer["single_plane"], answer["warnings"]) == ("good", [], [])
    assert [p["amplitude"] for p in answer["predicted"]] == [0, 0]


def nearly_dependent(keep: str = "removed") -> dict[str, Any]:
    """The published changes laid over the unknown vibration, as trial runs would show them."""
    unknown = [complex(*v) for v in NEARLY_DEPENDENT.inputs["unknown"]]
    state, trials = unknown, []
    for trial in NEARLY_DEPENDENT.inputs["trials"]:
        change = [complex(*v) for v in trial["change"]]
        after = [v + c for v, c in zip(state, change, strict=True)]
        state = after if keep == "left_on" else state
        trials.append(
            {k: trial[k] for k in ("plane", "mass_g", "angle_deg")} | {"responses": [*map(reported, after)]}
        )
    return {"initial": [reported(v) for v in unknown], "trials": trials, "trial_weights": keep}


def test_the_nearly_dependent_data_are_flagged_and_answered_in_one_plane(ask: Ask) -> None:
    case, off = NEARLY_DEPENDENT, NEARLY_DEPENDENT.tolerance
    answer = ask("/v1/trial-runs", nearly_dependent()).get_json()
    assert answer["condition_number"] == pytest.approx(case.expected["condition_number"], abs=off["condition"])
    assert answer["verdict"] == "ill_conditioned"
    assert "ill_conditioned" in {w["code"] for w in answer["warnings"]}
    for ours, (size, heavy_deg) in zip(answer["corrections"], case.expected["unbalance"], strict=True):
        assert ours["mass_g"] == pytest.approx(size, abs=off["mass_g"])
        assert turned(ours["angle_deg"], heavy_deg + 180) <= off["angle_deg"]
    size, heavy_deg = case.expected["single_plane"]
    alone = {one["plane"]: one for one in answer["single_plane"]}
    assert alone["disc 1"]["mass_g"] == pytest.approx(size, abs=off["mass_g"])
    assert turned(alone["disc 1"]["angle_deg"], heavy_deg + 180) <= off["angle_deg"]
    truth, truth_deg = case.expected["truth"]
    assert abs(alone["disc 1"]["mass_g"] - truth) < 5
    assert turned(alone["disc 1"]["angle_deg"], truth_deg + 180) < 5
    assert all(one["left_pct"] < 1.1 * max(answer["left_pct"], 25) for one in answer["single_plane"])


def test_left_on_asks_for_the_same_in_the_end(ask: Ask) -> None:
    """First principles: what is added to trial weights left on, and they, are what replaces them removed."""
    removed = ask("/v1/trial-runs", nearly_dependent()).get_json()["corrections"]
    left_on = ask("/v1/trial-runs", nearly_dependent("left_on")).get_json()["corrections"]
    for trial, once, then in zip(NEARLY_DEPENDENT.inputs["trials"], removed, left_on, strict=True):
        on = cmath.rect(then["mass_g"], math.radians(then["angle_deg"])) + trial["mass_g"]
        assert on == pytest.approx(cmath.rect(once["mass_g"], math.radians(once["angle_deg"])), abs=1e-3)


@pytest.mark.parametrize("reports", ["correction", "unbalance"])
def test_the_published_index_readings(reports: str, ask: Ask) -> None:
    (case,) = cases("indexing")
    readings = [
        {
            "kind": "static",
            "plane": {"kind": "position", "position_mm": 0, "radius_mm": 100, "mass_g": m, "angle_deg": a},
            "reports": reports,
        }
        for m, a in case.inputs["readings"]
    ]
    answer = ask("/v1/centring-checks", {"readings": readings}).get_json()
    size, angle = case.expected["machine"]
    (plane,) = answer["turns"]
    assert plane["machine_g"] == pytest.approx(size, rel=case.tolerance["mass_rel"])
    assert turned(plane["machine_angle_deg"], angle) <= case.tolerance["angle_deg"]
    assert (answer["verdict"], answer["reports"]) == ("pass", reports)


@pytest.mark.parametrize("case", cases("tolerances"), ids=str)
def test_the_published_tolerances(case: Case, ask: Ask) -> None:
    answer, rel = ask("/v1/tolerances", case.inputs).get_json(), case.tolerance["rel"]
    assert answer["permissible_gmm"] == pytest.approx(case.expected["permissible_gmm"], rel=rel)
    per_plane = [p["permissible_gmm"] for p in answer["planes"]]
    assert per_plane == pytest.approx(case.expected["planes_gmm"], rel=rel)
    shares = [100 * part / case.expected["permissible_gmm"] for part in case.expected["planes_gmm"]]
    assert [p["share_pct"] for p in answer["planes"]] == pytest.approx(shares, rel=rel)
    if "planes_g" in case.expected:
        assert [p["permissible_g"] for p in answer["planes"]] == pytest.approx(case.expected["planes_g"], rel=rel)


def test_the_force_at_speed(ask: Ask) -> None:
    """Centripetal force (any physics text): 10 g at 202.8 mm, 100 km/h on 205/55 R16 make 15.68 N, 13.99 Hz."""
    plane = {"name": "rim", "position_mm": 0, "radius_mm": 202.8}
    body = {
        "grade": "G1",
        "assembly_mass_kg": 1,
        "speed_kmh": 100,
        "tyre_size": "205/55 R16",
        "planes": [plane],
    }
    one = ask("/v1/tolerances", body).get_json()["planes"][0]["permissible_g"]
    answer = ask("/v1/tolerances", body | {"assembly_mass_kg": round(10 / one, 6)}).get_json()
    assert answer["planes"][0]["permissible_g"] == pytest.approx(10, rel=1e-4)
    assert answer["planes"][0]["force_n"] == pytest.approx(15.68, rel=5e-4)
    assert answer["frequency_hz"] == pytest.approx(13.99, rel=5e-4)


def _without_tag(form: Any) -> dict[str, Any]:
    return {name: value for name, value in form.items() if name != "kind"}


def test_a_plan_says_the_limits_that_tolerances_say(ask: Ask, example: Example) -> None:
    """The same grade as acceptance and on its own: the same grams at the same planes."""
    body = example("planFitting", "by_grade")
    plan = ask("/v1/plans", body).get_json()
    assert plan["acceptance"] == body["acceptance"]
    planes = [
        {"name": name, "position_mm": p["position_mm"], "radius_mm": p["radius_mm"]}
        for name, p in zip(("inboard", "outboard"), body["reading"]["planes"], strict=True)
    ]
    alone = ask("/v1/tolerances", _without_tag(body["acceptance"]) | {"planes": planes}).get_json()
    assert plan["limits"]["static_g"] == pytest.approx(alone["permissible_g"], abs=2e-6)
    for limit, allowed in zip(plan["limits"]["planes"], alone["planes"], strict=True):
        assert limit["plane"] == allowed["plane"]
        assert limit["limit_g"] == pytest.approx(allowed["permissible_g"], abs=2e-6)
    assert plan["limits"]["planes"][0]["limit_g"] != plan["limits"]["planes"][1]["limit_g"]


def test_a_residual_is_judged_by_its_own_planes_limit(ask: Ask, example: Example) -> None:
    """By hand: 3 g on either plane; the mass centre far inboard lets inboard keep 70 %, outboard 30 %."""
    body = example("planFitting", "by_grade")
    body["acceptance"] |= {"kind": "grade", "grade": "G25.333", "assembly_mass_kg": 6, "mass_centre_mm": -133}
    decided = {}
    for k, side in enumerate(("inboard", "outboard")):
        for j, plane in enumerate(body["reading"]["planes"]):
            plane |= {"mass_g": 2.0 if j == k else 0}
        answer = ask("/v1/plans", body).get_json()
        decided[side] = answer["decision"] == "already_within"
    limits = [p["limit_g"] for p in answer["limits"]["planes"]]
    assert limits[1] < 2 < limits[0]
    assert decided == {"inboard": True, "outboard": False}


def amplitudes(*extremes: float) -> st.SearchStrategy[float]:
    """Amplitudes as they come, and those that break arithmetic."""
    return st.one_of(st.sampled_from([0, 5e-324, 1e-300, 1e-9, 1.0, 1e9, *extremes]), st.floats(0, 1e9))


@st.composite
def trial_requests(draw: st.DrawFn) -> dict[str, Any]:
    """Any trial runs that keep the rules, with and without phases."""
    phases, sensors = draw(st.booleans()), draw(st.integers(2, 4))
    phase = st.floats(0, 360) if phases else st.none()

    def run() -> list[dict[str, float]]:
        pairs = [(draw(amplitudes()), draw(phase)) for _ in range(sensors)]
        return [{"amplitude": a} | ({} if p is None else {"phase_deg": p}) for a, p in pairs]

    mass = draw(st.sampled_from([0.001, 1, 60, 1e6]))
    planes = draw(st.lists(st.sampled_from("ab"), min_size=1, max_size=4)) if phases else ["a"] * 3
    trials = [
        {"plane": p, "mass_g": mass, "angle_deg": 120.0 * k % 360, "responses": run()}
        for k, p in enumerate(planes)
    ]
    keep = draw(st.sampled_from(["removed", "left_on"])) if phases else "removed"
    weights = draw(st.one_of(st.none(), st.lists(st.floats(0.001, 1000), min_size=sensors, max_size=sensors)))
    body = {"initial": run(), "trials": trials, "trial_weights": keep}
    return body if weights is None else body | {"weights": weights}


@given(body=trial_requests())
def test_no_amplitude_breaks_trial_runs(body: dict[str, Any], ask: Ask, conforms: Conforms) -> None:
    response = ask("/v1/trial-runs", body)
    assert response.status_code == 200, response.text
    assert conforms("TrialRuns", response.get_json())
