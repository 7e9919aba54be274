"""Short ways to write a reading."""

from __future__ import annotations

from collections.abc import Sequence

from .models.shared import PointMass, TwoPlaneReading
from .models.words import ReportsInput


def two_plane(
    first: PointMass,
    second: PointMass,
    *,
    reports: ReportsInput = "correction",
    old_weights: Sequence[PointMass] = (),
) -> TwoPlaneReading:
    """The usual reading, plane by plane, in any order.

    >>> two_plane(PointMass(-134, 205, 35, 62), PointMass(44, 205, 20, 198)).planes[1].mass_g
    20
    """
    return TwoPlaneReading((first, second), reports, old_weights)
