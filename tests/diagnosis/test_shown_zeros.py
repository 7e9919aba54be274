"""What a display shows as 0, before weights were fitted and after, may not have been nothing."""

from __future__ import annotations

import cmath
import math
from dataclasses import replace

import pytest

from rimpoise_service.diagnosis.check_spin import explain
from rimpoise_service.diagnosis.fault_hypotheses import single_causes
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.spin_comparison import CheckSpinRequest, compare_spins
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.readings import Static, TwoPlane
from rimpoise_service.physics.unbalance import PointMass
from tests.bench.wheels import vector
from tests.diagnosis.spin_answers import cause_of
from tests.diagnosis.two_pieces import PIECES, STEADY_HANDS, A, B, spin_of, two_plane


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


@pytest.mark.parametrize(
    ("shown", "outboard_deg", "left"), [("static_zero", 180, (3, 3)), ("couple_zero", 0, (-6j, 6j))]
)
def test_a_zero_of_a_static_or_couple_display_that_hid_something(
    shown: str, outboard_deg: float, left: tuple[complex, complex]
) -> None:
    """A couple of 20 g, or a static mass of 40, was shown and fitted against; now there is what was hidden."""
    pieces = (FittedPiece(-130, 215, 20, 0), FittedPiece(45, 215, 20, outboard_deg))
    before = on_215(*(-vector(p) / 215 for p in pieces))
    before = replace(before, zero_below_g=8.0, **{shown: True})  # type: ignore[arg-type]
    assert_hid_6_g(CheckSpinRequest(before, pieces, on_215(*left), spread=STEADY_HANDS, reclamped="no"))


def test_a_zero_of_a_static_display_that_hid_something() -> None:
    before, after = (Static(PointMass(0, 215, m, 0), "unbalance", zero_below_g=8) for m in (0, 6))
    assert_hid_6_g(CheckSpinRequest(before, (), after, spread=STEADY_HANDS, reclamped="no"))


def assert_hid_6_g(spin: CheckSpinRequest) -> None:
    found = explain(spin)
    assert cause_of(found.explanations[0]).cause == "shown_zero"
    assert cause_of(found.explanations[0]).size == pytest.approx(6, abs=0.6)
    assert "check_mode" in {x.code for x in found.actions}


def on_215(in_a: complex, in_b: complex) -> TwoPlane:
    """A reading of the heavy side in two planes of one radius."""
    masses = [PointMass(z, 215, abs(u), math.degrees(cmath.phase(u)) % 360) for z, u in ((-130, in_a), (45, in_b))]
    return TwoPlane((masses[0], masses[1]), "unbalance")


@pytest.mark.parametrize("zero_below_g", [0.0, 8.0])
def test_a_zero_after_fitting_blames_no_piece(zero_below_g: float) -> None:
    """5 g were to stay inboard; 0 is shown there: by a display that hides up to 8 g that says nothing."""
    spin = replace(spin_of(PIECES), fitted=(replace(PIECES[0], mass_g=35), PIECES[1]), reclamped="no")
    found = explain(replace(spin, after=replace(two_plane(0, 9), zero_below_g=zero_below_g)))
    inboard = [e for e in found.explanations if e.explains and any(c.piece == 0 for c in e.hypothesis.causes)]
    assert bool(inboard) == (zero_below_g == 0)
