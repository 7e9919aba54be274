"""Whether a tyre turn pays: wheels made of known parts; errors against many simulated readings."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from rimpoise_service.diagnosis.tyre_rotation import TyreRotationRequest, evaluate_rotation
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.stock import BUILTIN, ClipOn, Stock
from rimpoise_service.model.wheel import Valve, Wheel
from rimpoise_service.physics.readings import Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.acceptance import GradeAcceptance
from rimpoise_service.planning.effort import Effort

PLANES = ((-130.0, 220.0), (45.0, 210.0))


def turned(turn_deg: float) -> complex:
    """The direction of a turn."""
    return cmath.exp(1j * math.radians(turn_deg))


def heavy(position: float, radius: float, vector: complex) -> PointMass:
    """A mass [g] as a vector, at a place."""
    return PointMass(position, radius, abs(vector), math.degrees(cmath.phase(vector)) % 360)


def static(rim: complex, tyre: complex, turn_deg: float, **changes: Any) -> TyreRotationRequest:
    """A wheel of known parts [g], read statically before and after a turn of the tyre."""
    first, second = (Static(heavy(-40, 200, rim + tyre * turned(t)), "unbalance") for t in (0, turn_deg))
    return TyreRotationRequest((first, second), turn_deg, **changes)


def dynamic(rim: list[complex], tyre: list[complex], turn_deg: float, **changes: Any) -> TyreRotationRequest:
    """The same in two planes."""
    readings = []
    for t in (0.0, turn_deg):
        a, b = (heavy(*p, r + y * turned(t)) for p, r, y in zip(PLANES, rim, tyre, strict=True))
        readings.append(TwoPlane((a, b), "unbalance"))
    return TyreRotationRequest((readings[0], readings[1]), turn_deg, **changes)


def test_matching_a_tyre_to_its_rim() -> None:
    """Rim 30 g at 0°, tyre 50 g at 90°: at 90° more they oppose and leave ||R| − |T|| (first principles)."""
    found = evaluate_rotation(static(30, 50j, 180))
    assert [p.vector.mass_g for p in (*found.rim, *found.tyre)] == pytest.approx([30, 50])
    assert found.best.turn_deg == pytest.approx(90)
    assert found.best.from_now_deg == pytest.approx(270)
    assert found.best.exact_g == pytest.approx(20)
    assert found.now.exact_g == pytest.approx(math.hypot(30, 50))
    assert found.exact_saving_g == pytest.approx(math.hypot(30, 50) - 20)
    assert found.verdict == "pays"
    assert found.next_steps[0].values["sense"] == "counterclockwise"
    assert found.next_steps[0].values["size_deg"] == pytest.approx(90)


def test_how_far_a_state_is_from_now() -> None:
    """The tyre was turned by 140°: it was 220° on from there, and is best at 90°, 310° on."""
    found = evaluate_rotation(static(30, 50j, 140))
    assert (found.first.turn_deg, found.now.turn_deg) == (0, 140)
    assert [s.from_now_deg for s in (found.first, found.now, found.best)] == pytest.approx([220, 0, 310])


def test_a_wheel_that_is_at_its_best_is_left() -> None:
    found = evaluate_rotation(static(30, 50, 180))
    assert found.best.from_now_deg == pytest.approx(0, abs=1e-6)
    assert (found.verdict, found.saving_g) == ("does_not_pay", 0)
    assert [s.code for s in found.next_steps] == ["leave_tyre"]


def test_the_saving_is_held_against_the_minutes_it_takes() -> None:
    """2.5 g a minute: 20 g for a car's 8 min, 30 g for the 12 min of a low profile, 37.5 g for a bus's 15 min."""
    requested = static(30, 50j, 180)
    saved = evaluate_rotation(requested)
    assert (saved.verdict, saved.turn_min, saved.worth_g) == ("pays", 8, 20)
    assert saved.saving_g == pytest.approx(40)
    bus = evaluate_rotation(replace(requested, wheel=Wheel("steel", "factory", "bus")))
    assert (bus.verdict, bus.turn_min, bus.worth_g) == ("pays", 15, 37.5)
    low = replace(requested, acceptance=GradeAcceptance("G40", 20, 200, tyre_size="245/35 R19"))
    assert (low.turn_min, low.has_to_save_g) == (12, 30)
    slow = evaluate_rotation(replace(requested, effort=Effort(tyre_turn_min=30)))
    assert (slow.verdict, slow.worth_g) == ("does_not_pay", 75)
    assert slow.next_steps[0].values == {"worth_g": 75, "turn_min": 30}
    assert evaluate_rotation(replace(requested, worth_g=50)).verdict == "does_not_pay"


def test_a_rim_that_is_the_worse_part_asks_for_its_run_out() -> None:
    """Rim 70 g, tyre 20 g: no turn brings it under 50 g; the other way round the tyre is to blame."""
    guilty = evaluate_rotation(static(70, 20j, 180))
    assert guilty.next_steps[0].code == "measure_rim_run_out"
    assert guilty.next_steps[0].values["rim_g"] == pytest.approx(70)
    assert guilty.next_steps[0].values["operation"] == "/v1/run-outs"
    assert guilty.next_steps[0].values["send"] == ("traces",)
    assert "run-out of both bead seats" in text_of(guilty.next_steps[0])
    innocent = evaluate_rotation(static(20, 70j, 180))
    assert "measure_rim_run_out" not in {s.code for s in innocent.next_steps}
    unsure = evaluate_rotation(static(70, 20j, 180, machine_sd_g=40.0))
    assert "measure_rim_run_out" not in {s.code for s in unsure.next_steps}


def test_bead_work_minds_sensor_beads_and_paste() -> None:
    requested = static(30, 50j, 180)
    reported = {c.code for c in evaluate_rotation(requested).cautions}
    assert {"tyre_work", "bead_sensor", "stiff_beads", "fresh_paste"} <= reported
    bare = replace(requested, wheel=Wheel("steel", "factory", "car", valve=Valve(0, "none")))
    assert "bead_sensor" not in {c.code for c in evaluate_rotation(bare).cautions}


def test_a_saving_within_the_errors_is_uncertain() -> None:
    requested = static(40, 40j, 30, machine_sd_g=8.0)
    found = evaluate_rotation(requested)
    assert found.saving_g >= requested.has_to_save_g
    assert found.exact_saving_g < 2 * found.saving_sd_g
    assert found.verdict == "uncertain"
    assert {w.code for w in found.warnings} == {"small_turn"}
    assert evaluate_rotation(replace(requested, machine_sd_g=0.5)).verdict == "pays"


def test_worth_is_the_callers() -> None:
    assert evaluate_rotation(static(30, 50j, 180, worth_g=45.0)).verdict == "does_not_pay"


def test_weights_are_the_nearest_in_stock_however_heavy() -> None:
    """Of 40 g at most, 95 g take two and 15 g; 12.4 g take 10 g. Masses opposite the heavy side."""
    stock = Stock(
        (
            ClipOn("a", 40, "zinc"),
            ClipOn("b", 15, "zinc"),
            ClipOn("c", 10, "zinc"),
            ClipOn("d", 12, "zinc", on_hand=0),
        )
    )
    found = evaluate_rotation(dynamic([95, 12.4j], [0, 0], 180, stock=stock))
    assert [w.mass_g for w in found.now.weights] == pytest.approx([95, 10])
    assert [w.angle_deg for w in found.now.weights] == pytest.approx([180, 270])
    assert found.now.leaves.planes[1].mass_g == pytest.approx(2.4)
    assert found.now.within_acceptance


def test_an_empty_stock_is_told_to_the_gram() -> None:
    found = evaluate_rotation(static(30, 50j, 180, stock=Stock()))
    assert found.now.stock_g == pytest.approx(found.now.exact_g)
    assert "stock_empty" in {w.code for w in found.warnings}


def test_what_is_left_is_the_sum_of_wheel_and_weights() -> None:
    """Worked out again from forces and moments."""
    found = evaluate_rotation(dynamic([31 + 7j, 12 - 20j], [25j, 18 + 3j], 140, stock=BUILTIN["ounce"]))
    for state in (found.first, found.now, found.best):
        turn = turned(state.turn_deg)
        made = [31 + 7j + 25j * turn, 12 - 20j + (18 + 3j) * turn]
        left = [abs(m + w.vector / r) for m, w, (_, r) in zip(made, state.weights, PLANES, strict=True)]
        assert [p.mass_g for p in state.leaves.planes] == pytest.approx(left, abs=1e-9)
        assert state.exact_g == pytest.approx(sum(map(abs, made)))


@pytest.mark.parametrize(("machine_g", "turn_sd_deg"), [(0.4, 1.5), (0.02, 3.0)])
@pytest.mark.parametrize("turn", [60.0, 180.0, 250.0])
def test_the_error_bars_are_what_errors_do(turn: float, machine_g: float, turn_sd_deg: float) -> None:
    """4,000 readings of one wheel, readings and the turn between them out by that much; seed fixed here."""
    rng = np.random.default_rng(9)
    rim, tyre = np.array([31 + 7j, 12 - 30j]), np.array([40j, 28 + 3j])
    truth = evaluate_rotation(dynamic([*rim], [*tyre], turn, machine_sd_g=machine_g, turn_sd_deg=turn_sd_deg))
    best = turned(truth.best.turn_deg)
    savings, tyres = [], []
    for _ in range(4000):
        e = machine_g * (rng.normal(size=(2, 2)) + 1j * rng.normal(size=(2, 2)))
        real = turned(turn + turn_sd_deg * rng.normal())
        first, second = rim + tyre + e[0], rim + tyre * real + e[1]
        t = (second - first) / (turned(turn) - 1)
        reported = np.abs(second).sum() - np.abs(first - t + t * best).sum()
        savings.append(reported - np.abs(rim + tyre * real).sum())  # the tyre is where it is: no error that
        tyres.append(t)
    assert np.std(savings) == pytest.approx(truth.saving_sd_g, rel=0.1)
    for k in (0, 1):
        spread = np.array(tyres)[:, k]
        total = math.hypot(spread.real.std(), spread.imag.std())
        assert total / math.sqrt(2) <= truth.tyre[k].sd_g * 1.03
        assert total >= truth.tyre[k].sd_g * 0.97


def test_how_readings_were_taken_counts_in_the_error_bars() -> None:
    """By hand: a mean of four spins strays half as far; a step of 5 g adds 25/12 g², to one reading half of it."""
    plain = static(30, 50j, 120, machine_sd_g=1.0, turn_sd_deg=0.001)
    sd_g = evaluate_rotation(plain).tyre[0].sd_g
    means: dict[str, Any] = {"spins": 4}
    steps: dict[str, Any] = {"step_g": 5.0}
    for changes, share in (
        ((means, means), 0.5),
        ((steps, steps), math.sqrt(1 + 25 / 12)),
        (({}, steps), math.sqrt(1 + 25 / 24)),
    ):
        first, second = (replace(r, **c) for r, c in zip(plain.readings, changes, strict=True))
        found = evaluate_rotation(replace(plain, readings=(first, second)))
        assert found.tyre[0].sd_g == pytest.approx(share * sd_g, rel=1e-4)
        if changes[0]:
            assert found.saving_sd_g == pytest.approx(share * evaluate_rotation(plain).saving_sd_g, rel=0.05)


def test_cautions_speak_of_tyre_work_where_there_is_any() -> None:
    assert evaluate_rotation(static(30, 50j, 180)).cautions[0].code == "tyre_work"
    assert "tyre_work" not in {c.code for c in evaluate_rotation(static(30, 50, 180)).cautions}
