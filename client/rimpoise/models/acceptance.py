"""When a wheel is good enough: limits in grams, or a balance quality grade, and what it comes to in each plane."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Acceptance:
    """What may stay: per_plane_g in each of the reading's planes, static_g at their mean radius [g]."""

    per_plane_g: float
    static_g: float


@dataclass(frozen=True, slots=True)
class GradeAcceptance:
    """What may stay by a grade of ISO 21940-11, such as ``"G40"``; assembly_mass_kg [kg] is wheel and tyre.

    The speed is speed_kmh [km/h] with rolling_radius_mm [mm] or tyre_size (``"225/45 R17"``), or speed_rpm
    [1/min]. mass_centre_mm [mm] is where the mass centre lies along the axis; None: between the planes.
    """

    grade: str
    assembly_mass_kg: float
    speed_kmh: float | None = None
    rolling_radius_mm: float | None = None
    tyre_size: str | None = None
    speed_rpm: float | None = None
    mass_centre_mm: float | None = None


Criterion: TypeAlias = Acceptance | GradeAcceptance


@dataclass(frozen=True, slots=True)
class PlaneLimit:
    """What may stay in a plane: limit_g [g] at its radius, the same as limit_gmm [g·mm]."""

    plane: str
    limit_g: float
    limit_gmm: float


@dataclass(frozen=True, slots=True)
class Limits:
    """The acceptance at the judged planes: each plane's, and static_g [g] at the mean radius, static_gmm [g·mm].

    planes is empty where the static sum alone counts.
    """

    planes: tuple[PlaneLimit, ...]
    static_g: float
    static_gmm: float
