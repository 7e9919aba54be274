"""What is behind an action: the algebra of two planes, new weights, what an action takes, how it is reported."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize

from rimpoise_service.diagnosis import fault_pairs
from rimpoise_service.diagnosis.action_words import action_of
from rimpoise_service.diagnosis.added_weights import AddedWeight, fits_in
from rimpoise_service.diagnosis.check_spin import CheckSpin, explain
from rimpoise_service.diagnosis.fault_hypotheses import single_causes
from rimpoise_service.diagnosis.fault_models import Hypothesis
from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.diagnosis.rechosen_weights import rechosen_weights
from rimpoise_service.diagnosis.spin_actions import Candidate, Ranked
from rimpoise_service.diagnosis.spin_comparison import (
    CheckSpinRequest,
    Resolver,
    SpinComparison,
    compare_spins,
)
from rimpoise_service.diagnosis.wheel_posterior import WheelPosterior
from rimpoise_service.model.stock import ClipOn, Stock
from rimpoise_service.physics.readings import TwoPlane
from rimpoise_service.physics.unbalance import PointMass, Unbalance
from rimpoise_service.planning.acceptance import Acceptance
from rimpoise_service.planning.pass_probability import components
from rimpoise_service.planning.spread import Spread
from tests.diagnosis.two_pieces import PIECES, STEADY_HANDS, A, B, spin_of, two_plane


def test_planes_share_a_mass_as_levers_do() -> None:
    """At a plane all of it, half way half each, beyond one plane against the other; the sum stays."""
    resolve = Resolver((-100.0, 60.0))
    for position, shares in ((-100, (1, 0)), (60, (0, 1)), (-20, (0.5, 0.5)), (140, (-0.5, 1.5))):
        assert resolve.shares(position) == pytest.approx(shares)
        assert resolve(Unbalance.at(position, 30 - 4j)) == pytest.approx([s * (30 - 4j) for s in shares])
    assert resolve.shares_per_mm == pytest.approx([-1 / 160, 1 / 160])


def hypotheses(spin: CheckSpinRequest) -> dict[tuple[str, int | None], tuple[SpinComparison, Hypothesis]]:
    """Every single cause that can be fitted."""
    seen = compare_spins(spin)
    fits = [(m, m.fit(seen.whitening(seen.innovation))) for m in single_causes(seen)]
    return {(m.cause, m.piece): (seen, h) for m, h in fits if h is not None}


def test_a_posterior_is_what_two_normal_readings_leave() -> None:
    """Nothing wrong: the mean of the promise and of the reading, weighed by their inverse covariances.

    Read before in other planes, so that the errors of the promise in these hang together.
    """
    before = TwoPlane((PointMass(-60, 180, 30, 290), PointMass(10, 230, 25, 110)), "unbalance")
    spin = replace(spin_of((replace(PIECES[0], mass_g=38), PIECES[1])), before=before)
    seen, planned = hypotheses(spin)["as_planned", None]
    posterior = WheelPosterior.of(seen, planned)
    prior, noise = (np.linalg.inv(c) for c in (seen.covariances.expected, seen.covariances.after))
    covariance = np.linalg.inv(prior + noise)
    assert abs(prior[0, 1]) > 0.3 * abs(prior[0, 0])
    assert posterior.covariance == pytest.approx(covariance, rel=1e-6, abs=1e-6 * covariance.max())
    measured, promised = (
        np.concatenate([v.real, v.imag])
        for v in map(seen.whitening.resolve, (seen.expected + seen.innovation, seen.expected))
    )
    assert posterior.mean == pytest.approx(covariance @ (prior @ promised + noise @ measured), rel=1e-6, abs=1e-6)


def test_what_hands_made_of_a_piece_goes_with_it() -> None:
    """Both pieces, the reading before and what clamping adds as one normal vector, conditioned at once.

    The first piece is renewed, so its own error is taken off and another one comes; the clamping stays.
    """
    spin = replace(spin_of((replace(PIECES[0], angle_deg=120), PIECES[1])), spread=Spread(angle_sd_deg=6))
    seen, clamped = hypotheses(spin)["centring", None]
    (effect,) = clamped.effects
    parts, resolve = seen.covariances, seen.whitening.resolve
    slopes = np.column_stack([components(resolve(u)) for u in effect.slopes]) * clamped.spreads
    sources = [parts.before, *parts.pieces, slopes @ slopes.T]
    measured = components(resolve(seen.innovation - clamped.adds))
    weights = np.linalg.inv(sum(sources) + parts.after)
    kept = parts.before + parts.pieces[1] + slopes @ slopes.T
    mean = components(resolve(seen.expected + clamped.adds)) + kept @ weights @ measured
    covariance = kept - kept @ weights @ kept + parts.pieces[0] + parts.after
    off = on = parts.pieces[0]
    found = WheelPosterior.of(seen, clamped).predicted([effect], Unbalance(), off=off, on=on)
    assert found.mean == pytest.approx(mean, rel=1e-6, abs=1e-3)
    assert found.covariance == pytest.approx(covariance, rel=1e-6, abs=1e-6 * covariance.max())
    stays = WheelPosterior.of(seen, clamped).predicted([effect], Unbalance(), off=0 * off, on=0 * on)
    assert abs(found.mean - stays.mean).max() > 300  # 1.5 g: most of what is left was this piece's


def test_a_new_weight_leaves_the_least_in_planes_and_in_all() -> None:
    """By a descent that knows the sentence at the head of the module alone: planes count as much as the sum."""
    called = (cmath.rect(36, math.radians(112)), cmath.rect(28, math.radians(250)))
    real = (cmath.rect(40, math.radians(135)), cmath.rect(20, math.radians(287.5)))
    after = two_plane(real[0] - called[0], real[1] - called[1])
    stock = Stock(tuple(ClipOn(f"c{n}", n / 20, "zinc") for n in range(20, 1200)))
    spin = replace(spin_of(PIECES), before=two_plane(-called[0], -called[1]), after=after, stock=stock)
    seen, shifted = hypotheses(spin)["piece_shifted", 0]
    posterior = WheelPosterior.of(seen, shifted)
    (new,) = rechosen_weights(seen, posterior, [0])
    off, on = seen.covariances.pieces[0], np.zeros((4, 4))
    without = posterior.predicted([], Unbalance() - Unbalance.of(PIECES[:1]), off=off, on=on).mean
    left, limits = without[:2] + 1j * without[2:], seen.evaluator.limits
    shares = seen.whitening.resolve.shares(A[0])

    def cost(w: np.ndarray[tuple[int, ...], np.dtype[np.float64]], /) -> float:
        shown = left + shares * complex(*w)
        planes = np.abs(shown / np.array(limits.planes_gmm)) ** 2
        return float(planes.sum() + abs(shown.sum() / limits.static_gmm) ** 2)

    best = complex(*minimize(cost, [-8000.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-3}).x) / A[1]
    assert abs(left.sum() + best * A[1]) > 500  # the sum alone would have it nothing
    assert new.mass_g == pytest.approx(abs(best), abs=0.03)
    assert new.angle_deg == pytest.approx(math.degrees(cmath.phase(best)) % 360, abs=0.1)


def test_a_weight_that_is_called_as_planned_is_no_other_one() -> None:
    """Called 40 g at 112° and sitting at 126°: it is moved, and not renewed by the readings besides."""
    spin = spin_of((replace(PIECES[0], angle_deg=126), PIECES[1]))
    seen, shifted = hypotheses(spin)["piece_shifted", 0]
    assert rechosen_weights(seen, WheelPosterior.of(seen, shifted), [0]) == ()
    codes = [(a.code, a.moves != ()) for a in explain(spin).actions if a.removes == (0,) or a.moves]
    assert ("move", True) in codes
    assert ("renew", False) not in codes


@pytest.mark.parametrize(("cause", "grams"), [("piece_light", 28), ("piece_heavy", 52)])
def test_a_wrong_mass_is_reported_as_the_mass_that_sits_there(cause: str, grams: float) -> None:
    _, found = hypotheses(spin_of((replace(PIECES[0], mass_g=grams), PIECES[1])))[cause, 0]
    (what,) = found.causes
    assert what.size == pytest.approx(12)
    assert what.seat is not None
    assert what.seat.mass_g == pytest.approx(grams)


def test_pairs_that_have_not_settled_count_as_far_as_they_came(monkeypatch: pytest.MonkeyPatch) -> None:
    """One round of fitting in turn does not settle two causes with sizes of their own."""
    seen = compare_spins(spin_of((replace(PIECES[0], angle_deg=152), replace(PIECES[1], mass_g=2))))
    causes = list(single_causes(seen))
    settled = [[c.cause for c in h.causes] for h in fault_pairs.pairs_of_causes(seen, causes)]
    monkeypatch.setattr(fault_pairs, "ROUNDS", 1)
    early = [[c.cause for c in h.causes] for h in fault_pairs.pairs_of_causes(seen, causes)]
    assert ["piece_shifted", "piece_light"] in settled
    assert ["piece_shifted", "piece_light"] in early


@pytest.mark.parametrize(("aside_deg", "fits"), [(54.9, True), (55.1, False)])
def test_half_of_a_long_piece_is_beside_its_middle(aside_deg: float, fits: bool) -> None:
    """A clip-on of 50° leaves 30° from its end, so 55° from its middle."""
    long = replace(PIECES[0], arc_deg=50.0)
    seen = compare_spins(replace(spin_of((long, PIECES[1])), fitted=(long, PIECES[1])))
    light = AddedWeight(*A, 5, 112 + aside_deg, "clip_on", None)
    assert fits_in(seen, replace(light, mass_g=500)) == fits  # so heavy that what was called before is no rule


def test_what_a_check_takes_is_counted() -> None:
    """Clamping again: 1.5 min and a spin of 0.4 min; (1 − P)/P times that with 2 min for the spin that fails."""
    spin = replace(spin_of(PIECES), after=two_plane(10j * 215 / 220 / 2, 10j * 215 / 210 / 2), reclamped="yes")
    (again,) = [a for a in explain(spin).actions if a.code == "centre_again"]
    p = max(again.pass_chance_pct / 100, 0.01)
    assert again.effort_min == pytest.approx(1.9 + (1 - p) * 3.9 / p)


def named_in(answer: CheckSpin, planned: Sequence[FittedPiece]) -> set[str]:
    """The sentences that say numbers, which must be those of what is moved or removed."""
    found = set()
    for action in answer.actions:
        pieces = sorted({*(m.piece for m in action.moves), *action.removes})
        values = action.says.values
        if len(pieces) == 1 and "number" in values:
            assert values["number"] == pieces[0] + 1
            found.add(action.says.code)
        if len(pieces) > 1:
            assert action.says.code not in ("take_off", "renew_one", "move_one")
            assert values.get("numbers", tuple(k + 1 for k in pieces)) == tuple(k + 1 for k in pieces)
            found.add(action.says.code)
        if action.code == "take_off":
            assert (action.says.code, values["mass_g"]) == ("take_off", planned[pieces[0]].mass_g)
    return found


def test_a_weight_chosen_again_is_named_by_what_is_fitted() -> None:
    """40 g were planned; the readings ask for 45 g at 100°."""
    new = AddedWeight(*A, 45, 100, "clip_on", None)
    action = action_of(compare_spins(spin_of(PIECES)), Ranked(Candidate("renew", removed=(0,), adds=(new,)), 1, 1))
    assert action.adds == (new,)
    assert action.says.values == {"number": 1, "mass_g": 45, "angle_deg": 100}


def test_actions_name_the_weights_they_are_about() -> None:
    """Three pieces, many faults: whatever is done with one piece says its number, with several all of them."""
    planned = (FittedPiece(*A, 40, 112), FittedPiece(*B, 20, 287.5), FittedPiece(*B, 15, 200))
    made = [sum((p.vector for p in planned if p.position_mm == z), 0j) / r for z, r in (A, B)]
    before = two_plane(-made[0], -made[1])
    reported = set()
    for a, b in ((3j, 5j), (3j, 30 + 5j), (-12 + 3j, 30 + 5j), (20 + 3j, 6 + 5j)):
        spin = CheckSpinRequest(before, planned, two_plane(a, b), Acceptance(5, 5), spread=STEADY_HANDS)
        reported |= named_in(explain(spin), planned)
    assert reported >= {"renew_one", "renew_several", "move_one", "start_over"}
