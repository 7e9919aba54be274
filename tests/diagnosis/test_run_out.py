"""Run-out judged: limits, whose it is, what it costs, and the turn that serves all, by brute force and by hand."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from rimpoise_service.diagnosis.run_out import judge_run_out
from rimpoise_service.diagnosis.run_out_limits import Direction, Part, default_limit
from rimpoise_service.diagnosis.run_out_models import (
    ForceHarmonic,
    RunOut,
    RunOutLimit,
    RunOutRequest,
    Trace,
    TurnRow,
)
from rimpoise_service.diagnosis.run_out_turn import FORCE_MARK_N, STIFFNESS_N_MM, UNBALANCE_MARK_G
from rimpoise_service.model.wheel import Valve, Wheel
from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.run_out import CircleNotCovered
from rimpoise_service.planning.advice import ALWAYS, WHEN_FITTING

Floats = NDArray[np.float64]
Harmonics = Sequence[tuple[int, float, float]]

EVEN: Floats = np.arange(0.0, 360.0, 30.0)
FINE: Floats = np.arange(0.0, 360.0, 10.0)
PLANES = (Plane("inboard", -134, 218), Plane("outboard", 44, 218))


def wave(angles: Floats, parts: Harmonics) -> Floats:
    found = np.zeros_like(angles)
    for k, amplitude, high in parts:
        found = found + amplitude * np.cos(k * np.radians(angles - high))
    return found


def trace(
    part: Part, *parts: tuple[int, float, float], direction: Direction = "radial", at: Floats = EVEN
) -> Trace:
    return Trace(direction, part, tuple(at.tolist()), tuple(wave(at, parts).tolist()))


def with_jump(told: Trace, index: int, by: float) -> Trace:
    readings = [*told.readings_mm]
    readings[index] += by
    return replace(told, readings_mm=tuple(readings))


def codes(found: RunOut) -> list[str]:
    return [f.code for f in found.findings]


def judged(*traces: Trace, **known: object) -> RunOut:
    return judge_run_out(RunOutRequest(traces, **known))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("amplitude", "verdict"), [(0.5, "good"), (0.501, "within"), (0.75, "within"), (0.751, "over")]
)
def test_the_verdict_of_a_cars_assembly(amplitude: float, verdict: str) -> None:
    """Good to 1.0 mm in all, within to 1.5 mm: common practice."""
    found = judged(trace("assembly", (1, amplitude, 60)))
    assert found.verdict == verdict
    assert found.traces[0].within is (verdict != "over")
    assert ("run_out_over" in codes(found)) is (verdict == "over")


def test_without_any_limit_the_verdict_is_unknown() -> None:
    found = judged(trace("hub", (1, 3.0, 0)))
    assert (found.verdict, found.traces[0].within) == ("unknown", None)
    assert [(w.code, w.values) for w in found.warnings] == [
        ("no_run_out_limit", {"name": "hub", "direction": "radial"})
    ]


def test_own_limits_win() -> None:
    own = (RunOutLimit("hub", "radial", 0.1), RunOutLimit("assembly", "radial", 9.0))
    found = judged(trace("hub", (1, 0.2, 0)), trace("assembly", (1, 2, 0)), limits=own)
    assert [r.within for r in found.traces] == [False, True]
    assert found.findings[0].values == {
        "name": "hub",
        "direction": "radial",
        "total_mm": pytest.approx(0.4),
        "limit_mm": 0.1,
    }


@pytest.mark.parametrize(
    ("part", "direction", "known", "expected"),
    [
        ("assembly", "radial", {}, 1.5),
        ("assembly", "lateral", {"vehicle_class": "car"}, 1.5),
        ("rim_inboard", "radial", {"material": "alloy"}, 0.5),
        ("rim_outboard", "lateral", {"material": "steel"}, 0.8),
        ("rim_outboard", "lateral", {}, 0.8),
        # TMC RP 214C: 0.095 in steered, else 0.125; rims 0.070 in steel, 0.030 in aluminium (read)
        ("assembly", "radial", {"vehicle_class": "bus", "steered": True}, 2.413),
        ("assembly", "lateral", {"vehicle_class": "heavy_truck"}, 3.175),
        ("assembly", "lateral", {"vehicle_class": "trailer", "steered": True}, 3.175),
        ("rim_inboard", "radial", {"vehicle_class": "heavy_truck", "material": "steel"}, 1.778),
        ("rim_inboard", "radial", {"vehicle_class": "heavy_truck", "material": "alloy"}, 0.762),
        ("rim_inboard", "radial", {"vehicle_class": "motorcycle"}, 1.0),
        ("assembly", "radial", {"vehicle_class": "motorcycle"}, None),
        ("hub", "radial", {}, None),
    ],
)
def test_default_limits(
    part: Part, direction: Direction, known: dict[str, object], expected: float | None
) -> None:
    asked = {"material": None, "vehicle_class": None, "steered": False} | known
    limit = default_limit(part, direction, **asked)  # type: ignore[arg-type]
    assert (limit and limit.total_mm) == (expected and pytest.approx(expected))


WHOLE = trace("assembly", (1, 0.9, 40), (2, 0.1, 0))


@pytest.mark.parametrize(
    ("rims", "expected"),
    [
        ([], "measure_rim"),
        ([trace("rim_inboard", (1, 0.6, 40))], "rim_at_fault"),
        ([trace("rim_inboard", (1, 0.1, 40)), trace("rim_outboard", (1, 0.1, 50))], "tyre_at_fault"),
    ],
)
def test_whose_a_radial_run_out_is(rims: list[Trace], expected: str) -> None:
    found = judged(WHOLE, *rims)
    blames = {"measure_rim", "rim_at_fault", "tyre_at_fault", "tyre_oval", "beads_or_tyre_at_fault"}
    assert [c for c in codes(found) if c in blames] == [expected]


def test_an_oval_tyre_is_none_that_a_turn_helps() -> None:
    found = judged(trace("assembly", (1, 0.1, 40), (2, 1.0, 0)), trace("rim_inboard", (1, 0.05, 0)))
    assert "tyre_oval" in codes(found)
    assert "leave_tyre_run_out" in codes(found)


def test_a_lateral_run_out_on_a_true_rim_is_the_beads_or_the_tyres() -> None:
    whole = trace("assembly", (1, 1.2, 0), direction="lateral")
    found = judged(whole, trace("rim_outboard", (1, 0.1, 0), direction="lateral"))
    assert "beads_or_tyre_at_fault" in codes(found)


def test_the_tyre_is_the_assembly_less_the_mean_of_both_seats() -> None:
    """Built from traces of its own, added point by point."""
    seats, tyre = [[(1, 0.2, 300.0)], [(1, 0.3, 20.0), (2, 0.1, 5.0)]], [(1, 0.4, 100.0), (2, 0.2, 70.0)]
    whole = wave(EVEN, tyre) + (wave(EVEN, seats[0]) + wave(EVEN, seats[1])) / 2
    found = judged(
        Trace("radial", "assembly", tuple(EVEN.tolist()), tuple(whole.tolist())),
        trace("rim_inboard", *seats[0]),
        trace("rim_outboard", *seats[1]),
    )
    assert [(h.amplitude_mm, h.high_deg) for h in found.tyre[:2]] == [
        pytest.approx((0.4, 100)),
        pytest.approx((0.2, 70)),
    ]
    (said,) = [f for f in found.findings if f.code == "tyre_by_difference"]
    assert said.values["total_mm"] == pytest.approx(np.ptp(wave(np.arange(360.0), tyre)))


@pytest.mark.parametrize(
    ("part", "by", "code"),
    [("rim_inboard", 0.9, "local_bend"), ("assembly", -1, "flat_spot"), ("assembly", 1, "bump")],
)
def test_a_spot_on_rim_or_tread_counts_and_is_named(part: Part, by: float, code: str) -> None:
    found = judged(with_jump(trace(part, (1, 0.2, 0), at=FINE), 9, by))
    assert found.traces[0].shape.total_mm > 0.9
    (said,) = [f for f in found.findings if f.code == code]
    assert (said.values["angle_deg"], said.values["size_mm"]) == (90, pytest.approx(abs(by), abs=0.02))
    assert found.traces[0].left_out_deg == ()


def test_a_splice_of_the_sidewall_is_left_out() -> None:
    found = judged(with_jump(trace("assembly", (1, 0.3, 0), direction="lateral", at=FINE), 9, 2.0))
    assert (found.verdict, found.traces[0].left_out_deg) == ("good", (90,))
    assert [(w.code, w.values) for w in found.warnings] == [("splice_left_out", {"count": 1})]


def test_traces_that_do_not_repeat() -> None:
    found = judged(trace("hub", (1, 0.3, 0)), trace("hub", (1, 0.3, 90)))
    (said,) = [f for f in found.findings if f.code == "run_out_not_repeated"]
    assert said.values["off_mm"] == pytest.approx(0.3 * math.sqrt(2))
    assert "run_out_not_repeated" not in codes(judged(trace("hub", (1, 0.3, 0)), trace("hub", (1, 0.35, 0))))


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
    told = {c.code for c in found.cautions}
    assert {"tyre_work", "stiff_beads", "fresh_paste"} <= told
    assert ("bead_sensor" in told) == sensor
    true = judged(trace("assembly", (1, 0.2, 0)), trace("rim_inboard", (1, 0.2, 0)), wheel=wheel)
    assert "stiff_beads" not in {c.code for c in true.cautions}


def test_no_caution_of_fitting_where_nothing_is_fitted() -> None:
    told = {c.code for c in judged(trace("hub", (1, 0.2, 0))).cautions}
    assert told == set(ALWAYS)
    assert not told & set(WHEN_FITTING)


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


AMPLITUDE, ANGLE = st.floats(0.05, 0.8), st.integers(0, 359)


@settings(max_examples=25, deadline=None)
@given(AMPLITUDE, ANGLE, AMPLITUDE, ANGLE, st.floats(10, 150), ANGLE)
def test_the_table_by_brute_force(
    of_rim: float, rim_at: int, of_tyre: float, tyre_at: int, force: float, force_at: int
) -> None:
    """Every turn, with traces moved along point by point and forces as vectors."""
    rim, tyre = [(1, of_rim, float(rim_at)), (2, 0.1, 10.0)], [(1, of_tyre, float(tyre_at)), (2, 0.15, 60.0)]
    found = judged(
        trace("assembly", *rim, *tyre),
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
        assert values(row) == pytest.approx(every[int(row.turn_deg)], abs=1e-9)
    by_goal = {row.goal: row for row in found.rows}
    assert list(by_goal) == ["as_is", "least_run_out", "least_unbalance", "least_force", "best"]
    for k, goal in enumerate(list(by_goal)[1:4]):
        assert values(by_goal[goal])[k] == pytest.approx(min(row[k] for row in every), abs=1e-6)
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
    moved = [replace(t, angles_deg=tuple((a + turn) % 360 for a in t.angles_deg)) for t in parts]
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
