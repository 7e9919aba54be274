"""The check spin beside what the reading before and the pieces promised: expected, measured, and the innovation.

Three errors meet in the difference: the machine's in both readings, and those of the hands that fitted the
pieces. At the c planes in which the readings are compared the covariance is their sum, of all 2 c parts: real
ones first, then imaginary ones. A machine's errors are the same in every direction; those of a piece are not:
its angle's lie across it, those of its mass and of its place along the axis lie along it. ``Whitening`` divides by
the sum, so that every component has an error of 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from ..messages.message import Message
from ..model.device import Dialect
from ..model.stock import Stock
from ..model.wheel import Wheel
from ..physics.arrays import Complexes, Floats
from ..physics.planes import Plane, resolve_in_planes
from ..physics.readings import Reading, Static, reading_planes, shown_variance, shown_zeros, unbalance_of
from ..physics.unbalance import Unbalance
from ..planning.acceptance import Acceptance, Criterion
from ..planning.effort import Effort
from ..planning.pass_probability import components
from ..planning.spread import MACHINE_SD_G, Spread
from ..planning.tolerance_check import Residual, ToleranceEvaluator
from .fitted_piece import FittedPiece

Reclamped = Literal["yes", "no", "unknown"]

LEAST_SD_G = 0.01
"""No machine repeats better [g]: odds are built on it."""

DISPLAY_STEP_G = 1.0
"""What a display shows in steps of, where nothing is known of it [g]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class CheckSpinRequest:
    """A wheel before, the pieces fitted, the wheel after.

    stock: what there is to fit, steps of 5 g without; spread: what hands and machine do; reclamped: whether the
    wheel was taken off the shaft between the spins; planes: where to tell what is left, by default where the
    check spin was read; static_only: whether the static sum alone is judged; doubts: what is unlikely of the
    readings; dialect: of the balancer that read, to answer in its words; wheel: where weights can't go on it.
    """

    before: Reading
    fitted: tuple[FittedPiece, ...]
    after: Reading
    acceptance: Criterion = field(default_factory=Acceptance)
    stock: Stock | None = None
    spread: Spread = field(default_factory=Spread)
    effort: Effort = field(default_factory=Effort)
    reclamped: Reclamped = "unknown"
    planes: tuple[Plane, ...] = ()
    static_only: bool = False
    doubts: tuple[Message, ...] = ()
    dialect: Dialect | None = None
    wheel: Wheel | None = None

    @property
    def static(self) -> bool:
        """Whether the readings show the static sum only."""
        return isinstance(self.after, Static)

    @property
    def step_g(self) -> float:
        """The step of the coarser display [g]."""
        return max(r.step_g or DISPLAY_STEP_G for r in (self.before, self.after))


def planes_compared(first: Reading, second: Reading, wanted: Sequence[Plane]) -> tuple[Plane, ...]:
    """The planes wanted; else the second reading's own; else the first one's. None if nobody names any."""
    return tuple(wanted) or reading_planes(second) or reading_planes(first)


@dataclass(frozen=True, slots=True)
class Resolver:
    """Unbalances as vectors at the planes compared [mm]: one component [g·mm] a plane."""

    positions_mm: tuple[float, ...]

    def __call__(self, unbalance: Unbalance) -> Complexes:
        """An unbalance at the planes; at one plane its static sum."""
        if len(self.positions_mm) == 1:
            return np.array([unbalance.static])
        return np.array(resolve_in_planes(unbalance, *self.positions_mm))

    def shares(self, position_mm: float) -> Floats:
        """What a unit vector at a position [mm] shows at the planes."""
        return np.asarray(self(Unbalance.at(position_mm, 1 + 0j)).real)

    @property
    def shares_per_mm(self) -> Floats:
        """How that changes with the position [1/mm]."""
        return np.asarray(self(Unbalance(0j, 1 + 0j)).real)


@dataclass(frozen=True, slots=True)
class Covariances:
    """At the planes compared, (2 c, 2 c) [g²·mm²]: of each reading, of one more, and of each fitted piece.

    What a 0 before may have hidden is a cause (``fault_hypotheses``); after, it is an error of that reading.
    """

    before: Floats
    after: Floats
    again: Floats
    pieces: tuple[Floats, ...]

    @classmethod
    def of(cls, spin: CheckSpinRequest, planes: Sequence[Plane], resolve: Resolver) -> Covariances:
        """Of readings and pieces of a check spin; ``resolve``: at the same planes."""
        sd_g = max(machine_sd_g(spin.spread), LEAST_SD_G)
        before, again = (_of_reading(r, planes, resolve, sd_g) for r in (spin.before, spin.after))
        after = again + _of_zeros(spin.after, resolve)
        return cls(before, after, again, tuple(of_piece(p, spin.spread, resolve) for p in spin.fitted))

    @property
    def expected(self) -> Floats:
        """Of what was expected."""
        return np.asarray(sum(self.pieces, self.before))

    @property
    def innovation(self) -> Floats:
        """Of the difference between measured and expected."""
        return np.asarray(self.expected + self.after)

    @property
    def promised(self) -> Floats:
        """Of what one more reading shows of what was expected."""
        return np.asarray(self.expected + self.again)


def _of_reading(reading: Reading, planes: Sequence[Plane], resolve: Resolver, machine_sd_g: float) -> Floats:
    """Of the machine, over as many spins as it is the mean of, and of the display's rounding."""
    variance = shown_variance(machine_sd_g, reading.step_g, reading.spins)
    total = np.zeros((len(planes), len(planes)))
    for plane in reading_planes(reading) or planes:
        share = resolve.shares(plane.position_mm)
        total += variance * plane.radius_mm**2 * np.outer(share, share)
    return np.asarray(np.kron(np.eye(2), total))


def _of_zeros(reading: Reading, resolve: Resolver) -> Floats:
    """Of what is shown as 0: up to what the display hides, evenly spread over a disc."""
    vectors = [resolve(gram).real for gram in shown_zeros(reading)]
    size = len(resolve.positions_mm)
    total = sum((np.outer(v, v) for v in vectors), np.zeros((size, size)))
    return np.asarray(np.kron(np.eye(2), reading.zero_below_g**2 / 4 * total))


def machine_sd_g(spread: Spread) -> float:
    """The machine's spread [g]; a car's balancer where none is given."""
    return MACHINE_SD_G if spread.machine_sd_g is None else spread.machine_sd_g


def of_piece(piece: FittedPiece, spread: Spread, resolve: Resolver) -> Floats:
    """Covariance of what hands make of a piece, at the planes [g²·mm²]."""
    share, per_mm = resolve.shares(piece.position_mm), resolve.shares_per_mm
    along, across = (components(np.array([v])) for v in (piece.vector, 1j * piece.vector))
    here, moved = np.outer(share, share), np.outer(per_mm, per_mm)
    of_mass_and_place = spread.mass_var * here + spread.axial_var(clip_on=piece.style != "adhesive") * moved
    of_angle = spread.angle_var * here
    return np.asarray(
        np.kron(np.outer(along, along), of_mass_and_place) + np.kron(np.outer(across, across), of_angle)
    )


@dataclass(frozen=True, slots=True)
class Whitening:
    """Unbalances as they show at the planes compared, in standard deviations of the innovation."""

    resolve: Resolver
    root: Floats

    @classmethod
    def of(cls, resolve: Resolver, covariance: Floats) -> Whitening:
        """By a covariance (2 c, 2 c) [g²·mm²]."""
        # Not Cholesky: planes a hair apart, judged far away, make a matrix that is singular to rounding.
        values, vectors = np.linalg.eigh(covariance)
        values = np.maximum(values, 1e-12 * values[-1])
        return cls(resolve, vectors.T / np.sqrt(values)[:, None])

    def __call__(self, unbalance: Unbalance) -> Floats:
        """The whitened vector, two components a plane."""
        return np.asarray(self.root @ components(self.resolve(unbalance)))


@dataclass(frozen=True, slots=True)
class SpinComparison:
    """What was expected and what was measured, where and by whom it is judged, and what may have come in
    between."""

    spin: CheckSpinRequest
    expected: Unbalance
    measured: Unbalance
    planes: tuple[Plane, ...]
    evaluator: ToleranceEvaluator
    covariances: Covariances
    whitening: Whitening

    @property
    def static(self) -> bool:
        """Whether there is one plane only, so that couples are unknown."""
        return len(self.planes) == 1

    @property
    def fitted(self) -> tuple[FittedPiece, ...]:
        """The pieces as they were planned."""
        return self.spin.fitted

    def shown(self, unbalance: Unbalance) -> Residual:
        """An unbalance as it shows at the planes; without the couple where none was read."""
        if self.static:
            unbalance = Unbalance.at(self.evaluator.centre_mm, unbalance.static)
        return self.evaluator.residual(unbalance)

    def largest_g(self, unbalance: Unbalance) -> float:
        """What an unbalance shows in the plane where that is most [g]."""
        shown = self.shown(unbalance)
        return max([p.mass_g for p in shown.planes], default=shown.static_g)

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
    resolve = Resolver(tuple(p.position_mm for p in planes))
    covariances = Covariances.of(spin, planes, resolve)
    return SpinComparison(
        spin=spin,
        expected=unbalance_of(spin.before) + Unbalance.of(spin.fitted),
        measured=unbalance_of(spin.after),
        planes=planes,
        evaluator=ToleranceEvaluator.at(planes, spin.acceptance, static_only=spin.static_only),
        covariances=covariances,
        whitening=Whitening.of(resolve, covariances.innovation),
    )
