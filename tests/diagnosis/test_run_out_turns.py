"""What an eccentricity costs, and the turn of the tyre that serves all, by brute force and by hand."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rimpoise_service.diagnosis.run_out_limits import Part
from rimpoise_service.diagnosis.run_out_models import (
    ForceHarmonic,
    Trace,
    TurnRow,
)
from rimpoise_service.diagnosis.run_out_turn import FORCE_MARK_N, STIFFNESS_N_MM, UNBALANCE_MARK_G
from rimpoise_service.model.wheel import Valve, Wheel
from rimpoise_service.physics.run_out import CircleNotCovered
from rimpoise_service.planning.advice import ALWAYS, WHEN_FITTING
from tests.diagnosis.traces import FINE, PLANES, WHOLE, codes, judged, trace, wave, with_jump


def test_what_an_eccentricity_costs() -> None:
    """0.1 mm of 20 kg is 2,000 g·mm, 9.17 g at 218 mm, heavy where the wheel stands out; half in each plane."""
    found = judged(trace("assembly", (1, 0.1, 75)), wheel_mass_kg=20.0, planes=PLANES)
    assert found.unbalance is not None
    assert found.unbalance.eccentricity_mm == pytest.approx(0.1)
    assert [p.angle_deg for p in found.unbalance.planes] == pytest.approx([75, 75])
    assert [p.mass_g for p in found.unbalance.planes] == pytest.approx([4.587, 4.587], abs=1e-3)
    (said,) = [f for f in found.findings if f.code == "eccentricity_costs"]
    assert said.values["mass_g"] == pytest.approx(9.174, abs=1e-3)


@pytest.mark.parametrize("known", [{}, {"wheel_mass_kg": 20.0}, {"planes": PLANES}])
def test_no_cost_without_mass_and_planes(known: dict[str, object]) -> None:
    assert judged(trace("assembly", (1, 0.1, 75)), **known).unbalance is None


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        (("hub", "rim_outboard", "assembly"), "assembly"),
        (("hub", "rim_outboard"), "rim_inboard"),
        (("hub",), "hub"),
    ],
)
def test_whose_eccentricity_counts(parts: tuple[Part, ...], expected: str) -> None:
    found = judged(*(trace(p, (1, 0.1, 0)) for p in parts), wheel_mass_kg=20.0, planes=PLANES)
    assert found.unbalance is not None
    assert found.unbalance.part == expected


@pytest.mark.parametrize(("marking", "planes"), [("7Jx17", 2), (None, 0)])
def test_the_wheels_flanges_are_the_planes(marking: str | None, planes: int) -> None:
    """7Jx17 ET45: flanges 177.8 mm apart about −45 mm, rim radius 218.3 mm (ISO 4000-2, from memory)."""
    wheel = Wheel("alloy", "factory", "car", rim_size=marking, offset_mm=45)
    found = judged(trace("assembly", (1, 0.1, 75)), wheel_mass_kg=20.0, wheel=wheel)
    assert (found.unbalance is not None) == bool(planes)
    derived = [w.code for w in found.warnings]
    assert derived.count("flange_position_from_offset") == derived.count("flange_radius_derived") == planes
    if found.unbalance:
        places = [(p.plane.position_mm, p.plane.radius_mm) for p in found.unbalance.planes]
        assert places == [pytest.approx((-133.9, 218.3)), pytest.approx((43.9, 218.3))]


def test_a_turn_opposes_rim_and_tyre() -> None:
    """First harmonics alone: the rim's 0.4 at 100°, the tyre's 0.5 at 130°: turned by 150° they leave 0.1."""
    rim, tyre = (1, 0.4, 100.0), (1, 0.5, 130.0)
    found = judged(trace("assembly", rim, tyre), trace("rim_inboard", rim))
    assert found.best_turn is not None
    assert found.best_turn.best.turn_deg == 150
    assert found.best_turn.best.run_out_mm == pytest.approx(0.2, abs=1e-6)
    assert found.best_turn.pays
    (said,) = [f for f in found.findings if f.code == "turn_tyre_run_out"]
    assert (said.values["size_deg"], said.values["sense"], said.values["turn_min"]) == (150, "clockwise", 8)


@pytest.mark.parametrize(
    ("valve", "sensor"), [(None, True), (Valve(0, "snap_in"), True), (Valve(0, "none"), False)]
)
def test_a_turn_that_pays_minds_sensor_beads_and_paste(valve: Valve | None, sensor: bool) -> None:
    wheel = Wheel("steel", "factory", "car", valve=valve)
    found = judged(trace("assembly", (1, 0.9, 0)), trace("rim_inboard", (1, 0.3, 0)), wheel=wheel)
    reported = {c.code for c in found.cautions}
    assert {"tyre_work", "stiff_beads", "fresh_paste"} <= reported
    assert ("bead_sensor" in reported) == sensor
    true = judged(trace("assembly", (1, 0.2, 0)), trace("rim_inboard", (1, 0.2, 0)), wheel=wheel)
    assert "stiff_beads" not in {c.code for c in true.cautions}


def test_no_tyre_is_turned_on_a_bent_rim() -> None:
    """0.6 mm on an alloy rim is over its 0.5: it is examined first; the same tyre on a true one is turned."""
    wheel, tyre = Wheel("alloy", "factory", "car"), (1, 0.9, 0.0)
    for amplitude, bent in ((0.2, False), (0.3, True)):
        rim = (1, amplitude, 0.0)
        found = judged(trace("assembly", rim, tyre), trace("rim_inboard", rim), wheel=wheel)
        assert ("turn_tyre_run_out" in codes(found)) != bent
        assert ("rim_at_fault" in codes(found)) == bent
        assert ("tyre_work" in {c.code for c in found.cautions}) != bent


@pytest.mark.parametrize(("off_mm", "said"), [(0.04, False), (0.06, True)])
def test_what_is_true_costs_nothing(off_mm: float, said: bool) -> None:
    found = judged(trace("hub", (1, off_mm, 10)), wheel_mass_kg=20.0, planes=PLANES)
    assert ("eccentricity_costs" in codes(found)) == said


def test_no_caution_of_fitting_where_nothing_is_fitted() -> None:
    reported = {c.code for c in judged(trace("hub", (1, 0.2, 0))).cautions}
    assert reported == set(ALWAYS)
    assert not reported & set(WHEN_FITTING)


@pytest.mark.parametrize(("by", "said"), [(1.0, True), (-1.0, False)])
def test_a_bump_does_not_stop_a_turn_and_a_flat_spot_does(by: float, said: bool) -> None:
    whole = trace("assembly", (1, 0.4, 100), (1, 0.5, 130), at=FINE)
    found = judged(with_jump(whole, 9, by), trace("rim_inboard", (1, 0.4, 100), at=FINE))
    assert ("bump" if said else "flat_spot") in codes(found)
    assert any("tyre_run_out" in c for c in codes(found)) == said


def test_the_other_way_round_is_shorter() -> None:
    rim, tyre = (1, 0.4, 100.0), (1, 0.5, 30.0)
    found = judged(trace("assembly", rim, tyre), trace("rim_inboard", rim))
    (said,) = [f for f in found.findings if f.code == "turn_tyre_run_out"]
    assert (said.values["size_deg"], said.values["sense"]) == (110, "counterclockwise")


def test_a_turn_starts_from_what_was_measured() -> None:
    """0.16 mm of noise that no harmonic has: the finding, the table and the verdict say one and the same total."""
    rim, tyre = (1, 0.4, 100.0), (1, 0.5, 130.0)
    rough = with_jump(with_jump(trace("assembly", rim, tyre, at=FINE), 3, 0.08), 21, -0.08)
    found = judged(rough, trace("rim_inboard", rim, at=FINE))
    measured = float(np.ptp(rough.reading_mm))
    assert found.best_turn is not None
    (said,) = [f for f in found.findings if f.code == "turn_tyre_run_out"]
    assert (
        said.values["before_mm"]
        == found.best_turn.rows[0].run_out_mm
        == found.traces[0].shape.total_mm
        == measured
    )
    low = judged(rough, trace("rim_inboard", rim, at=FINE), trace("assembly", rim, tyre, at=FINE))
    assert low.best_turn is not None
    assert low.best_turn.rows[0].run_out_mm == measured


def test_noise_alone_turns_no_tyre() -> None:
    """A true rim and a tyre at its limit, measured with 0.05 mm of noise; a rim of 0.2 mm gains 0.8 mm."""
    rng = np.random.default_rng(11)

    def noisy(of: Trace) -> Trace:
        return replace(of, reading_mm=tuple(of.reading_mm + rng.normal(0, 0.05, len(of.reading_mm))))

    for eccentric, turned in ((0.0, 0), (0.2, 20)):
        rim = (1, eccentric, 40.0)
        pays = 0
        for _ in range(20):
            whole = noisy(trace("assembly", rim, (1, 0.74, 10.0), at=FINE))
            found = judged(whole, noisy(trace("rim_inboard", rim, at=FINE))).best_turn
            assert found is not None
            pays += found.pays
        assert pays == turned


AMPLITUDE, ANGLE = st.floats(0.05, 0.8), st.integers(0, 359)


@settings(max_examples=25, deadline=None)
@given(AMPLITUDE, ANGLE, AMPLITUDE, ANGLE, st.floats(10, 150), ANGLE)
def test_the_table_by_brute_force(
    of_rim: float, rim_at: int, of_tyre: float, tyre_at: int, force: float, force_at: int
) -> None:
    """Every turn, with traces moved along point by point and forces as vectors; unturned as it was measured."""
    rim, tyre = [(1, of_rim, float(rim_at)), (2, 0.1, 10.0)], [(1, of_tyre, float(tyre_at)), (2, 0.15, 60.0)]
    whole = trace("assembly", *rim, *tyre)
    found = judged(
        whole,
        trace("rim_inboard", *rim),
        wheel_mass_kg=20.0,
        planes=PLANES,
        force_first_harmonic=ForceHarmonic(force, force_at),
    ).best_turn
    assert found is not None
    angles = np.arange(360.0)
    carried = STIFFNESS_N_MM * cmath.rect(of_rim, math.radians(rim_at))
    tyres_own = cmath.rect(force, math.radians(force_at)) - carried

    def at(turn: int) -> tuple[float, float, float]:
        first = cmath.rect(of_rim, math.radians(rim_at)) + cmath.rect(of_tyre, math.radians(tyre_at + turn))
        turned = wave(angles, rim) + wave(angles - turn, tyre)
        push = carried + tyres_own * cmath.exp(1j * math.radians(turn))
        return float(np.ptp(turned)), 20_000 * abs(first) / 218, abs(push)

    every = [at(turn) for turn in range(360)]
    marks = (1.5, UNBALANCE_MARK_G, FORCE_MARK_N)
    costs = [sum(v / m for v, m in zip(row, marks, strict=True)) for row in every]
    for row in found.rows:
        total, *others = every[int(row.turn_deg)]
        total = total if row.turn_deg else float(np.ptp(whole.reading_mm))
        assert values(row) == pytest.approx((total, *others), abs=1e-9)
    by_goal = {row.goal: row for row in found.rows}
    assert list(by_goal) == ["as_is", "least_run_out", "least_unbalance", "least_force", "best"]
    for k, goal in enumerate(list(by_goal)[1:4]):
        assert every[int(by_goal[goal].turn_deg)][k] == pytest.approx(min(row[k] for row in every), abs=1e-6)
    assert costs[int(found.best.turn_deg)] == pytest.approx(min(costs), abs=1e-6)


def values(row: TurnRow) -> tuple[float, float, float]:
    assert row.unbalance_g is not None
    assert row.force_n is not None
    return row.run_out_mm, row.unbalance_g, row.force_n


def test_no_turn_where_the_rim_was_not_measured() -> None:
    found = judged(WHOLE)
    assert (found.best_turn, found.tyre) == (None, ())


def test_a_true_tyre_stays_where_it_is() -> None:
    found = judged(trace("assembly", (1, 0.2, 0)), trace("rim_inboard", (1, 0.2, 0)))
    assert found.best_turn is not None
    assert (found.best_turn.best.turn_deg, found.best_turn.pays) == (0, False)
    assert "leave_tyre_run_out" in codes(found)
    assert found.best_turn.best.unbalance_g is found.best_turn.best.force_n is None


def test_what_has_to_be_known_of_an_answer() -> None:
    eight = np.arange(0.0, 360.0, 45.0)
    found = judged(
        trace("assembly", (1, 0.2, 0), at=eight),
        trace("rim_outboard", (1, 0.1, 0), at=eight),
        force_first_harmonic=ForceHarmonic(50, 0),
    )
    assert [w.code for w in found.warnings] == [
        "few_run_out_angles",
        "one_bead_seat",
        "rim_material_unknown",
        "stiffness_assumed",
    ]


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 359))
def test_turning_the_mark_turns_the_high_spots_alone(turn: int) -> None:
    parts = [trace("assembly", (1, 0.9, 40), (2, 0.1, 0)), trace("rim_inboard", (1, 0.3, 100))]
    moved = [replace(t, angle_deg=tuple((a + turn) % 360 for a in t.angle_deg)) for t in parts]
    one, other = judged(*parts), judged(*moved)
    assert one.best_turn is not None
    assert other.best_turn is not None
    assert other.verdict == one.verdict
    assert other.best_turn.best.turn_deg == one.best_turn.best.turn_deg
    apart = other.traces[0].shape.harmonics[0].high_deg - one.traces[0].shape.harmonics[0].high_deg - turn
    assert math.remainder(apart, 360) == pytest.approx(0, abs=1e-6)


def test_half_a_circle_is_refused() -> None:
    with pytest.raises(CircleNotCovered):
        judged(trace("assembly", (1, 0.5, 0), at=np.arange(0.0, 144.0, 12.0)))
