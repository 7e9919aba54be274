"""Whole stock masses for exact corrections, at the called angles.

1. ``nearest``: each plane takes the stock mass nearest to what was called; none is a choice too.
2. ``static_first``: the masses are chosen together. Among those that leave no plane more than
   ``per_plane_g``, the static residual is least; then the couple; then the total mass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ..mechanics.planes import PlaneVector
from .remarks import Remark

Aim = Literal["nearest", "static_first"]


@dataclass(frozen=True, slots=True)
class Rounded:
    """One weight per target, in order; what each plane keeps (heavy side), static [g·mm] and couple [g·mm²]."""

    weights: tuple[PlaneVector, ...]
    planes: tuple[PlaneVector, ...]
    static_gmm: float
    couple_gmm2: float
    warnings: tuple[Remark, ...] = ()


def round_to_stock(
    targets: Sequence[PlaneVector], masses_g: Sequence[float], aim: Aim, per_plane_g: float
) -> Rounded:
    """Choose a stock mass [g], or none, for each of one or two targets. Exact: every combination is weighed."""
    raise NotImplementedError
