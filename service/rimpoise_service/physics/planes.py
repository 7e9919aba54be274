"""Correcting an unbalance in one or two planes.

Rigid rotor in two planes z_a, z_b: both sums, S + C_a + C_b and M + C_a z_a + C_b z_b, are made zero by

    C_a = (z_b S − M) / (z_a − z_b),    C_b = (M − z_a S) / (z_a − z_b).

In one plane only S can be met: C = −S, and the couple M − S z stays. Any text on the balancing of
rotating masses has these; so T. Bevan, *The Theory of Machines*, ch. 14.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .unbalance import Unbalance, angle_deg

MIN_PLANE_DISTANCE_MM = 1.0
"""Nearer planes are one plane with a typing error [mm]; common practice, no source."""

HIGH_GAIN = 3.0
"""From here a correction multiplies the reading's own errors noticeably; common practice, no source."""

ZERO_TOLERANCE = 1e-12
"""What floating point leaves of a difference that is zero, relative to its terms."""


class PlanesTooClose(ValueError):
    """Two planes at (nearly) the same position can't make a couple."""


@dataclass(frozen=True, slots=True)
class Plane:
    """Where weights can go: its name, position_mm [mm] along the axis and radius_mm [mm]."""

    name: str
    position_mm: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class PlaneVector:
    """A vector [g·mm] in a plane: a weight to fit, or unbalance that is there."""

    plane: Plane
    vector: complex

    @property
    def unbalance_gmm(self) -> float:
        """Its size [g·mm]."""
        return abs(self.vector)

    @property
    def mass_g(self) -> float:
        """The mass [g] that makes it at the plane's radius."""
        return abs(self.vector) / self.plane.radius_mm

    @property
    def angle_deg(self) -> float:
        """Its direction [deg]."""
        return angle_deg(self.vector)


def resolve_in_planes(unbalance: Unbalance, position_a_mm: float, position_b_mm: float) -> tuple[complex, complex]:
    """The vectors [g·mm] in two planes that are *equivalent* to an unbalance (correct it with their negatives).

    position_a_mm, position_b_mm [mm]. Raises PlanesTooClose under 1 mm.

    >>> [v.real for v in resolve_in_planes(Unbalance.at(10, 200 + 0j), 0, 50)]
    [160.0, 40.0]
    """
    distance = position_a_mm - position_b_mm
    if abs(distance) < MIN_PLANE_DISTANCE_MM:
        raise PlanesTooClose(
            f"planes {abs(distance):g} mm apart; they must be {MIN_PLANE_DISTANCE_MM:g} mm or more"
        )
    # The couples are taken about the planes themselves: far from the datum nothing cancels.
    in_a = unbalance.about(position_b_mm) / distance
    in_b = -unbalance.about(position_a_mm) / distance
    noise = ZERO_TOLERANCE * (abs(unbalance.moment) / abs(distance) + abs(unbalance.static))
    return _clean(in_a, noise), _clean(in_b, noise)


def _clean(vector: complex, noise: float) -> complex:
    return vector if abs(vector) > noise else 0j


def correct(unbalance: Unbalance, planes: Sequence[Plane]) -> tuple[PlaneVector, ...]:
    """The weights that correct an unbalance: one plane statically, two planes in full.

    Raises PlanesTooClose; ValueError for any other number of planes.

    >>> [c.mass_g for c in correct(Unbalance.at(0, 200 + 0j), [Plane("a", 10, 20)])]
    [10.0]
    """
    match planes:
        case [plane]:
            return (PlaneVector(plane, -unbalance.static),)
        case [a, b]:
            in_a, in_b = resolve_in_planes(unbalance, a.position_mm, b.position_mm)
            return PlaneVector(a, -in_a), PlaneVector(b, -in_b)
    raise ValueError(f"{len(planes)} correction planes; give one or two")


def residual_unbalance(unbalance: Unbalance, corrections: Sequence[PlaneVector]) -> Unbalance:
    """What stays when the corrections are on: exact zeros where they meet a sum exactly."""
    total = unbalance
    static_noise, moment_noise = abs(unbalance.static), abs(unbalance.moment)
    for c in corrections:
        total += Unbalance.at(c.plane.position_mm, c.vector)
        static_noise += abs(c.vector)
        # Masses that cancel leave dust at their distance, which is about that of the planes.
        moment_noise += (abs(c.vector) + abs(unbalance.static)) * abs(c.plane.position_mm)
    return Unbalance(
        _clean(total.static, ZERO_TOLERANCE * static_noise),
        _clean(total.moment, ZERO_TOLERANCE * moment_noise),
    )


def gain(corrections: Sequence[PlaneVector], read_gmm: float) -> float | None:
    """How much weight is fitted per unbalance read: Σ|C_k| over the sizes of the reading's vectors [g·mm].

    Independent of the datum. None when nothing was read.

    >>> gain([PlaneVector(Plane("a", 0, 1), 30 + 0j)], 10), gain([], 0)
    (3.0, None)
    """
    return sum(c.unbalance_gmm for c in corrections) / read_gmm if read_gmm else None
