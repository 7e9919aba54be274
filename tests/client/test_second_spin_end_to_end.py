"""The client and the real application: a plan fitted, one piece out of place, and the check spin explained."""

from __future__ import annotations

import cmath
from dataclasses import replace
from math import degrees, hypot, radians

import pytest

from rimpoise import (
    CheckSpinRequest,
    Client,
    GradeAcceptanceInput,
    Piece,
    PlanRequest,
    PointMass,
    PositionPlane,
    Preferences,
    RuleBroken,
    SpreadInput,
    StaticReading,
    TyreRotationRequest,
    two_plane,
)
from tests.client.invented import INBOARD, OUTBOARD, QUESTION, READING, ROUNDED


def shown(pieces: list[Piece]) -> list[PointMass]:
    """What the balancer calls with these pieces on: every arc as 2,000 grains, by lever arms about each plane."""
    planes = (INBOARD, OUTBOARD)
    called = []
    for here, there in (planes, planes[::-1]):
        total = here.mass_g * here.radius_mm * cmath.exp(1j * radians(here.angle_deg))
        for p in pieces:
            share = (p.position_mm - there.position_mm) / (here.position_mm - there.position_mm)
            for k in range(2000):
                at = radians(p.angle_deg + (p.arc_deg or 0) * ((k + 0.5) / 2000 - 0.5))
                total -= share * p.mass_g / 2000 * p.radius_mm * cmath.exp(1j * at)
        angle = degrees(cmath.phase(total)) % 360
        called.append(PointMass(here.position_mm, here.radius_mm, abs(total) / here.radius_mm, angle))
    return called


def fitted(live: Client) -> list[Piece]:
    """The pieces of a plan with strips."""
    question: PlanRequest = replace(QUESTION, preferences=Preferences("out_of_sight"))
    layout = live.plan(question).recommended
    assert layout is not None
    pieces = list(layout.pieces)
    assert max(p.arc_deg or 0 for p in pieces) > 15, "arcs that matter"
    return pieces


def test_a_strip_of_the_plan_that_went_on_askew(live: Client) -> None:
    pieces = fitted(live)
    heaviest = max(range(len(pieces)), key=lambda k: pieces[k].mass_g)
    really = [replace(p, angle_deg=p.angle_deg + 22 * (k == heaviest)) for k, p in enumerate(pieces)]
    after = two_plane(*shown(really))
    found = live.check_spin(
        CheckSpinRequest(READING, pieces, after, spread=SpreadInput(machine_sd_g=0.2), reclamped="no")
    )
    (fault,) = found.explanations[0].causes
    assert (found.verdict, fault.cause, fault.piece, fault.size_unit) == (
        "adjust",
        "piece_shifted",
        heaviest,
        "deg",
    )
    assert fault.size == pytest.approx(22, abs=0.05)
    assert fault.text.startswith(f"Weight {heaviest + 1} ")
    assert found.explanations[0].explains
    assert found.explanations[0].unexplained_g < 0.05
    move = next(a for a in found.actions if a.code == "move")
    assert move.moves[0].angle_deg == pytest.approx(pieces[heaviest].angle_deg)
    assert move.moves[0].radius_mm == pytest.approx(pieces[heaviest].radius_mm)
    assert move.values["number"] == heaviest + 1
    assert [a.effort_min for a in found.actions] == sorted(a.effort_min for a in found.actions)
    assert found.effort.remove_min == 0.3
    assert found.cautions


def test_the_plan_as_it_was_meant_passes(live: Client) -> None:
    pieces = fitted(live)
    question = CheckSpinRequest(
        READING, pieces, two_plane(*shown(pieces)), spread=SpreadInput(machine_sd_g=0.2), reclamped="no"
    )
    found = live.check_spin(question)
    assert (found.verdict, found.actions, found.ambiguous) == ("pass", (), False)
    assert [fault.cause for fault in found.explanations[0].causes] == ["as_planned"]
    graded = live.check_spin(replace(question, acceptance=GradeAcceptanceInput("G40", 20, speed_rpm=1000)))
    assert graded.limits.static_gmm == pytest.approx(40 * 20 * 1000 / (2 * cmath.pi * 1000 / 60))  # ISO 21940-11


def test_a_tyre_turn_that_pays(live: Client) -> None:
    """Rim 30 g at 0°, tyre 50 g at 90°, half a turn between the readings: 20 g are left of 58."""
    size, angle = hypot(30, 50), degrees(cmath.phase(30 + 50j))
    readings = [StaticReading(PositionPlane(0, 200, size, a), "unbalance") for a in (angle, 360 - angle)]
    found = live.tyre_turn(TyreRotationRequest(readings, 180))
    assert found.verdict == "pays"
    assert found.best.turn_deg == pytest.approx(90, abs=ROUNDED)
    assert found.exact_saving_g == pytest.approx(size - 20, abs=ROUNDED)
    assert [part[0].mass_g for part in (found.rim, found.tyre)] == pytest.approx([30, 50], abs=ROUNDED)
    assert found.next_steps[0].code == "turn_tyre"


def test_a_turn_of_nothing_is_refused(live: Client) -> None:
    reading = StaticReading(PositionPlane(0, 200, 40, 10))
    with pytest.raises(RuleBroken, match="turn of 5"):
        live.tyre_turn(TyreRotationRequest([reading, reading], 5))
