"""Two readings and what was done in between, laid side by side: expected, measured, and the surprise.

Both readings carry the machine's error. In the difference they add up: at the planes in which the readings are
compared its covariance is the sum, over both readings and over the planes each was read in, of what a unit in
that plane shows at the planes compared. ``Whitening`` divides by it, so that every component has an error of 1.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..messages.message import Message
from ..physics.planes import Plane
from ..physics.readings import Reading, Static, reading_planes, unbalance_of
from ..physics.unbalance import PointMass, Unbalance
from ..planning.acceptance import Criterion, default_acceptance
from ..planning.tolerance_check import Residual, ToleranceEvaluator

Complexes = NDArray[np.complex128]

MACHINE_SD_G = 1.0
"""Repeatability of a balancer per plane and component [g]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class CheckSpinRequest:
    """A wheel before, the pieces fitted, the wheel after; machine_sd_g is the machine's repeatability [g].

    planes: where to tell what is left, by default where the check spin was read. doubts: what is unlikely of the
    readings.
    """

    before: Reading
    fitted: tuple[PointMass, ...]
    after: Reading
    acceptance: Criterion = default_acceptance(None)  # noqa: RUF009 (frozen)
    machine_sd_g: float = MACHINE_SD_G
    planes: tuple[Plane, ...] = ()
    doubts: tuple[Message, ...] = ()

    @property
    def static(self) -> bool:
        """Whether the readings tell the static sum alone."""
        return isinstance(self.after, Static)


def planes_compared(first: Reading, second: Reading, asked: Sequence[Plane]) -> tuple[Plane, ...]:
    """The planes asked for; else the second reading's own; else the first one's. None if nobody names any."""
    return tuple(asked) or reading_planes(second) or reading_planes(first)


@dataclass(frozen=True, slots=True)
class Whitening:
    """Unbalances as they show at the planes [mm] compared, in standard deviations of two readings' difference."""

    positions_mm: tuple[float, ...]
    root: NDArray[np.float64]

    @classmethod
    def of(cls, planes: Sequence[Plane], readings: Iterable[Reading], machine_sd_g: float) -> Whitening:
        """For readings that are compared at one or two planes."""
        positions = tuple(p.position_mm for p in planes)
        covariance = np.zeros((len(positions), len(positions)))
        for reading in readings:
            for plane in reading_planes(reading) or planes:
                share = _shares(positions, plane.position_mm)
                covariance += (machine_sd_g * plane.radius_mm) ** 2 * np.outer(share, share)
        # Not Cholesky: planes a hair apart, judged far away, make a matrix that is singular to rounding.
        values, vectors = np.linalg.eigh(covariance)
        values = np.maximum(values, 1e-12 * values[-1])
        return cls(positions, vectors.T / np.sqrt(values)[:, None])

    def __call__(self, unbalance: Unbalance) -> Complexes:
        """The whitened vector, one component per plane."""
        if len(self.positions_mm) == 1:
            shown = np.array([unbalance.static])
        else:
            a, b = self.positions_mm
            shown = np.array([unbalance.about(b), -unbalance.about(a)]) / (a - b)
        return np.asarray(self.root @ shown, dtype=np.complex128)


def _shares(positions_mm: Sequence[float], position_mm: float) -> NDArray[np.float64]:
    """What a unit vector at a position [mm] shows at the planes compared."""
    if len(positions_mm) == 1:
        return np.ones(1)
    a, b = positions_mm
    return np.array([position_mm - b, a - position_mm]) / (a - b)


@dataclass(frozen=True, slots=True)
class SpinComparison:
    """What was expected and what was measured, where and by whom it is judged, and the measure of surprise."""

    expected: Unbalance
    measured: Unbalance
    planes: tuple[Plane, ...]
    evaluator: ToleranceEvaluator
    whitening: Whitening

    @property
    def static(self) -> bool:
        """Whether one plane says it all, so that nothing is known of couples."""
        return len(self.planes) == 1

    def shown(self, unbalance: Unbalance) -> Residual:
        """An unbalance as it shows at the planes; of a couple that nobody read nothing is told."""
        if self.static:
            unbalance = Unbalance.at(self.evaluator.centre_mm, unbalance.static)
        return self.evaluator.residual(unbalance)

    @property
    def innovation(self) -> Unbalance:
        """What was measured less what was expected."""
        return self.measured - self.expected

    @property
    def numbers(self) -> int:
        """How many real numbers the two readings compare."""
        return 2 * len(self.planes)


def compare_spins(spin: CheckSpinRequest) -> SpinComparison:
    """Lay the check spin beside what the reading before and the pieces promised."""
    planes = planes_compared(spin.before, spin.after, () if spin.static else spin.planes)
    return SpinComparison(
        expected=unbalance_of(spin.before) + Unbalance.of(spin.fitted),
        measured=unbalance_of(spin.after),
        planes=planes,
        evaluator=ToleranceEvaluator.at(planes, spin.acceptance, static_only=False),
        whitening=Whitening.of(planes, (spin.before, spin.after), spin.machine_sd_g),
    )
