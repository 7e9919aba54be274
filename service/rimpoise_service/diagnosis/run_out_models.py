"""What run-out is asked with and answered with: traces, limits, costs, turns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from ..messages.message import Message
from ..model.wheel import Wheel
from ..physics.planes import Plane, PlaneVector
from ..physics.run_out import Harmonic, Shape
from ..planning.effort import Effort, tyre_turn_min
from .run_out_limits import Direction, Limit, Part

Verdict = Literal["good", "within", "over", "unknown"]
TurnGoal = Literal["as_is", "least_run_out", "least_unbalance", "least_force", "best"]

RIMS: tuple[Part, ...] = ("rim_inboard", "rim_outboard")


@dataclass(frozen=True, slots=True)
class Trace:
    """What an indicator showed: reading_mm [mm] at angle_deg [deg], larger where the part stands out."""

    direction: Direction
    part: Part
    angle_deg: tuple[float, ...]
    reading_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class RunOutLimit:
    """A limit of the caller's for a part's total, total_mm [mm]."""

    part: Part
    direction: Direction
    total_mm: float


@dataclass(frozen=True, slots=True)
class ForceHarmonic:
    """The first harmonic of the assembly's radial force, force_n [N], highest at angle_deg [deg]."""

    force_n: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class RunOutRequest:
    """Traces and what is known of the wheel.

    wheel_mass_kg [kg] of wheel and tyre together; planes: where unbalance is reported, by default at the wheel's
    flanges; the wheel's class, axle and material choose default limits; effort: what turning the tyre takes.
    """

    traces: tuple[Trace, ...]
    limits: tuple[RunOutLimit, ...] = ()
    wheel_mass_kg: float | None = None
    planes: tuple[Plane, ...] = ()
    wheel: Wheel | None = None
    effort: Effort = field(default_factory=Effort)
    force_first_harmonic: ForceHarmonic | None = None

    @property
    def turn_min(self) -> float:
        """What turning the tyre takes [min]."""
        return tyre_turn_min(self.effort, self.wheel.vehicle_class if self.wheel else None)


@dataclass(frozen=True, slots=True)
class TraceResult:
    """A trace's total and harmonics beside its limit; left_out_deg [deg]: where jumps were left out."""

    trace: Trace
    shape: Shape
    limit: Limit | None

    @property
    def limit_mm(self) -> float | None:
        """The limit of the total [mm]; None without one."""
        return self.limit.total_mm if self.limit else None

    @property
    def limit_source(self) -> str | None:
        """Who says so."""
        return self.limit.source if self.limit else None

    @property
    def within(self) -> bool | None:
        """Whether it keeps its limit; None without one."""
        return None if self.limit is None else self.shape.total_mm <= self.limit.total_mm

    @property
    def good(self) -> bool | None:
        """Whether it is good; None without a limit."""
        return None if self.limit is None else self.shape.total_mm <= self.limit.good_mm

    @property
    def left_out_deg(self) -> tuple[float, ...]:
        """Angles of readings that were left out [deg]."""
        return tuple(self.trace.angle_deg[i] for i in self.shape.left_out)


@dataclass(frozen=True, slots=True)
class EccentricUnbalance:
    """What sitting eccentricity_mm [mm] off centre costs, heavy side, half in each plane."""

    eccentricity_mm: float
    part: Part
    planes: tuple[PlaneVector, ...]


@dataclass(frozen=True, slots=True)
class TurnRow:
    """The assembly with its tyre turned by turn_deg [deg], clockwise seen from outboard.

    run_out_mm [mm] total, unbalance_g [g] at the mean radius of the planes, force_n [N] of the first harmonic;
    None where mass and planes, or the force, were not given.
    """

    goal: TurnGoal
    turn_deg: float
    run_out_mm: float
    unbalance_g: float | None
    force_n: float | None


@dataclass(frozen=True, slots=True)
class BestTurn:
    """The turn that serves all best, whether it pays, and the others beside it, as it is first."""

    best: TurnRow
    pays: bool
    rows: tuple[TurnRow, ...]


@dataclass(frozen=True, slots=True)
class RunOut:
    """Verdict, findings, cost and best turn; rim and tyre, by difference: radial harmonics, if measured."""

    traces: tuple[TraceResult, ...]
    verdict: Verdict
    findings: tuple[Message, ...]
    rim: tuple[Harmonic, ...]
    tyre: tuple[Harmonic, ...]
    unbalance: EccentricUnbalance | None
    best_turn: BestTurn | None
    cautions: tuple[Message, ...]
    warnings: tuple[Message, ...]


def traces_of(results: Sequence[TraceResult], part: Part, direction: Direction) -> list[TraceResult]:
    """The traces of a part in a direction."""
    return [r for r in results if (r.trace.part, r.trace.direction) == (part, direction)]


def is_sidewall(trace: Trace) -> bool:
    """Whether the indicator ran on the tyre's sidewall, which has splices."""
    return (trace.part, trace.direction) == ("assembly", "lateral")
