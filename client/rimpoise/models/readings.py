"""What the balancer said, in one of four kinds.

Positions [mm] run along the axis, positive outboard, from whatever datum you choose, the same for one whole
question. Angles [deg] grow clockwise as seen from outboard, from your mark.

``reports`` says what was called: the place where a weight belongs (``"correction"``, what balancers show) or
the heavy side (``"unbalance"``). Mixing them up doubles the fault. ``old_weights`` are known weights that were
still on the wheel when it was read; they are taken off by computation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

Reports = Literal["correction", "unbalance"]


@dataclass(frozen=True, slots=True)
class PointMass:
    """A mass_g [g] at position_mm along the axis and radius_mm from it [mm], at angle_deg [deg]."""

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class TwoPlaneReading:
    """One mass in each of two planes, in any order; the smaller position is inboard."""

    planes: Sequence[PointMass]
    reports: Reports = "correction"
    old_weights: Sequence[PointMass] = ()
    kind: Literal["two_plane"] = field(default="two_plane", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class StaticReading:
    """One mass_g [g] in one plane, at position_mm and radius_mm [mm] and angle_deg [deg]; no word of a couple."""

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    reports: Reports = "correction"
    old_weights: Sequence[PointMass] = ()
    kind: Literal["static"] = field(default="static", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class StaticCoupleReading:
    """The static vector static_gmm [g·mm] that acts at position_mm [mm], and the couple about that point.

    static_angle_deg and couple_angle_deg are directions [deg]; couple_gmm2 is the couple's size [g·mm²].
    """

    position_mm: float
    static_gmm: float
    static_angle_deg: float
    couple_gmm2: float
    couple_angle_deg: float
    reports: Reports = "correction"
    old_weights: Sequence[PointMass] = ()
    kind: Literal["static_couple"] = field(default="static_couple", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class PointMassReading:
    """Known masses that make the unbalance, as in a textbook; they can only be reported as unbalance."""

    masses: Sequence[PointMass]
    reports: Literal["unbalance"] = "unbalance"
    old_weights: Sequence[PointMass] = ()
    kind: Literal["point_masses"] = field(default="point_masses", kw_only=True, repr=False)


Reading: TypeAlias = TwoPlaneReading | StaticReading | StaticCoupleReading | PointMassReading


def two_plane(
    first: PointMass, second: PointMass, *, reports: Reports = "correction", old_weights: Sequence[PointMass] = ()
) -> TwoPlaneReading:
    """The usual reading, plane by plane.

    >>> two_plane(PointMass(-134, 205, 35, 62), PointMass(44, 205, 20, 198)).planes[1].mass_g
    20
    """
    return TwoPlaneReading((first, second), reports, old_weights)
