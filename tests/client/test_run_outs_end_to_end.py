"""The client and the real application: run-out and spreads, as a developer would ask."""

from __future__ import annotations

import math

import pytest

from rimpoise import (
    Client,
    EffortInput,
    Material,
    Piece,
    PointMass,
    RuleBroken,
    RunOutLimit,
    RunOutPlane,
    RunOutPlanes,
    RunOutRequest,
    RunOutTrace,
    SpreadJob,
    SpreadSpins,
    SpreadsRequest,
    Style,
    two_plane,
)

ANGLES = [30.0 * k for k in range(12)]


def wave(amplitude: float, high_deg: float) -> list[float]:
    """A first harmonic."""
    return [amplitude * math.cos(math.radians(a - high_deg)) for a in ANGLES]


def test_a_tyre_opposed_to_its_rim(live: Client) -> None:
    """First harmonics alone: the rim's 0.4 at 100°, the tyre's 0.5 at 130°: turned by 150° they leave 0.1."""
    rim, tyre = wave(0.4, 100), wave(0.5, 130)
    whole = [r + t for r, t in zip(rim, tyre, strict=True)]
    request = RunOutRequest(
        [RunOutTrace("radial", "assembly", ANGLES, whole), RunOutTrace("radial", "rim_inboard", ANGLES, rim)],
        limits=[RunOutLimit("rim_inboard", "radial", 1.0)],
        wheel_mass_kg=20,
        planes=RunOutPlanes(RunOutPlane(-134, 218), RunOutPlane(44, 218)),
        effort=EffortInput(tyre_turn_min=12),
    )
    found = live.run_out(request)
    assert found.verdict == "over"
    assert found.best_turn is not None
    assert found.best_turn.turn_deg == 150
    assert found.best_turn.run_out_mm == pytest.approx(0.2, abs=1e-5)
    assert found.best_turn.unbalance_g == pytest.approx(2000 / 218, rel=1e-4)
    assert found.best_turn.force_n is None
    assert found.tyre[0].amplitude_mm == pytest.approx(0.5, abs=1e-6)
    assert [t.limit_mm for t in found.traces] == [1.5, 1.0]
    assert live.run_out_drawing(request).startswith("<svg")
    assert "Turning the tyre on its rim" in live.run_out_sheet(request)
    with pytest.raises(RuleBroken, match="traces"):
        live.run_out(RunOutRequest([RunOutTrace("radial", "hub", ANGLES, [0.0] * 11)]))


def test_a_shop_that_has_spun_again(live: Client) -> None:
    """Four wheels, 2 g apart in one component of each plane: 16 over 16 degrees of freedom."""
    spins = [
        SpreadSpins([two_plane(PointMass(-134, 200, m, 0), PointMass(44, 200, m, 0)) for m in (k, k + 2)])
        for k in (10, 20, 30, 40)
    ]
    found = live.spreads(SpreadsRequest(repeats=spins))
    assert found.spread.machine_sd_g == pytest.approx(math.sqrt(1 - 0.01 / 12), abs=1e-4)
    assert found.spread.angle_sd_deg is None
    assert [e.n for e in found.estimates] == [8, 0, 0, 0, 0, 0]
    assert found.calibration.first_pass_pct is None


def test_pieces_of_a_plan_go_back(live: Client) -> None:
    place = {"place": "inboard_flange", "side": "inboard", "clock": "1:00", "location": None, "window": None}
    sizes = {"length_mm": 30.0, "effective_gmm": 6000.0, "hidden": False, "segments": None, "label": None}
    piece = Piece(
        **place,  # type: ignore[arg-type]
        **sizes,  # type: ignore[arg-type]
        style=Style("clip_on"),
        sku="c30",
        material=Material("zinc"),
        mass_g=30.0,
        position_mm=-134.0,
        radius_mm=200.0,
        angle_deg=30.0,
        arc_deg=9.0,
    )
    before = two_plane(PointMass(-134, 200, 30, 30), PointMass(44, 200, 2, 0))
    after = two_plane(PointMass(-134, 200, 1, 0), PointMass(44, 200, 2, 0))
    found = live.spreads(SpreadsRequest(jobs=[SpreadJob(before, [piece], after, pass_chance_pct=90)]))
    assert found.calibration.first_pass_pct == 100
