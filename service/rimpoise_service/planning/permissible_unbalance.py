"""What a balance quality grade permits, in the planes of a rotor and in newtons at its speed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..messages.message import Message, message
from ..physics.planes import Plane
from ..physics.quality_grades import grade_mm_s
from ..physics.unbalance import force_n
from .acceptance import Acceptance, GradeAcceptance, assumptions, doubts, mean_radius_mm


@dataclass(frozen=True, slots=True)
class PlaneAllowance:
    """What may stay in a plane [g·mm], its share of the whole, and the force it makes [N]."""

    plane: Plane
    share: float
    permissible_gmm: float
    force_n: float

    @property
    def share_pct(self) -> float:
        """Its share of the whole [%]."""
        return 100 * self.share

    @property
    def permissible_g(self) -> float:
        """The same as a mass [g] at the plane's radius."""
        return self.permissible_gmm / self.plane.radius_mm


@dataclass(frozen=True, slots=True)
class PermissibleUnbalance:
    """What may stay in all and per plane, mean_radius_mm [mm] of the planes; derived: what was assumed."""

    criterion: GradeAcceptance
    planes: tuple[PlaneAllowance, ...]
    mean_radius_mm: float
    derived: tuple[Message, ...]
    warnings: tuple[Message, ...]

    @property
    def permissible_gmm(self) -> float:
        """In all [g·mm]."""
        return self.criterion.permissible_gmm

    @property
    def permissible_g(self) -> float:
        """The same as a mass [g] at the mean radius of the planes."""
        return self.permissible_gmm / self.mean_radius_mm

    @property
    def offset_um(self) -> float:
        """How far off the axis the mass centre may be [µm]."""
        return self.permissible_gmm / self.criterion.assembly_mass_kg

    @property
    def grade_mm_s(self) -> float:
        """The grade's number [mm/s]."""
        return grade_mm_s(self.criterion.grade)

    @property
    def force_n(self) -> float:
        """What it all makes at the speed [N]."""
        return force_n(self.permissible_gmm, self.criterion.rotation_speed.speed_rad_s)


def permissible_unbalance(criterion: GradeAcceptance, planes: Sequence[Plane]) -> PermissibleUnbalance:
    """What a grade permits in one or two planes."""
    total, speed = criterion.permissible_gmm, criterion.rotation_speed.speed_rad_s
    allowed = tuple(
        PlaneAllowance(plane, limit / total, limit, force_n(limit, speed))
        for plane, limit in zip(planes, criterion.limits(planes).planes_gmm, strict=True)
    )
    warnings = doubts(criterion, planes)
    usual, loosest = Acceptance().per_plane_g, max(p.permissible_g for p in allowed)
    if criterion.radius_mm is not None and loosest > usual:
        warnings += (message("looser_than_trade", mass_g=loosest, usual_g=usual),)
    return PermissibleUnbalance(
        criterion, allowed, mean_radius_mm(planes), assumptions(criterion, planes), warnings
    )
