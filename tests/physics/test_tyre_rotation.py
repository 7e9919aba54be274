"""Tyre and rim told apart, and the best turn, against the wheel made from known parts and a dense search."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rimpoise_service.physics.planes import Plane, PlaneVector
from rimpoise_service.physics.tyre_rotation import (
    MIN_TURN_DEG,
    Parts,
    TurnTooSmall,
    best_turn_deg,
    error_factor,
    parts,
)
from tests.factories.strategies import angles, radii, vectors

reported_turns = st.floats(MIN_TURN_DEG, 360 - MIN_TURN_DEG)


@st.composite
def wheels(draw: st.DrawFn, planes: tuple[int, ...] = (1, 2)) -> Parts:
    """Known rim and tyre parts in one or two planes."""
    count = draw(st.sampled_from(planes))
    places = [Plane(str(k), 150.0 * k, draw(radii)) for k in range(count)]
    rim, tyre = (tuple(PlaneVector(p, draw(vectors)) for p in places) for _ in "rt")
    return Parts(rim, tyre, draw(reported_turns))


def masses_g(wheel: Parts, turns_deg: NDArray[np.float64]) -> NDArray[np.float64]:
    """The weights the wheel takes at turns, from its parts alone."""
    turn = np.exp(1j * np.radians(turns_deg))
    pairs = zip(wheel.rim, wheel.tyre, strict=True)
    each = [np.abs(r.vector + t.vector * turn) / r.plane.radius_mm for r, t in pairs]
    return np.asarray(np.sum(each, axis=0))


def mass_g(wheel: Parts, turn_deg: float) -> float:
    """The same at one turn."""
    return float(masses_g(wheel, np.array([turn_deg]))[0])


@given(wheels())
def test_parts_are_found_again(wheel: Parts) -> None:
    found = parts(wheel.at(0), wheel.at(wheel.turn_deg), wheel.turn_deg)
    for ours, theirs in zip((*found.rim, *found.tyre), (*wheel.rim, *wheel.tyre), strict=True):
        assert abs(ours.vector - theirs.vector) <= 1e-9 * (
            1 + sum(abs(v.vector) for v in (*wheel.rim, *wheel.tyre))
        )


@given(wheels(), angles)
def test_a_state_is_made_of_both_readings(wheel: Parts, turn: float) -> None:
    """L = (1 − c) U1 + c U2 is rim and turned tyre; c is 0 at the first state and 1 at the second."""
    c = wheel.weight_of_second(turn)
    first, second = wheel.at(0), wheel.at(wheel.turn_deg)
    for r, t, u, v in zip(wheel.rim, wheel.tyre, first, second, strict=True):
        made = r.vector + t.vector * cmath.exp(1j * math.radians(turn))
        assert abs((1 - c) * u.vector + c * v.vector - made) <= 1e-8 * (1 + abs(r.vector) + abs(t.vector))
    assert wheel.weight_of_second(0) == 0
    assert wheel.weight_of_second(wheel.turn_deg) == pytest.approx(1)


@given(wheels((1,)))
def test_in_one_plane_the_match_leaves_the_difference(wheel: Parts) -> None:
    """Opposed, tyre and rim leave ||R| − |T|| (domain knowledge of matching; first principles)."""
    left = abs(wheel.rim[0].vector + wheel.tyre[0].vector * cmath.exp(1j * math.radians(best_turn_deg(wheel))))
    sizes = abs(wheel.rim[0].vector), abs(wheel.tyre[0].vector)
    assert left == pytest.approx(abs(sizes[0] - sizes[1]), abs=1e-9 * (1 + sum(sizes)))


@given(wheels((2,)))
def test_in_two_planes_no_turn_takes_less(wheel: Parts) -> None:
    """Against 3,600 turns, and against a fine search about the best of them."""
    grid = np.arange(3600) / 10
    coarse = grid[masses_g(wheel, grid).argmin()]
    fine = float(masses_g(wheel, coarse + np.arange(-1000, 1001) / 10_000).min())
    assert mass_g(wheel, best_turn_deg(wheel)) <= fine + 1e-9 * (1 + fine)


@given(wheels(), angles)
def test_turning_everything_turns_nothing(wheel: Parts, turn_deg: float) -> None:
    """The mark is the caller's: moving it changes no mass."""
    turn = cmath.exp(1j * math.radians(turn_deg))
    rim, tyre = (tuple(PlaneVector(v.plane, v.vector * turn) for v in part) for part in (wheel.rim, wheel.tyre))
    moved = Parts(rim, tyre, wheel.turn_deg)
    best = mass_g(wheel, best_turn_deg(wheel))
    assert mass_g(moved, best_turn_deg(moved)) == pytest.approx(best, rel=1e-7, abs=1e-7)


def test_a_perfect_match_in_both_planes() -> None:
    """Equal and to be opposed by the same 100°: nothing is left."""
    planes = Plane("a", 0, 200), Plane("b", 150, 210)
    rim = tuple(PlaneVector(p, cmath.rect(4000, k)) for k, p in enumerate(planes))
    tyre = tuple(PlaneVector(v.plane, v.vector * cmath.exp(1j * math.radians(80))) for v in rim)
    wheel = Parts(rim, tyre, 180)
    assert best_turn_deg(wheel) == pytest.approx(100)
    assert mass_g(wheel, best_turn_deg(wheel)) < 1e-9


def test_where_no_turn_helps_the_tyre_stays() -> None:
    plane = Plane("a", 0, 200)
    assert best_turn_deg(Parts((PlaneVector(plane, 0j),), (PlaneVector(plane, 900 + 0j),), 180)) == 0
    assert best_turn_deg(Parts((PlaneVector(plane, 900 + 0j),), (PlaneVector(plane, 0j),), 180)) == 0


@pytest.mark.parametrize("turn", [0, 10, 19.9, 340.1, 360])
def test_small_turns_are_refused(turn: float) -> None:
    zero = (PlaneVector(Plane("a", 0, 200), 0j),)
    with pytest.raises(TurnTooSmall, match="20°"):
        parts(zero, zero, turn)


@pytest.mark.parametrize("turn", [20.0, 90.0, 180.0, 275.0])
def test_the_error_factor_is_what_errors_do(turn: float) -> None:
    """20,000 readings with errors of 1 in each component, seed fixed here."""
    rng = np.random.default_rng(7)
    e1, e2 = (rng.normal(size=(2, 20_000)) + 1j * rng.normal(size=(2, 20_000)))[:, :]
    tyre = (e2 - e1) / (cmath.exp(1j * math.radians(turn)) - 1)
    for part in (tyre, e1 - tyre):
        assert part.real.std() == pytest.approx(error_factor(turn), rel=0.02)
