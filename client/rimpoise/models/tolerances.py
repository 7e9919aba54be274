"""Tolerances: what a balance quality grade of ISO 21940-11 permits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .requests import Plane
from .responses import Remark


@dataclass(frozen=True, slots=True)
class TolerancesQuestion:
    """What does a grade such as ``"G40"`` permit in one or two planes? assembly_mass_kg [kg] is all that turns.

    The speed is speed_kmh [km/h] with rolling_radius_mm [mm] or tyre_size (``"225/45 R17"``), or speed_rpm
    [1/min]. mass_centre_mm [mm] is where the mass centre lies along the axis; None: between the planes.
    """

    grade: str
    assembly_mass_kg: float
    planes: Sequence[Plane]
    speed_kmh: float | None = None
    rolling_radius_mm: float | None = None
    tyre_size: str | None = None
    speed_rpm: float | None = None
    mass_centre_mm: float | None = None


@dataclass(frozen=True, slots=True)
class PlaneAllowance:
    """What may stay in a plane: permissible_gmm [g·mm], at its radius permissible_g [g].

    share_pct [%] of all that is permitted; it makes force_n [N] at the speed.
    """

    plane: str
    share_pct: float
    permissible_gmm: float
    permissible_g: float
    force_n: float


@dataclass(frozen=True, slots=True)
class TolerancesAnswer:
    """What is permitted in all, permissible_gmm [g·mm], and per plane; permissible_g [g] is at the mean radius.

    grade_mm_s [mm/s] is the grade's number, offset_um [µm] how far off the axis the mass centre may be, force_n
    [N] what it makes at speed_rpm [1/min], which is frequency_hz [Hz]. rolling_radius_mm [mm] is the one used.
    """

    grade_mm_s: float
    permissible_gmm: float
    permissible_g: float
    offset_um: float
    planes: tuple[PlaneAllowance, ...]
    force_n: float
    speed_rpm: float
    frequency_hz: float
    rolling_radius_mm: float | None
    derived: tuple[Remark, ...]
    warnings: tuple[Remark, ...]
