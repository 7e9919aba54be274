"""When is it good enough? What is left, told at the reading's own planes, against the acceptance.

The default acceptance is one stock step, 5 g or 1/4 oz per plane and static (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..mechanics.planes import Plane, PlaneVector, split_in_two
from ..mechanics.vectors import Unbalance
from .stock import GRAMS_PER_OUNCE, Builtin

Vectors = complex | NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Limits of what may stay: per_plane_g in each reading plane [g], static_g at their mean radius [g]."""

    per_plane_g: float = 5.0
    static_g: float = 5.0


def default_acceptance(builtin: Builtin | None) -> Acceptance:
    """One stock step: 5 g, or 1/4 oz for the ounce stock [g]."""
    step = GRAMS_PER_OUNCE / 4 if builtin == "ounce" else 5.0
    return Acceptance(step, step)


@dataclass(frozen=True, slots=True)
class Residual:
    """What is left on the wheel, heavy side: per judged plane, static [g·mm] and couple [g·mm²]."""

    planes: tuple[PlaneVector, ...]
    static: complex
    couple: complex
    static_radius_mm: float

    @property
    def static_gmm(self) -> float:
        """Size of the static vector [g·mm]."""
        return abs(self.static)

    @property
    def static_g(self) -> float:
        """The same as a mass [g] at the mean radius of the planes."""
        return abs(self.static) / self.static_radius_mm

    @property
    def couple_gmm2(self) -> float:
        """Size of the couple [g·mm²] about the middle between the planes."""
        return abs(self.couple)


@dataclass(frozen=True, slots=True)
class Judge:
    """The planes in which the check spin will show what is left, and the limits it is held to.

    Two planes: each and their static sum count. ``static_only``: the sum alone counts, the planes are told.
    """

    planes: tuple[Plane, ...]
    static_radius_mm: float
    centre_mm: float
    acceptance: Acceptance
    static_only: bool = False

    @classmethod
    def at(cls, planes: Sequence[Plane], acceptance: Acceptance, *, static_only: bool) -> Judge:
        """The judge who looks at one or two planes; one plane can only be judged statically."""
        count = len(planes)
        return cls(
            planes=tuple(planes) if count == 2 else (),
            static_radius_mm=sum(p.radius_mm for p in planes) / count,
            centre_mm=sum(p.position_mm for p in planes) / count,
            acceptance=acceptance,
            static_only=static_only or count == 1,
        )

    def residual(self, unbalance: Unbalance) -> Residual:
        """An unbalance as it shows at the planes."""
        vectors: tuple[PlaneVector, ...] = ()
        if self.planes:
            a, b = self.planes
            in_a, in_b = split_in_two(unbalance, a.position_mm, b.position_mm)
            vectors = PlaneVector(a, in_a), PlaneVector(b, in_b)
        return Residual(vectors, unbalance.static, unbalance.about(self.centre_mm), self.static_radius_mm)

    def shares(self, static: Vectors, moment: Vectors) -> NDArray[np.float64]:
        """What a residual takes of each limit, the static one first; accepted if none is over 1.

        static [g·mm] and moment about the datum [g·mm²], single or as arrays of one shape.
        """
        shares = [np.abs(static) / (self.acceptance.static_g * self.static_radius_mm)]
        if not self.static_only:
            a, b = self.planes
            in_a = (moment - static * b.position_mm) / (a.position_mm - b.position_mm)
            for plane, vector in ((a, in_a), (b, static - in_a)):
                shares.append(np.abs(vector) / (self.acceptance.per_plane_g * plane.radius_mm))
        return np.stack(shares)

    def excess(self, unbalance: Unbalance) -> float:
        """The largest share of a limit that an unbalance takes; up to 1 it is accepted."""
        return float(self.shares(unbalance.static, unbalance.moment).max())

    def largest_g(self, residual: Residual) -> float:
        """The largest of the residuals that are judged [g], each at its own radius."""
        return max([residual.static_g, *([] if self.static_only else [v.mass_g for v in residual.planes])])

    def couple_limit(self, position_mm: float) -> float:
        """No accepted residual has a larger couple than this about a point of the axis [g·mm²]."""
        if self.static_only:
            return float("inf")
        arms = (p.radius_mm * abs(p.position_mm - position_mm) for p in self.planes)
        return self.acceptance.per_plane_g * sum(arms)

    def accepts(self, excess: float) -> bool:
        """Whether every limit is kept; a part in a million is rounding, not a failure."""
        return excess <= 1 + 1e-6
