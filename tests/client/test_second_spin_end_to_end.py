"""The client and the real application: a plan fitted, one piece out of place, and the check spin explained."""

from __future__ import annotations

import cmath
from dataclasses import replace
from math import degrees, hypot, radians

import pytest

from rimpoise import (
    CheckSpinQuestion,
    Client,
    FittedMass,
    GradeAcceptance,
    PlanQuestion,
    PointMass,
    PositionPlane,
    Preferences,
    RuleBroken,
    StaticReading,
    TyreTurnQuestion,
    two_plane,
)
from tests.client.invented import INBOARD, OUTBOARD, QUESTION, READING, ROUNDED


def shown(pieces: list[FittedMass]) -> list[PointMass]:
    """What the balancer calls with these pieces on: every arc as 2,000 grains, by lever arms about each plane."""
    planes = (INBOARD, OUTBOARD)
    called = []
    for here, there in (planes, planes[::-1]):
        total = here.mass_g * here.radius_mm * cmath.exp(1j * radians(here.angle_deg))
        for p in pieces:
            lever = (p.position_mm - there.position_mm) / (here.position_mm - there.position_mm)
            for k in range(2000):
                at = radians(p.angle_deg + p.arc_deg * ((k + 0.5) / 2000 - 0.5))
                total -= lever * p.mass_g / 2000 * p.radius_mm * cmath.exp(1j * at)
        angle = degrees(cmath.phase(total)) % 360
        called.append(PointMass(here.position_mm, here.radius_mm, abs(total) / here.radius_mm, angle))
    return called


def fitted(live: Client) -> list[FittedMass]:
    """The pieces of a plan with strips."""
    question: PlanQuestion = replace(QUESTION, preferences=Preferences("out_of_sight"))
    layout = live.plan(question).recommended
    assert layout is not None
    pieces = [FittedMass.of(piece) for piece in layout.pieces]
    assert max(p.arc_deg for p in pieces) > 15, "arcs that matter"
    return pieces


def test_a_strip_of_the_plan_that_went_on_askew(live: Client) -> None:
    pieces = fitted(live)
    heaviest = max(range(len(pieces)), key=lambda k: pieces[k].mass_g)
    really = [replace(p, angle_deg=p.angle_deg + 22 * (k == heaviest)) for k, p in enumerate(pieces)]
    after = two_plane(*shown(really))
    found = live.check_spin(CheckSpinQuestion(READING, pieces, after, machine_sd_g=0.2))
    best = found.explanations[0]
    assert (found.verdict, best.cause, best.piece, best.size_unit) == ("adjust", "piece_shifted", heaviest, "deg")
    assert best.size == pytest.approx(22, abs=0.01)
    assert best.explains
    assert best.unexplained_g < 0.01
    cure, trim = found.adjustments[0], found.adjustments[-1]
    assert (cure.kind, trim.kind) == ("cure", "trim")
    assert cure.moves[0].to_deg == pytest.approx(pieces[heaviest].angle_deg)
    assert [w.mass_g for w in trim.weights] == pytest.approx([p.mass_g for p in after.planes], abs=ROUNDED)
    assert found.cautions


def test_the_plan_as_it_was_meant_passes(live: Client) -> None:
    pieces = fitted(live)
    question = CheckSpinQuestion(READING, pieces, two_plane(*shown(pieces)), machine_sd_g=0.2)
    found = live.check_spin(question)
    assert (found.verdict, found.explanations[0].cause) == ("pass", "as_planned")
    graded = live.check_spin(replace(question, acceptance=GradeAcceptance("G40", 20, speed_rpm=1000)))
    assert graded.limits.static_gmm == pytest.approx(40 * 20 * 1000 / (2 * cmath.pi * 1000 / 60))  # ISO 21940-11


def test_a_tyre_turn_that_pays(live: Client) -> None:
    """Rim 30 g at 0°, tyre 50 g at 90°, half a turn between the readings: 20 g are left of 58."""
    size, angle = hypot(30, 50), degrees(cmath.phase(30 + 50j))
    readings = [StaticReading(PositionPlane(0, 200, size, a), "unbalance") for a in (angle, 360 - angle)]
    found = live.tyre_turn(TyreTurnQuestion(readings, 180))
    assert found.verdict == "pays"
    assert found.best.turn_deg == pytest.approx(90, abs=ROUNDED)
    assert found.exact_saving_g == pytest.approx(size - 20, abs=ROUNDED)
    assert [part[0].mass_g for part in (found.rim, found.tyre)] == pytest.approx([30, 50], abs=ROUNDED)
    assert found.next_steps[0].code == "turn_tyre"


def test_a_turn_of_nothing_is_refused(live: Client) -> None:
    reading = StaticReading(PositionPlane(0, 200, 40, 10))
    with pytest.raises(RuleBroken, match="turn of 5"):
        live.tyre_turn(TyreTurnQuestion([reading, reading], 5))
