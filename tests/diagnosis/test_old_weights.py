"""Old weights that were only subtracted from the first reading, and are still on when the wheel is spun again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rimpoise_service.diagnosis.check_spin import CheckSpin, explain
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.physics.unbalance import PointMass
from tests.bench.wheels import forces
from tests.diagnosis.spin_answers import cause_of, said
from tests.diagnosis.two_pieces import PIECES, A, B, spin_of, two_plane

OLD = (PointMass(*A, 20, 300), PointMass(*B, 15, 30))


def explained(still_on: tuple[PointMass, ...], named: tuple[PointMass, ...] = OLD) -> CheckSpin:
    """The wheel was read with the old weights on, they were taken off the sum; so many of them are still on."""
    left = [u / r for u, r in zip(forces(still_on, (A[0], B[0])), (A[1], B[1]), strict=True)]
    was = [u / r for u, r in zip(forces((*named,), (A[0], B[0])), (A[1], B[1]), strict=True)]
    made = [u / r for u, r in zip(forces(PIECES, (A[0], B[0])), (A[1], B[1]), strict=True)]
    before = replace(two_plane(was[0] - made[0], was[1] - made[1]), old_weights=named)
    return explain(replace(spin_of(PIECES), before=before, after=two_plane(left[0], left[1])))


@pytest.mark.parametrize(
    ("still_on", "cause", "words"),
    [
        (OLD[:1], "old_weight_left", "old weight of 20 g at 300°"),
        (OLD[1:], "old_weight_left", "old weight of 15 g at 30°"),
        (OLD, "old_weights_left", "old weights: take them all off"),
    ],
)
def test_an_old_weight_that_is_still_on_comes_off(still_on: tuple[PointMass, ...], cause: str, words: str) -> None:
    found = explained(still_on)
    first = found.actions[0]
    assert (found.verdict, first.code, first.spin_again) == ("adjust", "take_off_old", True)
    assert (first.moves, first.adds, first.removes) == ((), (), ())
    assert cause_of(found.explanations[0]).cause == cause
    assert words in said(found)
    assert first.pass_chance_pct > 95
    assert not any(action.code == "add" for action in found.actions)


def test_taking_them_off_costs_its_minutes() -> None:
    """Two old weights of 0.3 min each, and the spin of 0.4."""
    first = explained(OLD).actions[0]
    p = first.pass_chance_pct / 100
    assert first.effort_min == pytest.approx(1.0 + (1 - p) * 3.0 / p)


def test_what_is_not_left_on_is_not_looked_for() -> None:
    """A piece aside is moved; where no old weight was on, or all are known to be, none is suspected."""
    aside = (replace(PIECES[0], angle_deg=130), PIECES[1])
    named = replace(spin_of(aside).before, old_weights=())
    assert "take_off_old" not in {a.code for a in explain(replace(spin_of(aside), before=named)).actions}
    known = replace(spin_of(aside), after=replace(spin_of(aside).after, old_weights=OLD))
    assert "take_off_old" not in {a.code for a in explain(known).actions}


def test_what_was_only_subtracted_is_said_to_be_so() -> None:
    """They are off by now, so nobody says that they are still on."""
    said_of = {w.code: text_of(w) for w in explained(()).warnings}
    assert said_of["old_weights_subtracted"].startswith("2 old weights were only subtracted")
    assert "old_weights_computed" not in said_of
