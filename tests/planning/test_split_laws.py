"""What holds of every split: more pieces, turned and mirrored wheels, proof, and the ideal weights."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.wheel import even_spokes
from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.physics.unbalance import polar
from rimpoise_service.planning.strip_split import SplitRequest, ideal_weights, split
from rimpoise_service.search import branch_and_bound
from tests.factories.strategies import angles, random_job
from tests.planning.splits import RADIUS, STRIP, at, checked, request
from tests.search.brute_force import pull_gmm


@pytest.mark.parametrize("seed", range(40))
def test_touching_spokes_are_worth_as_much_as_one(seed: int) -> None:
    """Every spoke cut in two or three leaves the same."""
    requested = random_job(seed, 5, 6, 2)
    cut = []
    for spoke in requested.spokes:
        parts = 2 + seed % 2
        width = spoke.width_deg / parts
        starts = [(spoke.start_deg + i * width) % 360 for i in range(parts)]
        cut += [Arc(start, width, f"{spoke.name}.{i}") for i, start in enumerate(starts)]
    answer = checked(replace(requested, spokes=tuple(cut[::-1])))
    assert answer.residual.unbalance_gmm == pytest.approx(split(requested).residual.unbalance_gmm, abs=1e-6)


@pytest.mark.parametrize("seed", range(30))
def test_more_pieces_never_leave_more(seed: int) -> None:
    requested = random_job(seed, 5, 4, 1)
    left = [split(replace(requested, max_pieces=n)).residual.unbalance_gmm for n in range(1, 5)]
    assert all(b <= a + 1e-6 for a, b in pairwise(left))


@pytest.mark.parametrize("seed", range(30))
def test_turning_the_wheel_turns_the_strips(seed: int) -> None:
    """The residual only: where two answers are equally good, rounding may choose."""
    requested = random_job(seed, 6, 4, 2)

    def turned(arc: Arc) -> Arc:
        return replace(arc, start_deg=(arc.start_deg + 111.1) % 360)

    other = replace(
        requested,
        target=PlaneVector(requested.target.plane, requested.target.vector * polar(1, 111.1)),
        spokes=tuple(turned(a) for a in requested.spokes),
        keep_out=tuple(turned(a) for a in requested.keep_out),
    )
    assert split(other).residual.unbalance_gmm == pytest.approx(split(requested).residual.unbalance_gmm, abs=1e-6)


@pytest.mark.parametrize("seed", range(30))
def test_a_mirrored_wheel_leaves_the_same(seed: int) -> None:
    requested = random_job(seed, 6, 4, 2)

    def mirrored(arc: Arc) -> Arc:
        return replace(arc, start_deg=(-arc.start_deg - arc.width_deg) % 360)

    other = replace(
        requested,
        target=PlaneVector(requested.target.plane, requested.target.vector.conjugate()),
        spokes=tuple(mirrored(a) for a in requested.spokes),
        keep_out=tuple(mirrored(a) for a in requested.keep_out),
    )
    assert split(other).residual.unbalance_gmm == pytest.approx(split(requested).residual.unbalance_gmm, abs=1e-6)


def test_pieces_come_in_the_order_of_their_angles() -> None:
    answer = checked(request(at(60, 300), *even_spokes(6, 0, 30), pieces=4))
    assert [p.angle_deg for p in answer.pieces] == sorted(p.angle_deg for p in answer.pieces)


def test_the_residual_is_reported_at_the_targets_radius() -> None:
    target = PlaneVector(Plane("flange", 0, 230), polar(30 * 230, 0))
    answer = split(SplitRequest(target, RADIUS, (), STRIP))
    assert answer.residual.plane.radius_mm == 230
    assert answer.residual.mass_g == pytest.approx(30)


def test_a_search_that_was_cut_short_is_not_called_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    requested = request(at(300, 10), *even_spokes(5, 0, 30), pieces=4)
    whole = checked(requested)
    assert whole.proven_optimal
    assert whole.residual.mass_g > 1
    monkeypatch.setattr(branch_and_bound, "MAX_WORK", 10)
    assert not checked(requested).proven_optimal


def test_nothing_left_is_proof_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    """A residual of zero can't be beaten, however much was left out."""
    monkeypatch.setattr(branch_and_bound, "MAX_WORK", 10)
    pull = pull_gmm(STRIP, RADIUS, 5)
    answer = checked(request(at(pull / RADIUS, 73), *even_spokes(5, 1, 30), pieces=4))
    assert answer.residual.mass_g < 1e-9
    assert answer.proven_optimal


@pytest.mark.parametrize("count", [2, 3, 5, 6, 7, 9, 10, 12])
def test_a_target_that_points_at_a_spoke_has_one_ideal_weight(count: int) -> None:
    """Whatever rounding does to its angle."""
    for first in range(0, 360, 7):
        spokes = even_spokes(count, first, 20)
        for spoke in spokes:
            (only,) = ideal_weights(at(30, spoke.centre_deg), spokes)
            assert only.window == spoke.name
            assert only.mass_g == pytest.approx(30)


@given(angles)
def test_ideal_weights_add_up_to_the_target(angle: float) -> None:
    spokes = even_spokes(5, 13, 20)
    centre = {s.name: s.centre_deg for s in spokes}
    ideals = ideal_weights(at(30, angle), spokes)
    total = sum((polar(i.mass_g, centre[i.window]) for i in ideals), 0j)
    assert abs(total - polar(30, angle)) < 1e-7
    assert all(i.mass_g >= 0 for i in ideals)


def test_a_single_spoke_has_an_ideal_only_straight_ahead() -> None:
    spoke = Arc.centred(40, 20, "1")
    assert [i.mass_g for i in ideal_weights(at(30, 40), [spoke])] == pytest.approx([30])
    assert ideal_weights(at(30, 41), [spoke]) == ()
    assert ideal_weights(at(0, 40), [spoke]) == ()
    assert ideal_weights(at(30, 40), []) == ()
