"""Centring checks: is it the wheel, or the machine and how the wheel sits on it?

All parts are told in the sense of the readings, see ``CentringAnswer.reports``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from .readings import PlaneReading, PointMass, Reports
from .responses import PlaneMass, Remark
from .wheel import Wheel

CentringVerdict = Literal["pass", "centre_again", "unsteady", "check_machine"]


@dataclass(frozen=True, slots=True)
class KnownWeight:
    """A weight put on by hand, the reading with it, and the reading before; None: the wheel was in balance."""

    weight: PointMass
    reading: PlaneReading
    before: PlaneReading | None = None


@dataclass(frozen=True, slots=True)
class CentringQuestion:
    """Can machine and seat be trusted? Any of four checks, together or alone.

    readings: 2 to 12, of the wheel at equal turns on the shaft, each turned clockwise as seen from outboard
    unless ``turned`` says otherwise, angles counted from a mark on the ``"shaft"`` or on the ``"wheel"``.
    empty_shaft: without a wheel. repeats: nothing touched in between. limit_g [g] is what may be off in a plane.
    """

    readings: Sequence[PlaneReading] | None = None
    turned: Literal["clockwise", "counterclockwise"] = "clockwise"
    angles_from: Literal["shaft", "wheel"] = "shaft"
    empty_shaft: PlaneReading | None = None
    known_weight: KnownWeight | None = None
    repeats: Sequence[PlaneReading] | None = None
    limit_g: float = 5.0
    wheel: Wheel | None = None


@dataclass(frozen=True, slots=True)
class PlaneTurns:
    """A plane's readings at equal turns, split into the wheel's own part and what stays with the machine.

    wheel_g [g] at wheel_angle_deg [deg], as it sat in the first reading; machine_g [g] at machine_angle_deg [deg].
    repeatability_g [g] is the standard deviation of a reading, None with two; worst_g [g] the most one is off.
    """

    plane: str
    wheel_g: float
    wheel_angle_deg: float
    machine_g: float
    machine_angle_deg: float
    repeatability_g: float | None
    worst_g: float


@dataclass(frozen=True, slots=True)
class PlaneKnown:
    """What a known weight should be called as in a plane, what it was called as, and how far off that is.

    expected_g, called_g and off_g [g], the first two at expected_angle_deg and called_angle_deg [deg].
    """

    plane: str
    expected_g: float
    expected_angle_deg: float
    called_g: float
    called_angle_deg: float
    off_g: float


@dataclass(frozen=True, slots=True)
class PlaneRepeats:
    """Repeated readings in a plane: mean_g [g] at mean_angle_deg [deg], and how far they stray from it.

    repeatability_g [g] is the standard deviation of a reading per component, worst_g [g] the most one is off.
    """

    plane: str
    mean_g: float
    mean_angle_deg: float
    repeatability_g: float
    worst_g: float


@dataclass(frozen=True, slots=True)
class CentringAnswer:
    """What each check showed, per plane, empty for those not made; limit_g [g] is the limit used."""

    verdict: CentringVerdict
    reports: Reports
    turns: tuple[PlaneTurns, ...]
    empty_shaft: tuple[PlaneMass, ...]
    known_weight: tuple[PlaneKnown, ...]
    repeats: tuple[PlaneRepeats, ...]
    limit_g: float
    next_steps: tuple[Remark, ...]
    cautions: tuple[Remark, ...]
    warnings: tuple[Remark, ...]
