"""Turning the tyre on its rim: which part of the unbalance is the tyre's, and where it should stand.

The wheel reads U1 = R + T, rim and tyre. The tyre is turned on the rim by φ, clockwise as all angles, and the
wheel reads U2 = R + T e^{iφ}. So, in every plane,

    T = (U2 − U1) / (e^{iφ} − 1),    R = U1 − T,

and at any turn ψ from the first state the wheel has L(ψ) = R + T e^{iψ} = (1 − c) U1 + c U2 with
c = (e^{iψ} − 1) / (e^{iφ} − 1). In one plane the best turn opposes the two and leaves ||R| − |T||: the trade's
matching of tyre and rim (derivation from first principles).

In two planes the turn can't oppose both. The best one takes the least mass in all: the sum over the planes of
|L_k(ψ)| / r_k. With L_k² = A_k + B_k cos(ψ − β_k) its derivative is zero where a trigonometric polynomial of
degree 3 is: its six roots are found as eigenvalues, and the best of them is the best of the circle.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .arrays import TINY, Complexes
from .planes import PlaneVector
from .unbalance import wrap_deg

MIN_TURN_DEG = 20.0
"""A turn nearer to none or a full one is useless [deg]: it multiplies the reading's errors by over 4.07."""

NOTHING = 1e-30
"""Beside the largest coefficient of a polynomial, one so much smaller is none."""


class TurnTooSmall(ValueError):
    """The tyre was hardly turned: the readings differ by the machine's error alone."""


@dataclass(frozen=True, slots=True)
class Parts:
    """Rim and tyre, the tyre as it stood at the first reading: heavy side, per plane [g·mm]."""

    rim: tuple[PlaneVector, ...]
    tyre: tuple[PlaneVector, ...]
    turn_deg: float

    def at(self, turn_deg: float) -> tuple[PlaneVector, ...]:
        """The wheel with the tyre at a turn [deg] from the first state."""
        turn = cmath.exp(1j * math.radians(turn_deg))
        return tuple(
            PlaneVector(r.plane, r.vector + t.vector * turn) for r, t in zip(self.rim, self.tyre, strict=True)
        )

    def weight_of_second(self, turn_deg: float) -> complex:
        """The c of L = (1 − c) U1 + c U2 at a turn [deg] from the first state."""
        return _chord(turn_deg) / _chord(self.turn_deg)


def _chord(turn_deg: float) -> complex:
    return cmath.exp(1j * math.radians(turn_deg)) - 1


def error_factor(turn_deg: float) -> float:
    """Error of the parts per error of the readings: 1 / (√2 |sin(φ/2)|), the same for rim and tyre.

    turn_deg [deg].

    >>> error_factor(180), error_factor(20)
    (0.7071, 4.072)
    """
    return 1 / (math.sqrt(2) * abs(math.sin(math.radians(turn_deg) / 2)))


def parts(first: Sequence[PlaneVector], second: Sequence[PlaneVector], turn_deg: float) -> Parts:
    """Rim and tyre from two readings in the same planes and the turn [deg] between them.

    Raises TurnTooSmall within 20° of no turn.
    """
    if abs(math.remainder(turn_deg, 360)) < MIN_TURN_DEG:
        raise TurnTooSmall(
            f"a turn of {turn_deg:g}°; it must be {MIN_TURN_DEG:g}° or more from none and a full one"
        )
    tyre = tuple(
        PlaneVector(u.plane, (v.vector - u.vector) / _chord(turn_deg)) for u, v in zip(first, second, strict=True)
    )
    rim = tuple(PlaneVector(u.plane, u.vector - t.vector) for u, t in zip(first, tyre, strict=True))
    return Parts(rim, tyre, turn_deg)


def best_turn_deg(found: Parts) -> float:
    """The turn [deg] from the first state at which the planes together need the least mass.

    The least of all roots; where no turn changes anything it is 0: leave the tyre as it is.
    """
    rim, tyre = (np.array([v.vector / v.plane.radius_mm for v in part]) for part in (found.rim, found.tyre))

    def mass_g(turn: complex) -> float:
        return float(np.abs(rim + tyre * turn).sum())

    opposed = -np.conj(tyre) * rim  # the turn that opposes tyre and rim, plane by plane, as a direction
    candidates = [1 + 0j, *(_unit(z) for z in [*opposed, opposed.sum(), *_stationary(rim, tyre)])]
    least = min(mass_g(turn) for turn in candidates)
    # Equal to rounding, the first counts: as it was, rather than a turn that gains nothing.
    best = next(turn for turn in candidates if mass_g(turn) <= least * (1 + 1e-12))
    return wrap_deg(math.degrees(cmath.phase(best)))


def _unit(z: complex) -> complex:
    return cmath.exp(1j * cmath.phase(z))


def _stationary(rim: Complexes, tyre: Complexes) -> list[complex]:
    """The zeros, off the circle too, of the squared derivative of the sum of two lengths.

    With z = e^{iψ} and D = conj(R) T: |L|² = A + D z + conj(D)/z, and its slope is i (D z − conj(D)/z). The slopes
    of the two lengths cancel where slope_a² |L_b|² = slope_b² |L_a|².
    """
    if len(rim) != 2:
        return []
    scale = max(float(np.abs([rim, tyre]).max()), TINY)
    rim, tyre = rim / scale, tyre / scale
    d = np.conj(rim) * tyre
    length = [np.array([d[k], abs(rim[k]) ** 2 + abs(tyre[k]) ** 2, np.conj(d[k])]) for k in (0, 1)]
    slope = [np.array([d[k], 0, -np.conj(d[k])]) for k in (0, 1)]
    difference: Complexes = np.polysub(
        np.polymul(np.polymul(slope[0], slope[0]), length[1]),
        np.polymul(np.polymul(slope[1], slope[1]), length[0]),
    )
    size = np.abs(difference)
    # A leading coefficient that is nothing beside the others would only send a root to infinity.
    return [complex(z) for z in np.roots(np.where(size > NOTHING * size.max(), difference, 0)) if z]
