"""When is it good enough? Limits in grams, or by a balance quality grade; at given planes both become g·mm.

The default is one stock step of a car, 5 g per plane and static (common practice, no source); what is usual for
other classes, and in ounces, is in ``vehicle_marks``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..messages.message import Message, message
from ..physics.planes import Plane
from ..physics.quality_grades import LARGEST_SHARE, RotationSpeed, grade_mm_s, permissible_gmm, shares
from ..physics.tyre_sizes import parse_tyre


@dataclass(frozen=True, slots=True)
class Limits:
    """What may stay in each of one or two planes, in their order, and of the static sum [g·mm]."""

    planes_gmm: tuple[float, ...]
    static_gmm: float


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Limits in grams: per_plane_g in each reading plane [g], static_g at their mean radius [g]."""

    per_plane_g: float = 5.0
    static_g: float = 5.0

    def limits(self, planes: Sequence[Plane]) -> Limits:
        """The same mass in every plane."""
        static_gmm = self.static_g * mean_radius_mm(planes)
        return Limits(tuple(self.per_plane_g * p.radius_mm for p in planes), static_gmm)


@dataclass(frozen=True, slots=True)
class GradeAcceptance:
    """Limits by a grade such as "G40" (ISO 21940-11) for wheel and tyre together, assembly_mass_kg [kg].

    How fast it turns: speed_kmh [km/h] with rolling_radius_mm [mm] or tyre_size; or speed_rpm [1/min].
    mass_centre_mm [mm] is where the mass centre lies along the axis; None: in the middle between the planes.
    """

    grade: str
    assembly_mass_kg: float
    speed_kmh: float | None = None
    rolling_radius_mm: float | None = None
    tyre_size: str | None = None
    speed_rpm: float | None = None
    mass_centre_mm: float | None = None

    @property
    def radius_mm(self) -> float | None:
        """The rolling radius [mm], given or from the tyre's size; None where it does not roll."""
        return parse_tyre(self.tyre_size).radius_mm if self.tyre_size else self.rolling_radius_mm

    @property
    def rotation_speed(self) -> RotationSpeed:
        """The speed of rotation. Raises ValueError if none was given."""
        if self.speed_rpm is not None:
            return RotationSpeed.at_rpm(self.speed_rpm)
        if self.speed_kmh is None or self.radius_mm is None:
            raise ValueError("a grade needs speed_rpm, or speed_kmh with rolling_radius_mm or tyre_size")
        return RotationSpeed.rolling(self.speed_kmh, self.radius_mm)

    @property
    def permissible_gmm(self) -> float:
        """What is permitted in all [g·mm]."""
        return permissible_gmm(grade_mm_s(self.grade), self.assembly_mass_kg, self.rotation_speed)

    def limits(self, planes: Sequence[Plane]) -> Limits:
        """What is permitted, shared by the planes; all of it for the static sum."""
        centre = mean_position_mm(planes) if self.mass_centre_mm is None else self.mass_centre_mm
        total = self.permissible_gmm
        return Limits(tuple(total * share for share in shares([p.position_mm for p in planes], centre)), total)


Criterion = Acceptance | GradeAcceptance


def mean_radius_mm(planes: Sequence[Plane]) -> float:
    """The mean radius [mm] of planes, at which their static sum is given in grams.

    >>> mean_radius_mm([Plane("a", 0, 200), Plane("b", 90, 210)])
    205.0
    """
    return sum(p.radius_mm for p in planes) / len(planes)


def mean_position_mm(planes: Sequence[Plane]) -> float:
    """The middle [mm] between planes.

    >>> mean_position_mm([Plane("a", 0, 200), Plane("b", 90, 210)])
    45.0
    """
    return sum(p.position_mm for p in planes) / len(planes)


def assumptions(criterion: Criterion, planes: Sequence[Plane]) -> tuple[Message, ...]:
    """What a grade's limits assume without a measurement."""
    found = []
    if isinstance(criterion, GradeAcceptance):
        if criterion.tyre_size:
            found.append(
                message("rolling_radius_derived", tyre=criterion.tyre_size, radius_mm=criterion.radius_mm)
            )
        if len(planes) == 2 and criterion.mass_centre_mm is None:
            found.append(message("mass_centre_assumed", position_mm=mean_position_mm(planes)))
    return tuple(found)


def doubts(criterion: Criterion, planes: Sequence[Plane]) -> tuple[Message, ...]:
    """What limits the worth of a grade's limits at these planes."""
    if not isinstance(criterion, GradeAcceptance) or criterion.mass_centre_mm is None or len(planes) < 2:
        return ()
    low, high = sorted(p.position_mm for p in planes)
    inside = low <= criterion.mass_centre_mm <= high
    share = 100 * LARGEST_SHARE
    at = criterion.mass_centre_mm
    return () if inside else (message("mass_centre_outside", position_mm=at, share_pct=share),)
