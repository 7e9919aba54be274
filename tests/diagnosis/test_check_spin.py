"""Why a check spin failed, and what to do: faults put into wheels by other means (``tests.bench``), found
again."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, chi2

from rimpoise_service.diagnosis.action_words import Action, cause_in_words
from rimpoise_service.diagnosis.added_weights import AddedWeight, fits_in
from rimpoise_service.diagnosis.check_spin import EXPLAINED, MOST_REPORTED, CheckSpin, Explanation, explain
from rimpoise_service.diagnosis.fault_hypotheses import single_causes
from rimpoise_service.diagnosis.fault_models import HOW_OFTEN, FittedCause
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spin_comparison import (
    CheckSpinRequest,
    Covariances,
    Resolver,
    Whitening,
    compare_spins,
)
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.stock import BUILTIN, ClipOn, Stock
from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.readings import StaticCouple, TwoPlane
from rimpoise_service.physics.unbalance import PointMass, Unbalance
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.spread import Spread
from tests.bench import best_action
from tests.bench import first_action as bench
from tests.bench.check_spin import FAULTS, inject, table
from tests.bench.wheels import vector, wheel
from tests.diagnosis.two_pieces import PIECES, STEADY_HANDS, A, B, spin_of, two_plane

seeds = st.integers(0, 10**6)


def cause_of(e: Explanation) -> FittedCause:
    """Its one cause."""
    (cause,) = e.hypothesis.causes
    return cause


def said(found: CheckSpin) -> str:
    """The first action's sentence."""
    return text_of(found.actions[0].says)


def done(action: Action, fitted: tuple[FittedPiece, ...], real: tuple[PointMass, ...]) -> tuple[PointMass, ...]:
    """The pieces that are on after an action."""
    off = {*(m.piece for m in action.moves), *action.removes}
    moved = [PointMass(m.position_mm, m.radius_mm, fitted[m.piece].mass_g, m.angle_deg) for m in action.moves]
    added = [PointMass(a.position_mm, a.radius_mm, a.mass_g, a.angle_deg) for a in action.adds]
    return (*(p for k, p in enumerate(real) if k not in off), *moved, *added)


@pytest.mark.slow
def test_the_injected_fault_is_ranked_first() -> None:
    """Of effects over three times the machine's repeatability: at least 85 % of all, twins included; and of each
    fault no fewer than 85 % leaves to chance (binomial, one in forty) of those that physics does not make
    indistinguishable: with other seeds of 150 wheels a light piece stands first in 80 to 91 % of these. Seed fixed
    in the bench's call."""
    rows = table(120, seed=20)
    right = sum(row.first[fault] for fault, row in rows.items())
    assert right >= 0.85 * 120 * len(FAULTS)
    for fault, row in rows.items():
        assert row.apart_right >= binom.ppf(0.025, 120 - row.twins, 0.85), fault


@pytest.mark.slow
def test_the_first_action_helps() -> None:
    """Wheels drawn by forces and moments: what became of them after the first action alone, 60 of each fault."""
    rows = {fault: outcomes for fault, (outcomes, _) in bench.table(60, seed=3).items()}
    single = [rows[fault] for fault in bench.SINGLE if fault not in bench.SETUP]
    assert sum(o["cured"] + o["better"] for o in single) >= 0.95 * 60 * len(single)
    sense = [rows[fault] for fault in bench.READING_SENSE]
    assert sum(o["cured"] + o["better"] for o in sense) >= 0.95 * 60 * len(sense)
    assert rows["none"]["worse"] <= 1
    assert rows["centring"]["worse"] <= 2
    assert rows["two_at_once"]["cured"] + rows["two_at_once"]["better"] >= 0.6 * 60
    assert rows["two_at_once"]["worse"] <= 0.05 * 60


@pytest.mark.slow
def test_the_first_action_comes_near_what_is_possible() -> None:
    """Beside judges that know how the wheels were drawn, 15 of each fault that is taken for another: by the same
    ranking they help little more often (no more than 6 points, three standard errors), and what the best action
    could be worth is little more than the aims are, so no ranking gets far beyond them."""
    found = best_action.score(15, seed=8)
    assert found.ours >= found.by_effort - 0.06
    assert found.promised <= found.aimed + 0.06
    assert abs(found.promised - found.played) < 0.12


@pytest.mark.parametrize("fault", FAULTS)
@settings(max_examples=25)
@given(seeds)
def test_without_error_the_size_is_exact(fault: str, seed: int) -> None:
    """A machine of 0.01 g: the fault is among the causes with its size, if it does enough to be chased."""
    injected = inject(fault, np.random.default_rng(seed), sd_g=0.01)
    clean = replace(injected.clean, acceptance=Acceptance(0.001, 0.001))
    told = explain(clean).explanations
    ours = [
        e for e in told if (e.hypothesis.causes[0].cause, e.hypothesis.causes[0].piece) == (fault, injected.piece)
    ]
    if compare_spins(clean).largest_g(compare_spins(clean).innovation) < 2:
        return
    assert ours[0].explains
    assert ours[0].unexplained_g < 1e-6
    if fault in ("piece_shifted", "piece_light", "piece_heavy", "plane_distance", "centring"):
        assert cause_of(ours[0]).size == pytest.approx(injected.size, rel=1e-6)


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


def test_the_effort_by_hand() -> None:
    """Of one clip-on renewed: 0.3 + 0.5 + 0.4 min, and (1 − P)/P times that with 2 min for the spin that fails."""
    found = explain(spin_of((replace(PIECES[0], angle_deg=126), PIECES[1])))
    for action in found.actions:
        if len(action.moves) == 1:
            p = max(action.pass_chance_pct / 100, 0.01)
            assert action.effort_min == pytest.approx(1.2 + (1 - p) * (1.2 + 2.0) / p)
        if action.code == "add" and len(action.adds) == 1:
            p, grams = max(action.pass_chance_pct / 100, 0.01), action.adds[0].mass_g
            aside = 1.0  # far from where a weight was called for: both are fitted again some day
            assert action.effort_min == pytest.approx(0.9 + (1 - p) * 2.9 / p + 0.05 * grams + aside)
    efforts = [a.effort_min for a in found.actions]
    assert efforts == sorted(efforts)


def test_a_piece_aside_is_moved_before_weights_fight_it() -> None:
    """14° off: what is left lies at right angles, and no plan has clip-ons a quarter of a turn apart."""
    found = explain(spin_of((replace(PIECES[0], angle_deg=126), PIECES[1])))
    assert found.actions[0].code == "move"
    seen = compare_spins(spin_of((replace(PIECES[0], angle_deg=126), PIECES[1])))
    (aside,) = {a for c in found.actions if c.code == "add" and len(c.adds) == 1 for a in c.adds}
    assert not fits_in(seen, aside)
    beside = replace(aside, angle_deg=PIECES[0].angle_deg + 20)
    assert fits_in(seen, beside)
    assert not fits_in(seen, replace(beside, angle_deg=PIECES[0].angle_deg + 40))
    assert fits_in(seen, replace(beside, style="adhesive", angle_deg=PIECES[0].angle_deg + 80))
    assert not fits_in(seen, replace(beside, style="adhesive", angle_deg=PIECES[0].angle_deg + 100))


def test_a_third_clip_on_of_a_flange_is_no_plan() -> None:
    halves = tuple(replace(PIECES[0], mass_g=20, angle_deg=112 + by) for by in (-8, 8))
    spin = replace(spin_of((PIECES[1],)), fitted=(*halves, PIECES[1]))
    weight = AddedWeight(*A, 5, 112, "clip_on", None)
    assert not fits_in(compare_spins(spin), weight)
    assert fits_in(compare_spins(replace(spin, fitted=halves[:1])), weight)


def test_what_is_renewed_follows_both_readings() -> None:
    """Called 36 g and 21.5 g, fitted 40 g, 15° aside, and 20 g: a new one of 35 g leaves less than one of 40 g."""
    called = (cmath.rect(36, math.radians(112)), cmath.rect(21.5, math.radians(287.5)))
    real = (cmath.rect(40, math.radians(127)), cmath.rect(20, math.radians(287.5)))
    after = two_plane(real[0] - called[0], real[1] - called[1])
    spin = replace(spin_of(PIECES), before=two_plane(-called[0], -called[1]), after=after)
    found = explain(spin)
    first = found.actions[0]
    assert (first.code, first.removes, first.moves) == ("renew", (0,), ())
    (new,) = first.adds
    assert (new.mass_g, new.style) == (35, "clip_on")
    assert new.angle_deg == pytest.approx(112, abs=2)
    moved = next(a for a in found.actions if a.code == "move")
    assert first.pass_chance_pct > moved.pass_chance_pct
    assert text_of(first.says).startswith("Take off weight 1 and fit a new one, 35 g, at 11")


def test_the_shops_own_minutes_decide() -> None:
    """Where taking off costs a quarter of an hour, weights are added instead; where adding does, it is moved."""
    spin = spin_of((replace(PIECES[0], angle_deg=130), PIECES[1]))
    assert explain(replace(spin, effort=Effort(remove_min=15))).actions[0].code == "add"
    assert explain(replace(spin, effort=Effort(excess_min_per_g=1))).actions[0].code == "move"


def test_all_wheels_are_shared_among_the_causes() -> None:
    """A 0 that was shown is known beforehand; all else adds up to all wheels."""
    assert sum(often for cause, often in HOW_OFTEN.items() if cause != "shown_zero") == pytest.approx(1, abs=0.005)


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
    told = {cause_of(e).cause: cause_of(e) for e in explain(spin).explanations}
    assert told["plane_distance"].size == pytest.approx(40, rel=1e-3)
    assert "40 mm over the right one" in text_of(cause_in_words(pieces, told["plane_distance"]))


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


def test_a_piece_that_fell_off() -> None:
    spin = spin_of((replace(PIECES[0], mass_g=0), PIECES[1]))
    found = explain(spin)
    assert cause_of(found.explanations[0]).cause == "piece_lost"
    first = found.actions[0]
    assert (first.code, first.removes) == ("renew", (0,))
    assert (first.says.code, first.says.values["number"]) == ("renew_one", 1)
    assert [(a.mass_g, a.angle_deg, a.style) for a in first.adds] == [(40, 112, "clip_on")]


def test_noise_is_spun_again() -> None:
    """3.9 g where 3 g were promised and 3.5 g are allowed: within the machine's error, so nothing is taken off."""
    spin = spin_of(PIECES, acceptance=Acceptance(3.5, 3.5))
    before, after = (two_plane(c + 3, 0) for c in (0, 0.9))
    made = [vector(p) / p.radius_mm for p in PIECES]
    found = explain(replace(spin, before=two_plane(3 - made[0], -made[1]), after=after))
    assert before != after
    assert found.verdict == "adjust"
    assert (found.actions[0].code, found.actions[0].spin_again) == ("spin_again", True)
    assert not any(a.code == "add" for a in found.actions)


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


def test_two_faults_are_found_as_a_pair() -> None:
    """One shifted by 40°, one 18 g light: no single cause; as a pair both come out, and both are renewed."""
    real = (replace(PIECES[0], angle_deg=152), replace(PIECES[1], mass_g=2))
    found = explain(spin_of(real))
    assert found.verdict == "adjust"
    best = {c.piece: c for c in found.explanations[0].hypothesis.causes}
    assert {k: c.cause for k, c in best.items()} == {0: "piece_shifted", 1: "piece_light"} or 1 in best
    pair = next(
        e for e in found.explanations if {c.cause for c in e.hypothesis.causes} == {"piece_shifted", "piece_light"}
    )
    sizes = {c.cause: c.size for c in pair.hypothesis.causes}
    assert sizes["piece_shifted"] == pytest.approx(40, abs=0.5)
    assert sizes["piece_light"] == pytest.approx(18, abs=0.5)
    assert not found.explanations[-1].explains or len(found.explanations[-1].hypothesis.causes) == 2
    first = found.actions[0]
    left = done(first, PIECES, real)
    assert Unbalance.of(left).static == pytest.approx(Unbalance.of(PIECES).static, abs=1e-6)


def test_what_nothing_explains_is_started_over() -> None:
    """Three faults, two in one plane: nothing fits, so no weights are added."""
    planned = (FittedPiece(*A, 40, 0), FittedPiece(*A, 40, 50), FittedPiece(*B, 20, 200))
    made = [80j * 0, 0j]
    made = [sum(vector(p) for p in planned[:2]) / A[1], vector(planned[2]) / B[1]]
    spin = CheckSpinRequest(
        two_plane(-made[0], -made[1]), planned, two_plane(-190 + 90j, 150 + 60j), spread=STEADY_HANDS
    )
    found = explain(spin)
    assert found.verdict == "recheck_setup"
    assert "start_over" in {a.code for a in found.actions}
    assert "add" not in {a.code for a in found.actions}
    assert "nothing_explains" in {w.code for w in found.warnings}


@pytest.mark.parametrize(
    ("real", "cause", "words"),
    [
        (tuple(replace(p, angle_deg=p.angle_deg + 180) for p in PIECES), "all_on_heavy_side", "half a turn on"),
        (tuple(replace(p, angle_deg=-p.angle_deg) for p in PIECES), "all_mirrored", "clockwise seen from outside"),
        (tuple(replace(p, angle_deg=p.angle_deg + 70) for p in PIECES), "all_turned", "70° too far clockwise"),
    ],
)
def test_mistakes_of_reading_have_moves(real: tuple[PointMass, ...], cause: str, words: str) -> None:
    """Weights on the heavy side double the fault; angles from the wrong side mirror it."""
    found = explain(spin_of(real, effort=Effort(excess_min_per_g=0.2)))
    assert found.verdict == "adjust"
    assert cause_of(found.explanations[0]).cause == cause
    assert found.actions[0].code == "move"
    assert [(m.piece, m.angle_deg) for m in found.actions[0].moves] == [(0, 112), (1, 287.5)]
    assert words in said(found)


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
    assert explain(coarse.spin).explanations[0].hypothesis.has("as_planned")


def test_what_a_zero_hides_follows_the_device() -> None:
    real = (PIECES[0], replace(PIECES[1], mass_g=20))
    before = TwoPlane((PointMass(*A, 40, 112), PointMass(*B, 0, 0)))
    spins = [
        replace(spin_of(real), before=replace(before, zero_below_g=g), fitted=PIECES[:1]) for g in (0.0, 5.0, 12.0)
    ]
    spreads = [
        h.spreads
        for seen in map(compare_spins, spins)
        for m in single_causes(seen)
        if m.cause == "shown_zero" and (h := m.fit(seen.whitening(seen.innovation)))
    ]
    assert spreads == [(2.5, 2.5), (2.5, 2.5), (6.0, 6.0)]


def test_a_zero_that_hid_something() -> None:
    """Nothing was shown outboard, nothing was fitted there, and the check spin shows 6 g there."""
    inboard = FittedPiece(*A, 40, 112)
    a = vector(inboard) / A[1]
    spin = CheckSpinRequest(two_plane(-a, 0), (inboard,), two_plane(0, 6), spread=STEADY_HANDS, reclamped="no")
    found = explain(spin)
    assert "shown_zero" in {cause_of(e).cause for e in found.explanations if e.explains}
    fine = next(x for x in found.actions if x.code == "check_mode")
    assert "finest display" in text_of(fine.says)


def test_a_size_dialled_wrong() -> None:
    """All is shown a quarter too large, before and after: what the pieces do shows as 1.25 times as much."""
    made = [vector(p) / p.radius_mm for p in PIECES]
    spin = replace(spin_of(PIECES), after=two_plane(0.25 * made[0], 0.25 * made[1]))
    found = explain(spin)
    assert cause_of(found.explanations[0]).cause == "size_or_mode_wrong"
    assert cause_of(found.explanations[0]).size == pytest.approx(25, abs=0.5)
    assert (found.verdict, found.actions[0].code) == ("recheck_setup", "check_mode")


def test_added_weights_come_from_the_stock() -> None:
    """The nearest that fits where the piece beside it does; spent ones don't count; without a stock steps of 5
    g."""

    def clip(sku: str, mass: float, **more: Any) -> ClipOn:
        return ClipOn(sku, mass, "zinc", **more)

    stock = Stock(
        (clip("S11", 11, for_materials=("steel",)), clip("A10", 10, on_hand=0), clip("A7", 7), clip("A30", 30))
    )
    fitted = (replace(PIECES[0], sku="A30"), PIECES[1])
    spin = replace(spin_of((replace(PIECES[0], mass_g=29.5), PIECES[1])), fitted=fitted, reclamped="no")
    with_stock = [a for a in explain(replace(spin, stock=stock)).actions if a.code == "add"]
    assert [(w.sku, w.mass_g) for w in with_stock[0].adds] == [("A7", 7)]
    without = [a for a in explain(spin).actions if a.code == "add"]
    assert [(w.sku, w.mass_g) for w in without[0].adds] == [(None, 10)]
    assert without[0].adds[0].angle_deg == pytest.approx(112)
    strip = replace(fitted[0], style="adhesive")
    segments = explain(replace(spin, fitted=(strip, PIECES[1]), stock=BUILTIN["metric"])).actions
    assert {w.mass_g for a in segments if a.code == "add" for w in a.adds if w.style == "adhesive"} == {10}


def test_arcs_act_as_less() -> None:
    """A strip over 90° acts as 0.900316 of its mass (Beer & Johnston, Statics, fig. 5.8B)."""
    assert abs(FittedPiece(0, 200, 10, 0, arc_deg=90).vector) == pytest.approx(2000 * 0.900316, rel=1e-6)


def test_static_readings_tell_nothing_of_planes() -> None:
    injected = inject("piece_light", np.random.default_rng(2), static=True)
    found = explain(injected.clean)
    told = {c.cause for e in found.explanations for c in e.hypothesis.causes}
    assert not told & {"piece_on_other_plane", "planes_swapped", "plane_distance"}
    assert "piece_light" in told
    assert found.measured.planes == ()
    assert found.measured.couple_gmm2 == 0


def test_readings_without_planes_are_told_at_the_planes_given() -> None:
    planes = (Plane("a", *A), Plane("b", *B))
    spin = spin_of((replace(PIECES[0], angle_deg=126), PIECES[1]))
    told = []
    for reading in (spin.before, spin.after):
        static, moment = _sums(reading)
        told.append(StaticCouple(0.0, static, moment, "unbalance"))
    found = explain(CheckSpinRequest(told[0], PIECES, told[1], planes=planes))
    assert cause_of(found.explanations[0]).size == pytest.approx(14)
    assert [p.plane.name for p in found.measured.planes] == ["a", "b"]


def _sums(reading: Any) -> tuple[complex, complex]:
    return sum(vector(m) for m in reading.planes), sum(vector(m) * m.position_mm for m in reading.planes)


@given(seeds, st.floats(-180, 180), st.floats(-300, 300))
@settings(max_examples=30)
def test_the_mark_and_the_datum_are_the_callers(seed: int, turn: float, shift: float) -> None:
    """Turned and moved along the axis, odds and efforts stay, mirrored pieces aside: a mirror has its own axis."""
    spin = inject("piece_shifted", np.random.default_rng(seed)).spin

    def moved(m: Any) -> Any:
        return replace(m, position_mm=m.position_mm + shift, angle_deg=(m.angle_deg + turn) % 360)

    def moved_reading(reading: Any) -> TwoPlane:
        a, b = map(moved, reading.planes)
        return TwoPlane((a, b), reading.reports)

    again = replace(
        spin,
        before=moved_reading(spin.before),
        fitted=tuple(map(moved, spin.fitted)),
        after=moved_reading(spin.after),
    )
    was, now = (
        {
            (c.cause, c.piece): e.hypothesis.fit.log_evidence
            for e in explain(s).explanations
            for c in e.hypothesis.causes
            if len(e.hypothesis.causes) == 1 and "mirrored" not in c.cause
        }
        for s in (spin, again)
    )
    both = now.keys() & was.keys()  # twenty at most are told
    assert both
    assert {k: now[k] for k in both} == pytest.approx({k: was[k] for k in both}, rel=1e-6, abs=1e-6)


def test_the_gauge_is_what_the_errors_do() -> None:
    """Errors of machine and hands drawn, told at the check spin's planes: whitened, they have a spread of 1.

    The machine's in the planes of each reading; of pieces angle, mass and position, each on its own.
    """
    rng = np.random.default_rng(11)
    here, there = (Plane("a", *A), Plane("b", *B)), ((-100.0, 180.0), (20.0, 230.0))
    pieces = (FittedPiece(-110, 200, 60, 30), FittedPiece(30, 190, 50, 200, "adhesive"))
    hands = Spread(3.0, 4.0, 4.0, 5.0, 1.5)
    spin = CheckSpinRequest(
        TwoPlane((PointMass(*there[0], 0, 0), PointMass(*there[1], 0, 0))),
        pieces,
        TwoPlane((PointMass(*A, 0, 0), PointMass(*B, 0, 0))),
        spread=hands,
    )
    resolve = Resolver((A[0], B[0]))
    whitening = Whitening.of(resolve, Covariances.of(spin, here).innovation)
    seen = []
    for _ in range(4000):
        errors = Unbalance()
        for planes in (there, (A, B)):
            for z, r in planes:
                errors += Unbalance.at(z, complex(*rng.normal(size=2)) * 1.5 * r)
        for p in pieces:
            slip, heavier, along = rng.normal(size=3) * (math.radians(3), 0.05, 4)
            errors += Unbalance.at(p.position_mm, p.vector * (1j * slip + heavier)) + Unbalance(
                0j, p.vector * along
            )
        seen.append(whitening(errors))
    spread = np.cov(np.array(seen).T)
    assert np.trace(spread) / 4 == pytest.approx(1, abs=0.03)
    assert np.linalg.eigvalsh(spread) == pytest.approx(np.ones(4), abs=0.3)


def test_many_pieces_are_told_in_part() -> None:
    rng = np.random.default_rng(3)
    on = wheel(rng)
    place = on.fitted[0]
    pieces = tuple(
        FittedPiece(place.position_mm, place.radius_mm, place.mass_g, float(a)) for a in rng.uniform(0, 360, 64)
    )
    injected = inject("centring", rng)
    found = explain(replace(injected.spin, fitted=pieces, acceptance=Acceptance(1, 1)))
    assert len(found.explanations) == MOST_REPORTED
    odds = [e.odds for e in found.explanations]
    assert odds == sorted(odds, reverse=True)


def test_no_pieces_at_all() -> None:
    """A repeated spin of the bare wheel."""
    spin = spin_of(PIECES)
    found = explain(CheckSpinRequest(spin.before, (), spin.before))
    assert found.verdict == "adjust"
    assert {cause_of(e).cause for e in found.explanations} == {"as_planned"}
    assert {a.code for a in found.actions} == {"spin_again", "add"}


def test_the_limits_of_what_is_explained_are_chi_squares() -> None:
    """The 99.9 % points, by scipy; with no numbers left nothing can speak against a cause."""
    for numbers, limit in EXPLAINED.items():
        assert limit == (math.inf if numbers == 0 else pytest.approx(chi2(numbers).ppf(0.999), abs=1e-3))


@pytest.mark.parametrize("near_mm", [1.0, 2.0])
@pytest.mark.parametrize("grams", [1e-3, 1e6])
@pytest.mark.parametrize("sd", [0.0, 1000.0])
def test_matrices_that_rounding_makes_singular_are_answered(near_mm: float, grams: float, sd: float) -> None:
    """Planes a hair apart, far from the pieces: every action still has a chance between none and all."""
    planes = ((9000.0, 5000.0), (9000.0 + near_mm, 0.1))
    a, b = (PointMass(*p, 40, 10) for p in planes)
    c, d = (PointMass(*p, 7e5, 100) for p in planes)
    fitted = (FittedPiece(-9000, 5000, grams, 200), FittedPiece(9000, 0.1, grams, 20, "adhesive", 90))
    spin = CheckSpinRequest(TwoPlane((a, b)), fitted, TwoPlane((c, d)), spread=Spread(0.0, 0.0, 0.0, sd))
    for action in explain(spin).actions:
        assert 0 <= action.pass_chance_pct <= 100
        assert math.isfinite(action.effort_min)
