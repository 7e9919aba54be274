"""Why a check spin failed, by hand and by rule: what is found, what is said of it and how large it is."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from rimpoise_service.diagnosis.action_words import cause_in_words
from rimpoise_service.diagnosis.check_spin import PLAUSIBLE_ODDS, explain
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spin_comparison import (
    CheckSpinRequest,
    compare_spins,
)
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.readings import Static, StaticCouple, TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from tests.bench.check_spin import inject
from tests.bench.wheels import forces, vector
from tests.diagnosis.spin_answers import cause_of, said
from tests.diagnosis.two_pieces import PIECES, STEADY_HANDS, A, B, spin_of, two_plane


def test_a_shift_by_hand() -> None:
    """40 g that sit 14° too far clockwise leave 2 · 40 g · sin 7° (chord of the circle)."""
    found = explain(spin_of((replace(PIECES[0], angle_deg=126), PIECES[1])))
    assert found.verdict == "adjust"
    assert found.measured.planes[0].mass_g == pytest.approx(80 * math.sin(math.radians(7)))
    best = cause_of(found.explanations[0])
    assert (best.cause, best.piece, best.size_unit) == ("piece_shifted", 0, "deg")
    assert best.size == pytest.approx(14)
    assert found.explanations[0].odds == 1
    move = next(a for a in found.actions if a.code == "move")
    assert [(m.piece, m.angle_deg, m.position_mm) for m in move.moves] == [(0, 112, -130)]
    assert (move.adds, move.removes, move.spin_again) == ((), (), False)
    sentence = text_of(move.says)
    assert sentence.startswith("Take off weight 1 and fit a new one, 40 g, at 112°: 14° (54 mm along the rim)")
    assert "anticlockwise of it" in sentence


def test_a_wrong_distance_by_exact_fractions() -> None:
    """Set to 200 mm where 160 mm are right, it shows F_b · 160/200 in b, the rest of the sum in a (moments)."""
    planes = [(0.0, 200.0), (160.0, 200.0)]
    pieces = (FittedPiece(0, 200, 30, 0), FittedPiece(160, 200, 50, 0))
    share = Fraction(160, 200)
    shown = [30 + (1 - share) * 50, share * 50]
    masses = [PointMass(z, r, float(m), 0) for (z, r), m in zip(planes, shown, strict=True)]
    before = [PointMass(z, r, 0.001, 0) for z, r in planes]
    spin = CheckSpinRequest(
        TwoPlane((before[0], before[1]), "unbalance"), pieces, TwoPlane((masses[0], masses[1]), "unbalance")
    )
    reported = {cause_of(e).cause: cause_of(e) for e in explain(spin).explanations}
    assert reported["plane_distance"].size == pytest.approx(40, rel=1e-3)
    assert "40 mm over the right one" in text_of(cause_in_words(pieces, reported["plane_distance"]))


def test_planes_aside_by_exact_fractions() -> None:
    """Dialled 24 mm too far outboard of 160 mm: 24/160 of all that was fitted goes from b to a (moments)."""
    planes = [(0.0, 200.0), (160.0, 200.0)]
    pieces = (FittedPiece(0, 200, 30, 0), FittedPiece(160, 200, 50, 90))
    moved = Fraction(24, 160)
    fitted, shown = (30, 50j), (30 + float(moved) * (30 + 50j), 50j - float(moved) * (30 + 50j))
    before, after = (
        [PointMass(*p, abs(u), math.degrees(cmath.phase(u)) % 360) for p, u in zip(planes, us, strict=True)]
        for us in ([-u for u in fitted], [s - f for s, f in zip(shown, fitted, strict=True)])
    )
    spin = CheckSpinRequest(
        TwoPlane((before[0], before[1]), "unbalance"), pieces, TwoPlane((after[0], after[1]), "unbalance")
    )
    found = explain(spin)
    best = cause_of(found.explanations[0])
    assert best.cause == "rim_distance"
    assert best.size == pytest.approx(24)
    assert "24 mm off, to the outer side" in text_of(cause_in_words(pieces, best))
    first = found.actions[0]
    assert (found.verdict, first.code, first.moves, first.removes) == (
        "recheck_setup",
        "check_plane_distance",
        (),
        (),
    )
    assert "measure the distance to the wheel" in text_of(first.says)


def test_what_could_not_help_is_not_offered() -> None:
    """Weights on the heavy side: with one of them taken off it passes less than once in a hundred times."""
    real = tuple(replace(p, angle_deg=p.angle_deg + 180) for p in PIECES)
    found = explain(spin_of(real))
    assert "take_off" not in {a.code for a in found.actions}
    assert all(a.pass_chance_pct >= 1 for a in found.actions if a.code != "spin_again")


def test_the_plan_kept_and_passed_is_quiet() -> None:
    found = explain(spin_of(PIECES))
    assert (found.verdict, found.actions, found.ambiguous) == ("pass", (), False)
    assert [cause_of(e).cause for e in found.explanations] == ["as_planned"]
    assert found.warnings == ()


def test_weights_that_do_what_was_planned_are_not_started_over() -> None:
    """One plane can't correct a couple: 70 g a side stay, and would stay again."""
    in_a, in_b = cmath.rect(70, 0.5), -cmath.rect(70 * A[1] / B[1], 0.5)
    before = two_plane(in_a - cmath.rect(40, math.radians(112)), in_b)
    found = explain(CheckSpinRequest(before, PIECES[:1], two_plane(in_a, in_b), spread=STEADY_HANDS))
    assert (found.verdict, cause_of(found.explanations[0]).cause) == ("adjust", "as_planned")
    assert "start_over" not in [action.code for action in found.actions]
    (left,) = [m.values["left_g"] for m in found.warnings if m.code == "left_as_planned"]
    assert left == pytest.approx(abs(in_b))


def test_a_piece_that_fell_off() -> None:
    spin = spin_of((replace(PIECES[0], mass_g=0), PIECES[1]))
    found = explain(spin)
    assert cause_of(found.explanations[0]).cause == "piece_lost"
    first = found.actions[0]
    assert (first.code, first.removes) == ("renew", (0,))
    assert (first.says.code, first.says.values["number"]) == ("renew_one", 1)
    assert [(a.mass_g, a.angle_deg, a.style) for a in first.adds] == [(40, 112, "clip_on")]


def test_two_equal_pieces_side_by_side_are_told_as_two() -> None:
    """Physics can't say which of two pieces at one place is light: both are renewed, or weight is added."""
    planned = (PIECES[0], PIECES[0], PIECES[1])
    a, b = (p.mass_g * cmath.exp(1j * math.radians(p.angle_deg)) for p in PIECES)
    after = two_plane(-12 * a / 40, 0)
    found = explain(CheckSpinRequest(two_plane(-2 * a, -b), planned, after, spread=STEADY_HANDS))
    first, second = found.explanations[:2]
    assert {cause_of(first).piece, cause_of(second).piece} == {0, 1}
    assert cause_of(first).cause == cause_of(second).cause == "piece_light"
    assert cause_of(first).size == pytest.approx(12)
    assert second.odds == pytest.approx(1)
    assert found.ambiguous
    assert "ambiguous" in {w.code for w in found.warnings}
    one = next(x for x in found.actions if x.removes == (0,) and x.code == "renew")
    both = next(x for x in found.actions if x.removes == (0, 1))
    assert both.pass_chance_pct > 1.5 * one.pass_chance_pct


def clamped_off() -> CheckSpinRequest:
    """10 g of static, half in each plane: the same force, at the middle."""
    return replace(spin_of(PIECES), after=two_plane(10j * 215 / 220 / 2, 10j * 215 / 210 / 2), reclamped="yes")


def test_centring_is_a_set_up_fault() -> None:
    found = explain(clamped_off())
    assert found.verdict == "recheck_setup"
    best = cause_of(found.explanations[0])
    assert (best.cause, best.size_unit) == ("centring", "g")
    assert best.size == pytest.approx(10)
    assert best.angle_deg == pytest.approx(90)
    assert (found.actions[0].code, found.actions[0].spin_again) == ("centre_again", True)
    assert "add" not in {a.code for a in found.actions}


def test_a_wheel_that_stayed_clamped_has_no_centring_error() -> None:
    found = explain(replace(clamped_off(), reclamped="no"))
    assert not any(e.hypothesis.has("centring") for e in found.explanations)


def test_the_display_and_the_spins_count() -> None:
    """Two spins halve the machine's variance; 5 g steps add 25/12 g² and nothing under 10 g is chased."""
    spin = spin_of((replace(PIECES[0], angle_deg=126), PIECES[1]))
    plain = compare_spins(spin).covariances
    twice = compare_spins(replace(spin, after=replace(spin.after, spins=2))).covariances
    assert twice.after == pytest.approx(plain.after / 2)
    coarse = compare_spins(replace(spin, before=replace(spin.before, step_g=5.0)))
    assert coarse.covariances.before == pytest.approx(plain.before * (1 + 25 / 12))
    assert coarse.spin.step_g == 5
    found = explain(coarse.spin)
    assert found.explanations[0].hypothesis.has("as_planned")
    assert (found.verdict, found.actions[0].code) == ("adjust", "spin_again")
    assert "nothing_explains" not in {w.code for w in found.warnings}


def test_a_size_dialled_wrong() -> None:
    """All is shown a quarter too large, before and after: what the pieces do shows as 1.25 times as much."""
    made = [vector(p) / p.radius_mm for p in PIECES]
    spin = replace(spin_of(PIECES), after=two_plane(0.25 * made[0], 0.25 * made[1]))
    found = explain(spin)
    assert cause_of(found.explanations[0]).cause == "size_or_mode_wrong"
    assert cause_of(found.explanations[0]).size == pytest.approx(25, abs=0.5)
    assert (found.verdict, found.actions[0].code) == ("recheck_setup", "check_mode")


def test_one_of_two_sizes_dialled_wrong() -> None:
    """The two outboard pieces are shown 1.3 times as heavy: no single piece acts so."""
    pieces = (*PIECES, FittedPiece(*B, 30, 10))
    in_a, in_b = (u / r for u, r in zip(forces(pieces, (A[0], B[0])), (A[1], B[1]), strict=True))
    before, after = two_plane(-in_a, -in_b), two_plane(0, 0.3 * in_b)
    found = explain(CheckSpinRequest(before, pieces, after, spread=STEADY_HANDS, reclamped="no"))
    cause = cause_of(found.explanations[0])
    assert (cause.cause, cause.side) == ("one_size_wrong", "outboard")
    assert cause.size == pytest.approx(30, abs=1)
    assert "the size dialled in for the outer side" in said(found)
    assert "30% more" in said(found)


def test_a_wrong_size_and_a_piece_aside() -> None:
    """All is shown 1.3 times as large, and the inboard piece sits 30° on: one cause explains neither."""
    real = (replace(PIECES[0], angle_deg=142), PIECES[1])
    left = [u / r for u, r in zip(forces(real, (A[0], B[0])), (A[1], B[1]), strict=True)]
    made = [u / r for u, r in zip(forces(PIECES, (A[0], B[0])), (A[1], B[1]), strict=True)]
    read = [1.3 * now - called for now, called in zip(left, made, strict=True)]
    found = explain(replace(spin_of(PIECES), after=two_plane(*read), reclamped="no"))
    causes = [{(c.cause, c.piece) for c in e.hypothesis.causes} for e in found.explanations if e.explains]
    assert causes[0] == {("size_or_mode_wrong", None), ("piece_shifted", 0)}


@pytest.mark.parametrize("share", [-0.6, -0.15, 0.15, 0.7])
def test_nobody_is_sure_of_a_mass_where_a_wrong_size_does_the_same(share: float) -> None:
    """A piece alone in its plane, or read statically, too light or too heavy: the machine may show it so."""
    piece = FittedPiece(-40, 200, 60, 30)
    alone = [Static(replace(piece, mass_g=60 * x, angle_deg=30), reports="unbalance") for x in (-1, share)]
    spin = CheckSpinRequest(alone[0], (piece,), alone[1], spread=STEADY_HANDS, reclamped="no")
    made = vector(PIECES[0]) / A[1]
    for asked in (spin, replace(spin_of(PIECES), after=two_plane(share * made, 0), reclamped="no")):
        found = explain(asked)
        causes = {cause_of(e).cause for e in found.explanations if e.odds >= PLAUSIBLE_ODDS}
        assert causes & {"size_or_mode_wrong", "one_size_wrong"}
        assert found.ambiguous


def test_arcs_act_as_less() -> None:
    """A strip over 90° acts as 0.900316 of its mass (Beer & Johnston, Statics, fig. 5.8B)."""
    assert abs(FittedPiece(0, 200, 10, 0, arc_deg=90).vector) == pytest.approx(2000 * 0.900316, rel=1e-6)


def test_static_readings_tell_nothing_of_planes() -> None:
    injected = inject("piece_light", np.random.default_rng(2), static=True)
    found = explain(injected.clean)
    reported = {c.cause for e in found.explanations for c in e.hypothesis.causes}
    assert not reported & {"piece_on_other_plane", "planes_swapped", "plane_distance"}
    assert "piece_light" in reported
    assert found.measured.planes == ()
    assert found.measured.couple_gmm2 == 0


def _sums(reading: Any) -> tuple[complex, complex]:
    return sum(vector(m) for m in reading.planes), sum(vector(m) * m.position_mm for m in reading.planes)


def test_readings_without_planes_are_reported_at_the_planes_given() -> None:
    planes = (Plane("a", *A), Plane("b", *B))
    spin = spin_of((replace(PIECES[0], angle_deg=126), PIECES[1]))
    reported = []
    for reading in (spin.before, spin.after):
        static, moment = _sums(reading)
        reported.append(StaticCouple(0.0, static, moment, "unbalance"))
    found = explain(CheckSpinRequest(reported[0], PIECES, reported[1], planes=planes))
    assert cause_of(found.explanations[0]).size == pytest.approx(14)
    assert [p.plane.name for p in found.measured.planes] == ["a", "b"]


def test_no_pieces_at_all() -> None:
    """A repeated spin of the bare wheel."""
    spin = spin_of(PIECES)
    found = explain(CheckSpinRequest(spin.before, (), spin.before))
    assert found.verdict == "adjust"
    assert {cause_of(e).cause for e in found.explanations} == {"as_planned"}
    assert {a.code for a in found.actions} == {"spin_again", "add"}


@pytest.mark.parametrize(("light_g", "verdict"), [(2, "pass"), (12, "adjust")])
def test_a_static_spin_after_a_reading_in_two_planes(light_g: float, verdict: str) -> None:
    """Its static part is known: of the inner piece so much is missing."""
    missing = Static(PointMass(A[0], A[1], light_g, 112))
    found = explain(replace(spin_of(PIECES), after=missing))
    assert found.verdict == verdict
    assert found.expected.static_g == pytest.approx(0, abs=1e-6)
    assert found.measured.static_gmm == pytest.approx(light_g * A[1])
    assert ("static_tells_less" in {w.code for w in found.warnings}) == (verdict != "pass")
