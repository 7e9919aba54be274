"""Faults put into wheels by other means (``tests.bench``), found again by the check spin; how sure it may be."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, chi2

from rimpoise_service.diagnosis.action_words import cause_in_words
from rimpoise_service.diagnosis.check_spin import EXPLAINED, MOST_REPORTED, explain
from rimpoise_service.diagnosis.fault_hypotheses import single_causes
from rimpoise_service.diagnosis.fault_models import HOW_OFTEN, OLD_LEFT
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spin_comparison import (
    CheckSpinRequest,
    Covariances,
    Reclamped,
    Resolver,
    Whitening,
    compare_spins,
)
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.planes import Plane
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass, Unbalance
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.spread import Spread
from tests.bench import best_action
from tests.bench.check_spin import FAULTS, inject, table
from tests.bench.wheels import wheel
from tests.diagnosis.spin_answers import cause_of, done, seeds
from tests.diagnosis.two_pieces import PIECES, A, B, spin_of


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
def test_the_first_action_comes_near_what_is_possible() -> None:
    """Beside judges that know how the wheels were drawn, 15 of each fault that is taken for another: by the same
    ranking they help little more often (no more than 6 points, three standard errors), and what the best action
    could be worth is little more than the aims are, so no ranking gets far beyond them."""
    found = best_action.score(15, seed=8)
    assert found.ours >= found.by_effort - 0.06
    assert found.promised <= found.aimed + 0.06
    assert abs(found.promised - found.played) < 0.12


@pytest.mark.slow
@pytest.mark.parametrize("fault", FAULTS)
@settings(max_examples=25)
@given(seeds)
def test_without_error_the_size_is_exact(fault: str, seed: int) -> None:
    """A machine of 0.01 g: the fault is among the causes with its size, if it does enough to be chased."""
    injected = inject(fault, np.random.default_rng(seed), sd_g=0.01)
    clean = replace(injected.clean, acceptance=Acceptance(0.001, 0.001))
    reported = explain(clean).explanations
    ours = [
        e
        for e in reported
        if (e.hypothesis.causes[0].cause, e.hypothesis.causes[0].piece) == (fault, injected.piece)
    ]
    if compare_spins(clean).largest_g(compare_spins(clean).innovation) < 2:
        return
    assert ours[0].explains
    assert ours[0].unexplained_g < 1e-6
    if fault in ("piece_shifted", "piece_light", "piece_heavy", "plane_distance", "rim_distance", "centring"):
        assert cause_of(ours[0]).size == pytest.approx(injected.size, rel=1e-6)


def test_all_wheels_are_shared_among_the_causes() -> None:
    """A 0 that was shown and old weights are known beforehand; all else adds up to all wheels."""
    known = {"shown_zero", *OLD_LEFT}
    assert sum(often for cause, often in HOW_OFTEN.items() if cause not in known) == pytest.approx(1, abs=0.005)


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
            (c.cause, c.piece, c.pieces): e.hypothesis.fit.log_evidence
            for e in explain(s).explanations
            for c in e.hypothesis.causes
            if len(e.hypothesis.causes) == 1 and "mirrored" not in c.cause
        }
        for s in (spin, again)
    )
    both = now.keys() & was.keys()  # twenty at most are reported
    assert both
    assert {k: now[k] for k in both} == pytest.approx({k: was[k] for k in both}, rel=1e-6, abs=1e-6)


def test_the_gauge_is_what_the_errors_do() -> None:
    """Errors of machine and hands drawn, reported at the check spin's planes: whitened, they have a spread of 1.

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
    whitening = Whitening.of(resolve, Covariances.of(spin, here, resolve).innovation)
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


def test_many_pieces_are_reported_in_part() -> None:
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


@pytest.mark.parametrize("reclamped", ["yes", "no"])
def test_two_weights_taken_for_each_other(reclamped: Reclamped) -> None:
    """20 g where 40 belong and 40 where 20 do, nearly opposite each other: 20 g of one side, as of clamping."""
    real = (replace(PIECES[0], mass_g=20), replace(PIECES[1], mass_g=40))
    found = explain(spin_of(real, reclamped=reclamped))
    assert cause_of(found.explanations[0]).cause == "masses_swapped"
    assert (found.verdict, found.actions[0].code, found.actions[0].removes) == ("adjust", "renew", (0, 1))
    assert [(w.mass_g, w.angle_deg) for w in found.actions[0].adds] == [(40, 112), (20, 287.5)]
    assert text_of(cause_in_words(PIECES, cause_of(found.explanations[0]))).startswith(
        "The masses of weights 1 and 2"
    )


def test_only_unlike_masses_of_one_style_are_swapped() -> None:
    alike = (PIECES[0], replace(PIECES[1], mass_g=40))
    mixed = (PIECES[0], replace(PIECES[1], style="adhesive"))
    for fitted in (alike, mixed):
        seen = compare_spins(replace(spin_of(PIECES), fitted=fitted))
        assert "masses_swapped" not in {m.cause for m in single_causes(seen)}
