"""Trial weights: what a weight in each plane does to each sensor, and the weights that undo the vibration.

Notation
    V        the vibration at the sensors, complex, amplitude and phase, in any unit [u]
    A        the influence coefficients [u/g], a row per sensor and a column per plane
    W        weights [g], complex: mass and angle, one per plane

A linear rotor answers V = V0 + A W. Trial runs give A; the correction is the W that makes Σ w_s |V + A W|²
least, w_s being the trust in a sensor (S. S. Rao, *Mechanical Vibrations*, ch. 9; T. P. Goodman, "A least-squares
method for computing balance corrections", J. Eng. Ind. 86, 1964; both from memory). Several speeds are just
more sensors. Phases and angles share one sense.

The same influence with the least of the largest vibration instead: minimise max √w_s |V + A W|, a convex problem
(C. D. Untaroiu, P. E. Allaire, W. C. Foiles, *Balancing of flexible rotors using convex optimization techniques*,
J. Vib. Acoust. 130, 2008, from memory). For any shares λ that add up to 1 the least Σ λ_s w_s |V + A W|² is no
more than the square of that, so every least-squares solution proves a bound; shares that grow with what is left
(C. L. Lawson, 1961, from memory) close the gap.

With more runs than planes the vibration without weights is unknown like the coefficients: all runs, the first one
too, are fitted together, whatever weights were on in each (X. Yu, *General Influence Coefficient Algorithm in
Balancing of Rotating Machinery*, Int. J. Rotating Machinery 10, 2004, 85–90). What they leave tells how well they
agree.

Without phases, one plane and the initial run as the reference of phase: |V0 + α U_k|² = A_k² is linear in Re α,
Im α and |α|². Three trials are enough; drawn on paper they are the circles of the four-run method, and where
they meet in one point the α found and the |α|² found agree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from .arrays import Complexes, Floats

TrialWeights = Literal["removed", "left_on"]

NOTHING = 1e-9
"""A change this small beside the largest amplitude is none: it comes from floating point, not from a sensor."""


MIN_MAX_ROUNDS, MIN_MAX_GAP = 1000, 1e-6
"""How often shares are changed at most, and the gap, as a share, at which they need not be."""

ROUNDING = 1e-12
"""What floating point leaves of a vibration that is undone, relative to its terms."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A trial run: the plane by index, the weight [g] as a complex number, and what the sensors showed."""

    plane: int
    weight: complex
    responses: tuple[complex, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """Weights [g], one per requested plane, and the vibration they leave at each sensor."""

    weights: tuple[complex, ...]
    left: tuple[complex, ...]
    left_share: float
    """Of the vibration that was there: root mean square over the sensors, by their trust; 0 if there was none."""


@dataclass(frozen=True, slots=True)
class MinMaxSolution:
    """Weights [g] with the least largest vibration, weighted, that they leave; no weights leave less than
    bound."""

    weights: tuple[complex, ...]
    left: tuple[complex, ...]
    largest: float
    bound: float


@dataclass(frozen=True, slots=True)
class Influence:
    """Influence coefficients, shape (sensors, planes) [u/g], the vibration to be undone, and the sensors' trust.

    disagreement: per sensor, how far redundant runs stray from their fit, root mean square, as a share of the
    largest change; empty without redundant runs. closure: per sensor, how well the circles of the four-run
    method meet, 1 if in one point; None where that can't be said; empty with phases.
    """

    matrix: Complexes
    vibration: Complexes
    sensor_weights: Floats
    closure: tuple[float | None, ...] = ()
    disagreement: tuple[float, ...] = ()

    @property
    def condition_number(self) -> float | None:
        """How much inverting the matrix may multiply the readings' errors; None if it is singular."""
        values = np.linalg.svd(self._weighted(self.matrix), compute_uv=False)
        return float(values[0] / values[-1]) if values[-1] > NOTHING * values[0] else None

    @property
    def answers(self) -> bool:
        """Whether any sensor responds to any trial weight."""
        return bool(self.matrix.any())

    def solve(self, planes: Sequence[int]) -> Solution:
        """The best weights in some of the planes, by index; the others get none."""
        columns = self.matrix[:, planes]
        wanted = -self._weighted(self.vibration[:, None])
        weights = np.linalg.lstsq(self._weighted(columns), wanted, rcond=NOTHING)[0][:, 0]
        left = self.vibration + columns @ weights
        noise = ROUNDING * (np.abs(self.vibration) + np.abs(columns) @ np.abs(weights))
        left = np.where(np.abs(left) > noise, left, 0)
        before, after = (float(np.linalg.norm(v)) for v in (wanted, self._weighted(left[:, None])))
        return Solution(tuple(weights.tolist()), tuple(left.tolist()), after / before if before else 0.0)

    def solve_min_max(self) -> MinMaxSolution:
        """The weights that leave the least largest vibration, by shares of the sensors that close the gap."""
        columns, wanted = self._weighted(self.matrix), -self._weighted(self.vibration[:, None])[:, 0]
        shares = np.full(len(wanted), 1 / len(wanted))
        best, largest, bound = np.zeros(columns.shape[1], dtype=complex), float(np.abs(wanted).max()), 0.0
        for _ in range(MIN_MAX_ROUNDS):
            root = np.sqrt(shares)[:, None]
            weights = np.linalg.lstsq(columns * root, wanted * root[:, 0], rcond=NOTHING)[0]
            left = np.abs(columns @ weights - wanted)
            if left.max() < largest:
                best, largest = weights, float(left.max())
            bound = max(bound, float(np.sqrt(shares @ left**2)))
            if largest - bound <= MIN_MAX_GAP * largest or not (shares * left).any():
                break
            shares = shares * left / (shares @ left)
        remains = self.vibration + self.matrix @ best
        return MinMaxSolution(tuple(best.tolist()), tuple(remains.tolist()), largest, min(bound, largest))

    def _weighted(self, rows: Complexes) -> Complexes:
        return rows * np.sqrt(self.sensor_weights)[:, None]


def influence_of(
    initial: Sequence[complex],
    trials: Sequence[Trial],
    trial_weights: TrialWeights,
    sensor_weights: Sequence[float],
) -> Influence:
    """Influence coefficients from trials with phases, in least squares where there are more trials than planes.

    Weights ``left_on`` stay for the following runs: the vibration to be undone is then that of the last run.

    >>> trial = Trial(0, 10 + 0j, (3 + 1j,))
    >>> float(abs(influence_of([1 + 1j], [trial], "removed", [1]).matrix[0, 0]))
    0.2
    """
    first = np.array(initial, dtype=complex)
    runs = np.array([t.responses for t in trials], dtype=complex)
    states = np.zeros((len(trials), 1 + max(t.plane for t in trials)), dtype=complex)
    for k, t in enumerate(trials):
        states[k, t.plane] = t.weight
    if trial_weights == "left_on":
        states = np.cumsum(states, axis=0)
    # Relative to the first run, so that what did not change is exactly nothing.
    changes = np.vstack([np.zeros_like(first), _clean(runs - first, _largest(first, runs))])
    design = np.hstack([np.ones((len(changes), 1)), np.vstack([np.zeros_like(states[:1]), states])])
    fitted = np.linalg.lstsq(design, changes, rcond=None)[0]
    last = design[-1] if trial_weights == "left_on" else design[0]
    redundant = len(changes) > design.shape[1]
    return Influence(
        np.asarray(fitted[1:].T, dtype=np.complex128),
        first + last @ fitted,
        np.array(sensor_weights, dtype=float),
        disagreement=_disagreement(changes, changes - design @ fitted) if redundant else (),
    )


def _disagreement(changes: Complexes, left: Complexes) -> tuple[float, ...]:
    """What is left of each sensor's runs, root mean square, as a share of its largest change; (runs, sensors)."""
    largest = np.abs(changes).max(axis=0)
    off = np.sqrt(np.mean(np.abs(left) ** 2, axis=0))
    return tuple(np.where(largest > 0, off / np.where(largest > 0, largest, 1), 0.0).tolist())


def influence_without_phase(
    initial: Sequence[float], trials: Sequence[Trial], sensor_weights: Sequence[float]
) -> Influence:
    """The four-run method: one plane, three trials or more, amplitudes alone; ``responses`` are real.

    Phases are relative to each sensor's initial run.
    """
    weights = np.array([t.weight for t in trials])
    runs = np.array([[abs(r) for r in t.responses] for t in trials])
    found = [_circles(first, runs[:, s], weights) for s, first in enumerate(initial)]
    matrix = np.array([[alpha] for alpha, _ in found], dtype=complex)
    return Influence(
        matrix,
        np.array(initial, dtype=complex),
        np.array(sensor_weights, dtype=float),
        tuple(closure for _, closure in found),
    )


def _circles(initial: float, amplitudes: Floats, weights: Complexes) -> tuple[complex, float | None]:
    """α of one sensor [u/g], and the ratio of its size to the size that |α|² found for itself has."""
    scale = max(initial, float(amplitudes.max()))
    if initial <= NOTHING * scale:
        return 0j, None  # nothing to undo here, and no direction to be had
    first, runs, heaviest = initial / scale, amplitudes / scale, float(np.abs(weights).max())
    unit = weights / heaviest
    rows = np.stack([2 * first * unit.real, -2 * first * unit.imag, np.abs(unit) ** 2], axis=1)
    real, imag, square = np.linalg.lstsq(rows, runs**2 - first**2, rcond=None)[0]
    alpha = complex(real, imag) if abs(complex(real, imag)) > NOTHING else 0j
    closure = abs(alpha) / float(np.sqrt(square)) if alpha and square > NOTHING**2 else None
    return alpha * (scale / heaviest), closure


def _largest(*arrays: Complexes) -> float:
    return max(float(np.abs(a).max()) for a in arrays)


def _clean(changes: Complexes, largest: float) -> Complexes:
    return np.where(np.abs(changes) > NOTHING * largest, changes, 0)
