"""Run-out judged: limits, and whose it is."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rimpoise_service.diagnosis.run_out_limits import Direction, Part, default_limit
from rimpoise_service.diagnosis.run_out_models import (
    RIMS,
    RunOutLimit,
    Trace,
)
from rimpoise_service.physics.arrays import Floats
from tests.diagnosis.traces import EVEN, FINE, PLANES, WHOLE, codes, judged, trace, wave, with_jump


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
    requested = {"material": None, "vehicle_class": None, "steered": False} | known
    limit = default_limit(part, direction, **requested)  # type: ignore[arg-type]
    assert (limit and limit.total_mm) == (expected and pytest.approx(expected))


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


@pytest.mark.parametrize(("assembly", "seats"), [(EVEN, FINE), (FINE, EVEN)])
def test_rim_and_assembly_at_other_angles(assembly: Floats, seats: Floats) -> None:
    """More angles show more harmonics: those that both have are turned, 1.61 mm of tyre on 0.2 mm of rim."""
    rims = [trace(part, (1, 0.1, 130), at=seats) for part in RIMS]
    found = judged(trace("assembly", (1, 0.8, 40), at=assembly), *rims)
    assert found.best_turn is not None
    assert found.best_turn.best.run_out_mm == pytest.approx(2 * (math.hypot(0.8, 0.1) - 0.1), abs=0.01)
    assert found.tyre[0].amplitude_mm == pytest.approx(math.hypot(0.8, 0.1))


@pytest.mark.parametrize(("amplitude_mm", "doubted"), [(4.9, False), (5.1, True), (40.0, True)])
def test_no_wheel_runs_out_by_a_centimetre(amplitude_mm: float, doubted: bool) -> None:
    """Hundredths sent as millimetres."""
    found = judged(trace("assembly", (1, amplitude_mm, 0), at=FINE))
    assert ("run_out_unlikely" in [w.code for w in found.warnings]) is doubted


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


@pytest.mark.parametrize(("by", "said"), [(0.16, False), (-0.16, False), (0.25, True), (-0.25, True)])
@pytest.mark.parametrize("part", ["rim_inboard", "assembly"])
def test_what_a_dial_hardly_shows_is_no_spot(part: Part, by: float, said: bool) -> None:
    """It is seen, but a rim is not sent away for 0.16 mm, nor a turn of the tyre given up."""
    found = codes(judged(with_jump(trace(part, (1, 0.2, 0), at=FINE), 9, by)))
    assert bool({"local_bend", "flat_spot", "bump"} & set(found)) is said


def test_a_rough_tread_has_no_spots_but_the_real_one() -> None:
    """Readings that stray by 0.1 mm: of 72 one is soon 0.3 mm off, and no flat spot. One of 1 mm is."""
    rng = np.random.default_rng(7)
    angles = np.arange(0.0, 360.0, 5.0)
    for by, spots in ((0.0, 0), (-1.0, 10)):
        found: list[str] = []
        for _ in range(10):
            smooth = trace("assembly", (1, 0.2, 0), at=angles)
            rough = replace(smooth, reading_mm=tuple(smooth.reading_mm + rng.normal(0, 0.1, len(angles))))
            found += codes(judged(with_jump(rough, 9, by)))
        assert [c for c in found if c in {"flat_spot", "bump"}] == ["flat_spot"] * spots


@pytest.mark.parametrize("by", [25.0, -25.0])
@pytest.mark.parametrize("index", [0, 6, 11])
@pytest.mark.parametrize("part", ["assembly", "rim_inboard", "hub"])
def test_a_reading_that_cannot_be_is_read_again_and_nothing_else_concluded(
    part: Part, index: int, by: float
) -> None:
    """A slip of the pen is no bump, and shows neither whose the run-out is nor how to turn the tyre."""
    found = judged(with_jump(trace(part, (1, 0.9, 40)), index, by), wheel_mass_kg=20, planes=PLANES)
    assert codes(found) == ["lone_reading"]
    values = found.findings[0].values
    assert (values["number"], values["angle_deg"], values["name"]) == (index + 1, 30.0 * index, part)
    assert values["size_mm"] == pytest.approx(25, abs=1)


def test_the_other_traces_still_show_what_they_show_alone() -> None:
    slip = with_jump(WHOLE, 3, 25.0)
    rim = trace("rim_inboard", (1, 0.6, 40))
    assert codes(judged(slip, rim)) == ["lone_reading", "run_out_over"]
    assert {"tyre_by_difference", "run_out_over"} < set(codes(judged(WHOLE, rim)))


@pytest.mark.parametrize(("by", "lone"), [(9.0, False), (12.0, True)])
def test_a_stone_is_still_a_bump(by: float, lone: bool) -> None:
    found = judged(with_jump(trace("assembly", (1, 0.2, 0), at=FINE), 9, by))
    assert ("bump" in codes(found)) is not lone
    assert ("lone_reading" in codes(found)) is lone


def test_a_step_or_a_wave_of_any_size_has_no_lone_reading() -> None:
    """Two readings beside each other, or a wheel that was not clamped at all."""
    two = with_jump(with_jump(WHOLE, 3, 25.0), 4, 25.0)
    assert "lone_reading" not in codes(judged(two))
    assert "lone_reading" not in codes(judged(trace("assembly", (1, 30.0, 40))))


def test_a_slip_on_the_sidewall_is_no_splice() -> None:
    found = judged(with_jump(trace("assembly", (1, 0.3, 0), direction="lateral", at=FINE), 9, 25.0))
    assert codes(found) == ["lone_reading"]
    assert found.warnings == ()


def test_a_splice_of_the_sidewall_is_left_out() -> None:
    found = judged(with_jump(trace("assembly", (1, 0.3, 0), direction="lateral", at=FINE), 9, 2.0))
    assert (found.verdict, found.traces[0].left_out_deg) == ("good", (90,))
    assert [(w.code, w.values) for w in found.warnings] == [("splice_left_out", {"count": 1})]


def test_traces_that_do_not_repeat() -> None:
    found = judged(trace("hub", (1, 0.3, 0)), trace("hub", (1, 0.3, 90)))
    (said,) = [f for f in found.findings if f.code == "run_out_not_repeated"]
    assert said.values["off_mm"] == pytest.approx(0.3 * math.sqrt(2))
    assert "run_out_not_repeated" not in codes(judged(trace("hub", (1, 0.3, 0)), trace("hub", (1, 0.35, 0))))
