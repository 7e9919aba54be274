"""Run-out measured with an indicator: the traces, and what they say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from .responses import PlaneMass, Remark
from .wheel import Wheel

RunOutPart: TypeAlias = Literal["assembly", "rim_inboard", "rim_outboard", "hub"]
RunOutDirection: TypeAlias = Literal["radial", "lateral"]
RunOutVerdict: TypeAlias = Literal["good", "within", "over", "unknown"]
TurnGoal: TypeAlias = Literal["as_is", "least_run_out", "least_unbalance", "least_force", "best"]


@dataclass(frozen=True, slots=True)
class RunOutTrace:
    """readings_mm [mm] of an indicator at angles_deg [deg], one for each; larger where the part stands out.

    At least 8 distinct angles over the whole circle, 12 or more advised.
    """

    direction: RunOutDirection
    part: RunOutPart
    angles_deg: Sequence[float]
    readings_mm: Sequence[float]


@dataclass(frozen=True, slots=True)
class RunOutLimit:
    """A maker's limit of a part's total, total_mm [mm], instead of the default."""

    part: RunOutPart
    direction: RunOutDirection
    total_mm: float


@dataclass(frozen=True, slots=True)
class RunOutPlane:
    """Where a plane is: position_mm along the axis and radius_mm [mm]."""

    position_mm: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class RunOutPlanes:
    """The planes in which unbalance is to be told."""

    inboard: RunOutPlane
    outboard: RunOutPlane


@dataclass(frozen=True, slots=True)
class RunOutEffort:
    """What work takes: turning the tyre on its rim tyre_turn_min [min]."""

    tyre_turn_min: float = 8.0


@dataclass(frozen=True, slots=True)
class ForceHarmonic:
    """The first harmonic of the radial force: force_n [N], highest at angle_deg [deg]."""

    force_n: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class RunOutRequest:
    """Does a wheel run true? Traces of one wheel, all from one mark.

    wheel_mass_kg [kg] of wheel and tyre together, with planes: what an eccentricity costs. wheel chooses the
    default limits. force_first_harmonic: if it was measured.
    """

    traces: Sequence[RunOutTrace]
    limits: Sequence[RunOutLimit] = ()
    wheel_mass_kg: float | None = None
    planes: RunOutPlanes | None = None
    wheel: Wheel | None = None
    effort: RunOutEffort | None = None
    force_first_harmonic: ForceHarmonic | None = None


@dataclass(frozen=True, slots=True)
class RunOutHarmonic:
    """amplitude_mm ± sd_mm [mm], half of what it runs out, so many times around; high at high_deg [deg]."""

    order: int
    amplitude_mm: float
    high_deg: float
    sd_mm: float


@dataclass(frozen=True, slots=True)
class RunOutTraceResult:
    """A trace's total_mm and mean_mm [mm] and harmonics, beside its limit_mm [mm]; None where none is known.

    left_out_deg [deg]: where readings of a sidewall jump, at splices.
    """

    part: RunOutPart
    direction: RunOutDirection
    total_mm: float
    mean_mm: float
    harmonics: tuple[RunOutHarmonic, ...]
    limit_mm: float | None
    limit_source: str | None
    within: bool | None
    left_out_deg: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class RunOutUnbalance:
    """What sitting eccentricity_mm [mm] off centre costs, heavy side, half in each plane."""

    eccentricity_mm: float
    part: RunOutPart
    planes: tuple[PlaneMass, ...]


@dataclass(frozen=True, slots=True)
class RunOutTurnRow:
    """The assembly with its tyre turned by turn_deg [deg] clockwise.

    run_out_mm [mm] in all, unbalance_g [g], force_n [N]; None where what they need was not given.
    """

    goal: TurnGoal
    turn_deg: float
    run_out_mm: float
    unbalance_g: float | None
    force_n: float | None


@dataclass(frozen=True, slots=True)
class RunOutBestTurn:
    """The turn that serves run-out, unbalance and force together, whether it pays, and the trade-off in rows.

    turn_deg [deg] clockwise, run_out_mm [mm], unbalance_g [g], force_n [N].
    """

    turn_deg: float
    run_out_mm: float
    unbalance_g: float | None
    force_n: float | None
    pays: bool
    rows: tuple[RunOutTurnRow, ...]


@dataclass(frozen=True, slots=True)
class RunOut:
    """Whether the wheel runs true, whose fault it is, and what to do; tyre is the assembly less the rim."""

    traces: tuple[RunOutTraceResult, ...]
    verdict: RunOutVerdict
    findings: tuple[Remark, ...]
    tyre: tuple[RunOutHarmonic, ...]
    unbalance: RunOutUnbalance | None
    best_turn: RunOutBestTurn | None
    cautions: tuple[Remark, ...]
    warnings: tuple[Remark, ...]
