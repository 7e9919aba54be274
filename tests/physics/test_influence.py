"""Influence coefficients against rotors made up on the spot, whose answer is known, and the four-run circles."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import NonlinearConstraint, minimize

from rimpoise_service.physics.arrays import Complexes, Floats
from rimpoise_service.physics.influence import Influence, Trial, influence_of, influence_without_phase
from rimpoise_service.physics.unbalance import polar

sizes = st.floats(0.1, 10)
angles = st.floats(0, 360)
vectors = st.builds(polar, sizes, angles)


@st.composite
def rotors(draw: st.DrawFn, planes: int) -> tuple[Complexes, Complexes]:
    """Influence coefficients of 2 to 5 sensors that can tell the planes apart, and the unbalance weights."""
    sensors = draw(st.integers(planes, 5))
    rows = [[draw(vectors) for _ in range(planes)] for _ in range(sensors)]
    matrix = np.array(rows)
    assume(np.linalg.cond(matrix) < 50)
    return matrix, np.array([draw(vectors) for _ in range(planes)])


def run(matrix: Complexes, weights: Complexes) -> tuple[complex, ...]:
    """What the sensors of a linear rotor show."""
    return tuple((matrix @ weights).tolist())


@given(rotors(2), vectors, vectors, st.booleans())
def test_a_rotors_unbalance_is_found_and_undone(
    rotor: tuple[Complexes, Complexes], first: complex, second: complex, left_on: bool
) -> None:
    """First principles: of a linear rotor the correction is minus its unbalance, and minus what was left on."""
    matrix, unbalance = rotor
    after_first = unbalance + np.array([first, 0])
    after_second = (after_first if left_on else unbalance) + np.array([0, second])
    trials = [Trial(0, first, run(matrix, after_first)), Trial(1, second, run(matrix, after_second))]
    kept = "left_on" if left_on else "removed"
    found = influence_of(run(matrix, unbalance), trials, kept, [1.0] * len(matrix))  # type: ignore[arg-type]
    assert found.matrix == pytest.approx(matrix, rel=1e-6, abs=1e-6)
    solution = found.solve([0, 1])
    wanted = -(unbalance + np.array([first, second])) if left_on else -unbalance
    assert np.array(solution.weights) == pytest.approx(wanted, rel=1e-6, abs=1e-6)
    assert solution.left_share < 1e-6


@given(rotors(1), st.lists(vectors, min_size=2, max_size=5))
def test_more_trials_than_planes_agree(rotor: tuple[Complexes, Complexes], tried: list[complex]) -> None:
    """First principles: exact data are met exactly, however many trials there are."""
    matrix, unbalance = rotor
    trials = [Trial(0, w, run(matrix, unbalance + w)) for w in tried]
    found = influence_of(run(matrix, unbalance), trials, "removed", [1.0] * len(matrix))
    assert found.matrix == pytest.approx(matrix, rel=1e-6, abs=1e-6)


@given(rotors(2), st.lists(st.floats(0.1, 10), min_size=5, max_size=5), vectors, vectors)
def test_no_other_weights_leave_less(
    rotor: tuple[Complexes, Complexes], sensor_weights: list[float], off: complex, also: complex
) -> None:
    """Definition of least squares: moving away from the solution never lowers the weighted sum."""
    matrix, _ = rotor
    vibration = np.array([polar(1 + k, 40 * k) for k in range(len(matrix))])
    weights = np.array(sensor_weights[: len(matrix)])
    found = Influence(matrix, vibration, weights)

    def total(w: Complexes) -> float:
        return float((weights * np.abs(vibration + matrix @ w) ** 2).sum())

    best: Complexes = np.array(found.solve([0, 1]).weights)
    away: Complexes = 0.01 * np.array([off, also], dtype=np.complex128)
    for elsewhere in (best + away, best - away, best + 1j * away):
        assert total(best) <= total(elsewhere) + 1e-9


def test_a_trusted_sensor_pulls() -> None:
    """By hand: two sensors of influence 1 that ask for 1 and for 3; trusted 3 to 1 the answer is 1.5."""
    matrix = np.ones((2, 1), dtype=complex)
    for sensor_weights, answer in (((1, 1), 2.0), ((3, 1), 1.5), ((1, 3), 2.5)):
        found = Influence(matrix, np.array([-1, -3], dtype=complex), np.array(sensor_weights, dtype=float))
        assert found.solve([0]).weights[0] == pytest.approx(answer)


@given(rotors(1), st.floats(5, 200), angles, st.integers(3, 8))
def test_the_circles_meet_for_a_linear_rotor(
    rotor: tuple[Complexes, Complexes], mass: float, turn: float, trials: int
) -> None:
    """First principles: amplitudes alone, trials all round; the correction undoes it, the closure ratio is 1."""
    matrix, unbalance = rotor
    initial = np.abs(matrix @ unbalance)
    assume(initial.min() > 0.02 * mass * np.abs(matrix).max())
    weights = [polar(mass, turn + 360 * k / trials) for k in range(trials)]
    runs = [Trial(0, w, tuple(np.abs(matrix @ (unbalance + w)).tolist())) for w in weights]
    found = influence_without_phase(initial.tolist(), runs, [1.0] * len(matrix))
    assert np.array(found.solve([0]).weights) == pytest.approx(-unbalance, rel=1e-5, abs=1e-5)
    assert found.closure == pytest.approx([1.0] * len(matrix), rel=1e-5)


def test_the_four_run_circles_by_hand() -> None:
    """By hand: 5 units, a trial weight that alone makes 5 at right angles; by the law of cosines."""
    alone = [math.sqrt(50 + 50 * math.cos(math.radians(90 + turn))) for turn in (0, 120, 240)]
    assert alone == pytest.approx([7.0711, 2.5882, 9.6593], abs=1e-4)
    runs = [Trial(0, polar(10, t), (a,)) for t, a in zip((0, 120, 240), alone, strict=True)]
    found = influence_without_phase([5.0], runs, [1.0])
    assert found.matrix[0, 0] == pytest.approx(polar(0.5, 90))
    assert found.solve([0]).weights[0] == pytest.approx(polar(10, 90))


def test_a_sensor_that_shows_nothing_has_no_say() -> None:
    """What is zero at first has no direction; the other sensor's answer is what it was alone."""
    alone = [math.sqrt(50 + 50 * math.cos(math.radians(90 + turn))) for turn in (0, 120, 240)]
    runs = [Trial(0, polar(10, t), (3.0, a)) for t, a in zip((0, 120, 240), alone, strict=True)]
    found = influence_without_phase([0.0, 5.0], runs, [1.0, 1.0])
    assert found.matrix[0, 0] == 0
    assert found.closure[0] is None
    assert found.solve([0]).weights[0] == pytest.approx(polar(10, 90))


def test_a_misread_run_opens_the_circles() -> None:
    """By hand: the case before with its largest amplitude read a fifth too high."""
    runs = [Trial(0, polar(10, t), (a,)) for t, a in ((0, 7.0711), (120, 2.5882), (240, 9.6593 * 1.2))]
    (closure,) = influence_without_phase([5.0], runs, [1.0]).closure
    assert closure is not None
    assert abs(closure - 1) > 0.1


def test_planes_that_act_alike_have_no_condition_number() -> None:
    same = [Trial(k, 10 + 0j, (3 + 1j, 2 + 0j)) for k in (0, 1)]
    found = influence_of([1 + 0j, 1 + 0j], same, "removed", [1, 1])
    assert found.condition_number is None
    assert found.answers
    first, second = found.solve([0, 1]).weights
    assert first == pytest.approx(second), "of all shares the one with the least weight"


def test_trials_that_change_nothing_are_known_for_it() -> None:
    still = [Trial(0, 10 + 0j, (1 + 0j, 1j))]
    found = influence_of([1 + 0j, 1j], still, "removed", [1, 1])
    assert not found.answers
    assert found.condition_number is None
    assert found.solve([0]).weights == (0j,)
    assert found.solve([0]).left_share == 1


@pytest.mark.parametrize("seed", range(12))
def test_the_least_largest_vibration_is_an_optimisers(seed: int) -> None:
    """Against scipy's SLSQP on the same convex problem: minimise t with |V + A W|² w ≤ t² at every sensor."""
    rng = np.random.default_rng(seed)
    sensors, planes = int(rng.integers(2, 7)), int(rng.integers(1, 3))
    matrix, vibration = (
        rng.normal(size=(*shape, 2)) @ np.array([1, 1j]) for shape in ((sensors, planes), (sensors,))
    )
    trust = rng.uniform(0.5, 2, sensors)
    found = Influence(matrix, vibration, trust).solve_min_max()

    def largest(x: Floats) -> float:
        return float(x[-1])

    def left(x: Floats) -> Floats:
        shown = np.abs(vibration + matrix @ (x[:planes] + 1j * x[planes:-1]))
        return np.asarray(np.sqrt(trust) * shown, dtype=float)

    start = np.append(np.zeros(2 * planes), left(np.zeros(2 * planes + 1)).max() * 1.1)
    other = minimize(
        largest,
        start,
        method="SLSQP",
        constraints=NonlinearConstraint(lambda x: x[-1] ** 2 - left(x) ** 2, 0, np.inf),
        options={"maxiter": 500, "ftol": 1e-12},
    )
    assert found.largest == pytest.approx(other.fun, rel=2e-3, abs=1e-3)
    assert found.bound <= found.largest
    assert found.bound == pytest.approx(found.largest, rel=2e-3, abs=1e-9)
    weighted = np.sqrt(trust) * np.abs(np.array(found.left))
    assert weighted.max() == pytest.approx(found.largest, abs=1e-12)


def test_the_least_largest_vibration_is_the_smallest_circles() -> None:
    """J. J. Sylvester's problem (Q. J. Math. 1, 1857, from memory): sensors that answer alike ask for the centre
    of the smallest circle round their vibrations. Of Heron's triangle of 13, 14 and 15 that is 65/8 from each
    corner, at 7 + 33/8 i; least squares would take the centroid."""
    corners = (0j, 14 + 0j, 5 + 12j)
    runs = influence_of(corners, [Trial(0, 2 + 0j, tuple(v + 2 for v in corners))], "removed", [1.0] * 3)
    found = runs.solve_min_max()
    assert found.weights == pytest.approx((-7 - 33j / 8,), abs=1e-3)
    assert (found.largest, found.bound) == pytest.approx((65 / 8, 65 / 8), rel=1e-5)
    assert runs.solve([0]).weights == pytest.approx((-19 / 3 - 4j,))


def test_redundant_runs_are_the_published_regression() -> None:
    """F. J. Anscombe, "Graphs in Statistical Analysis", Am. Stat. 27, 1973, set 1 (from memory): 3.00 + 0.500 x,
    and 13.75 is left, squared. The run with x = 4 is the first one, so weights count from there: 3 + 4 · 0.5."""
    x = [10, 8, 13, 9, 11, 14, 6, 12, 7, 5]
    y = [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 10.84, 4.82, 5.68]
    trials = [Trial(0, complex(at - 4), (complex(seen),)) for at, seen in zip(x, y, strict=True)]
    found = influence_of([4.26 + 0j], trials, "removed", [1.0])
    assert found.matrix[0, 0] == pytest.approx(0.500, abs=5e-4)
    assert found.vibration[0] == pytest.approx(3.00 + 4 * 0.500, abs=5e-3)
    assert found.disagreement == pytest.approx((math.sqrt(13.75 / 11) / (10.84 - 4.26),), rel=2e-3)


def test_redundant_runs_share_their_errors() -> None:
    """All runs count alike, the first too: with errors in all, the vibration is their fit, not the first run."""
    rng = np.random.default_rng(3)
    weights = [10 * np.exp(1j * k) for k in range(6)]
    off = []
    for _ in range(300):
        first, *runs = 5 + np.array([0, *weights]) * 0.3 + rng.normal(size=(7, 2)) @ np.array([1, 1j]) * 0.1
        trials = [Trial(0, complex(w), (complex(v),)) for w, v in zip(weights, runs, strict=True)]
        found = influence_of([complex(first)], trials, "removed", [1.0])
        off.append(abs(found.vibration[0] - 5) ** 2)
        assert len(found.disagreement) == 1
    assert np.mean(off) < 0.6 * 2 * 0.1**2  # the first run alone would be off by 2 · 0.1²
