"""What to do about a check spin: the effort of each action, and what becomes of the wheel after it."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from rimpoise_service.diagnosis.added_weights import AddedWeight, fits_in
from rimpoise_service.diagnosis.check_spin import explain
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spin_actions import additions, candidates
from rimpoise_service.diagnosis.spin_comparison import CheckSpinRequest, compare_spins
from rimpoise_service.diagnosis.wheel_posterior import Predicted, pass_probabilities
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.stock import BUILTIN, ClipOn, Stock
from rimpoise_service.model.wheel import Flange, Land, Wheel
from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.effort import Effort
from rimpoise_service.planning.tolerance_check import ToleranceEvaluator
from tests.bench import first_action as bench
from tests.bench.wheels import forces, vector
from tests.diagnosis.spin_answers import cause_of, said
from tests.diagnosis.two_pieces import PIECES, STEADY_HANDS, A, B, spin_of, two_plane


@pytest.mark.slow
def test_the_first_action_helps() -> None:
    """Wheels drawn by forces and moments: what became of them after the first action alone, 60 of each fault."""
    rows = {fault: outcomes for fault, (outcomes, _) in bench.table(60, seed=3).items()}
    single = [rows[fault] for fault in bench.SINGLE if fault not in bench.SETUP]
    assert sum(o["cured"] + o["better"] for o in single) >= 0.95 * 60 * len(single)
    sense = [rows[fault] for fault in bench.READING_SENSE]
    assert sum(o["cured"] + o["better"] for o in sense) >= 0.95 * 60 * len(sense)
    (right, _) = bench.table(400, seed=3, faults=("none",))["none"]
    assert right["worse"] <= 0.01 * 400
    assert rows["centring"]["worse"] <= 2
    assert rows["two_at_once"]["cured"] + rows["two_at_once"]["better"] >= 0.6 * 60
    assert rows["two_at_once"]["worse"] <= 0.05 * 60


@pytest.mark.parametrize("static_only", [False, True])
def test_the_probability_to_pass_is_that_of_draws(static_only: bool) -> None:
    """Of wheels read in two planes, also where their static sum alone is judged."""
    planes = (Plane("inner", -130, 220), Plane("outer", 40, 210))
    judged = ToleranceEvaluator.at(planes, Acceptance(5, 4), static_only=static_only)
    rng = np.random.default_rng(8)
    hands = rng.normal(size=(4, 4)) * 300
    mean, covariance = np.array([700.0, -200.0, -150.0, 500.0]), hands @ hands.T
    (chance,) = pass_probabilities([Predicted(mean, covariance)], judged)
    drawn = rng.multivariate_normal(mean, covariance, 40_000)
    at_planes = drawn[:, :2] + 1j * drawn[:, 2:]
    passing = np.abs(at_planes.sum(axis=1)) <= judged.limits.static_gmm
    if not static_only:
        passing &= (np.abs(at_planes) <= judged.limits.planes_gmm).all(axis=1)
    assert 0.1 < passing.mean() < 0.9
    assert chance == pytest.approx(passing.mean(), abs=0.015)


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


def test_whatever_is_believed_all_may_be_renewed_and_each_taken_off() -> None:
    found = candidates(compare_spins(spin_of(PIECES)), [])
    assert [(c.code, c.renewed, c.removed) for c in found] == [
        ("spin_again", (), ()),
        ("renew", (0, 1), ()),
        ("take_off", (), (0,)),
        ("take_off", (), (1,)),
    ]
    assert [c.code for c in candidates(compare_spins(replace(spin_of(PIECES), fitted=())), [])] == ["spin_again"]


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


def test_what_was_promised_over_the_limit_is_not_only_spun_again() -> None:
    """8 g promised and shown, 5 g allowed: nothing is wrong, another spin shows the same, so it takes a weight."""
    made = [vector(p) / p.radius_mm for p in PIECES]
    found = explain(replace(spin_of(PIECES), before=two_plane(8 - made[0], -made[1]), after=two_plane(8, 0)))
    assert cause_of(found.explanations[0]).cause == "as_planned"
    (added,) = found.actions[0].adds
    assert found.actions[0].code == "add"
    assert added.angle_deg == pytest.approx(180)
    assert 5 <= added.mass_g <= 10
    where = "at 180° (6 o'clock), inner side, in the plane of weight 1: it cancels what the check spin shows."
    assert text_of(found.actions[0].says) == f"Add {added.mass_g:g} g {where}"
    again = next(a for a in found.actions if a.code == "spin_again")
    assert again.pass_chance_pct < 5 < 90 < found.actions[0].pass_chance_pct


def test_a_wheel_is_looked_at_before_right_pieces_are_touched() -> None:
    """Nothing wrong with any of 60 wheels: where that is likeliest, only what has better odds touches a piece."""
    looked = touched = 0
    for number in range(60):
        _, spin = bench.inject("none", np.random.default_rng(number))
        found = explain(spin)
        first = found.actions[0]
        if found.explanations[0].hypothesis.has("as_planned"):
            share = 100 / sum(e.odds for e in found.explanations)
            odds_pct = max(50, share - 2)  # of all hypotheses; what is told leaves out some that hardly are
            touches = bool(first.moves or first.removes or first.adds)
            assert not touches or first.pass_chance_pct >= odds_pct
            touched += touches
            least = min(found.actions, key=lambda a: a.effort_min)
            looked += not touches and bool(least.moves or least.removes) and least.pass_chance_pct < 50
        if found.verdict == "recheck_setup":
            assert not any(a.code == "add" for a in found.actions)
    assert looked >= 3
    assert touched >= 1


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


def test_whoever_starts_over_plans_for_the_bare_wheel() -> None:
    """Eight times too much fitted by mistake, or nothing: what those pieces promised is no rule for a new plan."""
    for fitted in (PIECES * 8, ()):
        spin = replace(spin_of(PIECES), fitted=fitted, after=two_plane(10, 2j))
        found = explain(spin)
        assert found.verdict == "recheck_setup"
        assert found.actions[0].code == "start_over"
        assert found.actions[0].pass_chance_pct > 90


def test_where_no_action_cures_what_explains_it_all_starts_over() -> None:
    """Each weight on the other side, its angle read from there: a piece aside and a clamping error act alike."""
    called = (cmath.rect(35, math.radians(80)), cmath.rect(25, math.radians(255)))
    fitted = (FittedPiece(*A, 35, 80), FittedPiece(*B, 25 * A[1] / B[1], 255))
    real = (PointMass(*B, 35 * A[1] / B[1], -80), PointMass(*A, 25, -255))
    left = [u / r for u, r in zip(forces(real, (A[0], B[0])), (A[1], B[1]), strict=True)]
    scale = A[1] / B[1]
    before = two_plane(-called[0], -called[1] * scale)
    after = two_plane(left[0] - called[0], left[1] - called[1] * scale)
    found = explain(replace(spin_of(PIECES), before=before, fitted=fitted, after=after))
    assert (found.verdict, found.actions[0].code) == ("recheck_setup", "start_over")
    assert found.actions[0].pass_chance_pct > 90


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


@pytest.mark.parametrize(("on_hand", "both"), [(1, False), (2, True), (None, True)])
def test_no_more_is_added_than_is_on_hand(on_hand: int | None, both: bool) -> None:
    """10 g are missing in either plane, and there is one clip-on of 10 g; of a strip, segments count."""
    after = two_plane(-cmath.rect(10, math.radians(150)), -cmath.rect(10, 0))
    stock = Stock((ClipOn("C10", 10, "zinc", on_hand=on_hand),))
    found = additions(compare_spins(replace(spin_of(PIECES), after=after, stock=stock)))
    assert [len(c.adds) for c in found] == ([1, 1, 2] if both else [1, 1])
    strips = tuple(replace(p, style="adhesive") for p in PIECES)
    segments = None if on_hand is None else 2 * on_hand
    stock = Stock(strips=(replace(BUILTIN["metric"].strips[0], on_hand=segments),))
    found = additions(compare_spins(replace(spin_of(PIECES), fitted=strips, after=after, stock=stock)))
    assert [len(c.adds) for c in found] == ([1, 1, 2] if both else [1, 1])


@pytest.mark.parametrize(
    ("outboard", "lands", "styles"),
    [
        (None, (), {"clip_on"}),
        (Flange(True), (), {"clip_on"}),
        (Flange(False), (), set()),
        (Flange(True, lip_covered=True), (), set()),
        (Flange(True, max_height_mm=0), (), set()),
        (Flange(False), (Land("band", "outboard", 20, 200, 40, False, True),), {"adhesive"}),
    ],
)
def test_nothing_is_added_where_the_wheel_takes_nothing(
    outboard: Flange | None, lands: tuple[Land, ...], styles: set[str]
) -> None:
    """20 g are missing at the outer plane, where no piece is."""
    (in_a, in_b) = (cmath.rect(-40, math.radians(112)), cmath.rect(20, 1.0))
    wheel = Wheel("alloy", "aftermarket", "car", inboard=Flange(True), outboard=outboard, lands=lands)
    spin = CheckSpinRequest(two_plane(in_a, in_b), PIECES[:1], two_plane(0j, in_b), wheel=wheel)
    outer = [w for a in explain(spin).actions for w in a.adds if w.position_mm > 0]
    assert {w.style for w in outer} == styles
    assert {w.position_mm for w in outer} == ({20} if lands else {B[0]} if styles else set())
