"""The tolerance check: the residual at the planes that are judged against the limits there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np

from ..physics.arrays import Complexes, Floats
from ..physics.planes import Plane, PlaneVector, resolve_in_planes
from ..physics.unbalance import Unbalance
from .acceptance import Criterion, Limits, mean_position_mm, mean_radius_mm

WITHIN = 1 + 1e-6
"""A share of a limit up to which it is kept: a part in a million is rounding, not a failure."""


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


FELT_COUPLE_G = 0.5
"""A couple of less in each of two planes is not worth a word [g]; common practice, no source."""


def couple_side_g(couple_gmm2: float, planes: Sequence[Plane]) -> float | None:
    """A couple [g·mm²] as the mass [g] that it is in each of two planes; None without two."""
    if len(planes) != 2:
        return None
    span_mm = abs(planes[0].position_mm - planes[1].position_mm)
    return couple_gmm2 / (span_mm * mean_radius_mm(planes))


@dataclass(frozen=True, slots=True)
class ToleranceEvaluator:
    """The planes in which the check spin will show the residual, and the limits it must keep.

    Two planes: each and their static sum count. ``static_only``: the sum alone counts, the planes are reported.
    The sum is a mass at static_radius_mm [mm], the couple is about centre_mm [mm].
    """

    planes: tuple[Plane, ...]
    static_radius_mm: float
    centre_mm: float
    limits: Limits
    static_only: bool = False

    @classmethod
    def at(cls, planes: Sequence[Plane], criterion: Criterion, *, static_only: bool) -> ToleranceEvaluator:
        """An evaluator that looks at one or two planes; one plane can only be judged statically."""
        return cls(
            planes=tuple(planes) if len(planes) == 2 else (),
            static_radius_mm=mean_radius_mm(planes),
            centre_mm=mean_position_mm(planes),
            limits=criterion.limits(planes),
            static_only=static_only or len(planes) == 1,
        )

    @property
    def plane_limits(self) -> tuple[PlaneVector, ...]:
        """What may stay in each plane that counts; none where the static sum alone does."""
        if self.static_only:
            return ()
        pairs = zip(self.planes, self.limits.planes_gmm, strict=True)
        return tuple(PlaneVector(plane, complex(limit)) for plane, limit in pairs)

    @property
    def static_limit_g(self) -> float:
        """What may stay of the static sum, as a mass [g] at the mean radius."""
        return self.limits.static_gmm / self.static_radius_mm

    def worst_g(self, left: Residual) -> tuple[float, float]:
        """What is left [g] and what may be [g], where the share of the limit is largest."""
        pairs = [(left.static_g, self.static_limit_g)]
        pairs += [(v.mass_g, most.mass_g) for v, most in zip(left.planes, self.plane_limits, strict=False)]
        return max(pairs, key=lambda pair: pair[0] / pair[1] if pair[1] else inf)

    def residual(self, unbalance: Unbalance) -> Residual:
        """An unbalance as it shows at the planes."""
        vectors: tuple[PlaneVector, ...] = ()
        if self.planes:
            a, b = self.planes
            in_a, in_b = resolve_in_planes(unbalance, a.position_mm, b.position_mm)
            vectors = PlaneVector(a, in_a), PlaneVector(b, in_b)
        return Residual(vectors, unbalance.static, unbalance.about(self.centre_mm), self.static_radius_mm)

    def shares(self, static: Complexes, moment: Complexes) -> Floats:
        """What residuals take of each limit, the static one first, in their shape; accepted if none is over 1.

        static [g·mm] and moment about the datum [g·mm²], of one shape.
        """
        return np.array(self._shares(static, moment))

    def limit_ratio(self, unbalance: Unbalance) -> float:
        """The largest share of a limit that an unbalance takes; up to 1 it is accepted."""
        return float(max(self._shares(unbalance.static, unbalance.moment)))

    def _shares(self, static: Any, moment: Any) -> list[Any]:
        """One formula for a residual and for arrays of them: in numpy, one alone would cost ten times more."""
        shares = [abs(static) / self.limits.static_gmm]
        if not self.static_only:
            a, b = self.planes
            in_a = (moment - static * b.position_mm) / (a.position_mm - b.position_mm)
            limit_a, limit_b = self.limits.planes_gmm
            shares += [abs(in_a) / limit_a, abs(static - in_a) / limit_b]
        return shares

    def largest_g(self, residual: Residual) -> float:
        """The largest of the residuals that are judged [g], each at its own radius."""
        return max([residual.static_g, *([] if self.static_only else [v.mass_g for v in residual.planes])])

    def accepts(self, limit_ratio: float) -> bool:
        """Whether every limit is kept, rounding aside."""
        return limit_ratio <= WITHIN
