"""The client and the real application: trial runs, centring checks and tolerances, as a developer would ask."""

from __future__ import annotations

import pytest

from rimpoise import (
    Client,
    KnownWeight,
    MachineCheckRequest,
    PermissibleUnbalanceRequest,
    Plane,
    PointMass,
    PositionPlane,
    RuleBroken,
    StaticReading,
    Trial,
    TrialRunsRequest,
    Vibration,
    two_plane,
)


def test_raos_two_planes(live: Client) -> None:
    """S. S. Rao, Mechanical Vibrations, ch. 9, two-plane example, from memory; corrections are opposite."""
    question = TrialRunsRequest(
        initial=[Vibration(8.5, 60), Vibration(6.5, 205)],
        trials=[
            Trial("L", 10, 270, [Vibration(6, 125), Vibration(4.5, 230)]),
            Trial("R", 12, 180, [Vibration(6, 35), Vibration(10.5, 160)]),
        ],
    )
    answer = live.trial_runs(question)
    assert answer.verdict == "good"
    left, right = answer.corrections
    assert (left.plane, right.plane) == ("L", "R")
    assert (left.mass_g, left.angle_deg) == pytest.approx((10.0561, 325.555), rel=1e-5)
    assert (right.mass_g, right.angle_deg) == pytest.approx((5.87736, 68.256), rel=1e-5)
    assert len(answer.influence) == len(answer.influence[0]) == 2


def test_four_runs_without_phase(live: Client) -> None:
    """By hand: a trial weight of 10 g alone makes as much as there is, at right angles to it."""
    seen = ((0, 7.0711), (120, 2.5882), (240, 9.6593))
    trials = [Trial("hub", 10, angle, [Vibration(amplitude)]) for angle, amplitude in seen]
    answer = live.trial_runs(TrialRunsRequest([Vibration(5)], trials))
    (weight,) = answer.corrections
    assert (weight.mass_g, weight.angle_deg) == pytest.approx((10, 90), rel=1e-4)
    assert list(answer.closure_ratios) == pytest.approx([1], abs=1e-4)
    with pytest.raises(RuleBroken, match="trials"):
        live.trial_runs(TrialRunsRequest([Vibration(5)], trials[:2]))


def test_a_half_turn_and_a_weight_called_back(live: Client) -> None:
    """By hand: half the sum is the machine's, half the difference the wheel's."""
    readings = [StaticReading(PositionPlane(-45, 200, 13, 90)), StaticReading(PositionPlane(-45, 200, 7, 270))]
    weight = PointMass(40, 200, 50, 0)
    called = two_plane(PointMass(-130, 200, 0, 0), PointMass(40, 200, 49, 180))
    answer = live.centring_check(MachineCheckRequest(readings, known_weight=KnownWeight(weight, called)))
    (turns,) = answer.turns
    assert (turns.machine_g, turns.machine_angle_deg) == pytest.approx((3, 90))
    assert (turns.wheel_g, turns.wheel_angle_deg) == pytest.approx((10, 90))
    assert turns.repeatability_g is None
    assert [k.off_g for k in answer.known_weight] == pytest.approx([0, 1])
    assert (answer.verdict, answer.reports, answer.limit_g) == ("pass", "correction", 5)


def test_what_g_40_permits_a_car_wheel(live: Client) -> None:
    """ISO 21940-11 and ISO 4000-1, from memory: 4567 g·mm, 10.46 g in each plane at 218.3 mm."""
    planes = [Plane("inboard", -133.9, 218.3), Plane("outboard", 43.9, 218.3)]
    answer = live.tolerances(PermissibleUnbalanceRequest("G40", 20, planes, speed_kmh=200, tyre_size="225/45 R17"))
    assert answer.permissible_gmm == pytest.approx(4566.8, rel=5e-4)
    assert [p.permissible_g for p in answer.planes] == pytest.approx([10.46, 10.46], rel=5e-4)
    assert answer.rolling_radius_mm == pytest.approx(317.15)
    assert {"rolling_radius_derived", "mass_centre_assumed"} == {r.code for r in answer.derived}
