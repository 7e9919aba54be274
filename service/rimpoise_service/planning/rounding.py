"""Whole stock masses for exact corrections, at the called angles.

1. ``nearest``: each plane takes the stock mass nearest to the called one; no weight is a choice too.
2. ``static_first``: the masses are chosen together. Among those that leave no plane more than
   ``per_plane_g``, the static residual is least; then the couple; then the total mass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..messages.message import Message, message
from ..physics.arrays import Floats
from ..physics.planes import PlaneVector
from ..physics.unbalance import Unbalance, polar
from .acceptance import mean_position_mm

Aim = Literal["nearest", "static_first"]

EQUAL = 1e-6
"""Excesses [g] and residuals [g·mm, g·mm²] that differ by less are equal; then the next rule decides."""


@dataclass(frozen=True, slots=True)
class Rounding:
    """One weight per target, in order; what each plane keeps (heavy side), static [g·mm] and couple [g·mm²].

    The couple is taken about the middle between the planes.
    """

    weights: tuple[PlaneVector, ...]
    planes: tuple[PlaneVector, ...]
    static_gmm: float
    couple_gmm2: float
    warnings: tuple[Message, ...] = ()


def round_to_stock(
    targets: Sequence[PlaneVector], masses_g: Sequence[float], aim: Aim, per_plane_g: float
) -> Rounding:
    """Choose a stock mass [g], or none, for each of one or two targets. Exact: every combination is weighed.

    per_plane_g [g] is at each plane's own radius; where it can't be kept, the least excess is chosen and reported.
    """
    masses = np.unique(np.array([0.0, *masses_g]))
    if aim == "nearest":
        off = [np.abs(masses * t.plane.radius_mm - t.unbalance_gmm) for t in targets]
        chosen = [float(masses[_steps(o).argmin()]) for o in off]  # halfway between two: the lighter
    else:
        chosen = _static_first(targets, masses, per_plane_g)
    weights = tuple(
        PlaneVector(t.plane, polar(m * t.plane.radius_mm, t.angle_deg))
        for t, m in zip(targets, chosen, strict=True)
    )
    left = tuple(PlaneVector(t.plane, w.vector - t.vector) for t, w in zip(targets, weights, strict=True))
    total = sum((Unbalance.at(v.plane.position_mm, v.vector) for v in left), Unbalance())
    middle = mean_position_mm([t.plane for t in targets])
    over = [v for v in left if v.mass_g > per_plane_g * (1 + 1e-9)]
    return Rounding(
        weights=weights,
        planes=left,
        static_gmm=abs(total.static),
        couple_gmm2=abs(total.about(middle)),
        warnings=tuple(
            message("plane_over_limit", plane=v.plane.name, mass_g=v.mass_g, limit_g=per_plane_g) for v in over
        ),
    )


def _static_first(targets: Sequence[PlaneVector], masses: Floats, per_plane_g: float) -> list[float]:
    # Where nothing was called there is no angle to put a weight at.
    choices = [masses if t.vector else masses[:1] for t in targets]
    grid = np.stack([m.ravel() for m in np.meshgrid(*choices, indexing="ij")])
    called = np.array([[t.mass_g] for t in targets])
    vectors = np.array([[polar(t.plane.radius_mm, t.angle_deg)] for t in targets]) * (grid - called)
    middle = mean_position_mm([t.plane for t in targets])
    arms = np.array([[t.plane.position_mm - middle] for t in targets])
    excess_g = np.maximum(np.abs(grid - called).max(axis=0) - per_plane_g * (1 + 1e-9), 0.0)
    static = np.abs(vectors.sum(axis=0))
    couple = np.abs((vectors * arms).sum(axis=0))
    best = np.lexsort((grid.sum(axis=0), _steps(couple), _steps(static), _steps(excess_g)))[0]
    return [float(m) for m in grid[:, best]]


def _steps(left: Floats) -> Floats:
    """What is left, in steps of what is equal, rounded: round numbers then don't lie between two steps."""
    return np.round(left / EQUAL)
