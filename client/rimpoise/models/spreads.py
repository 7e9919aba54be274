"""A shop's own spread: its history, and what that tells of machine, hands and chances."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from .acceptance import Criterion
from .plans import Piece
from .readings import PlaneReading
from .requests import Style
from .responses import Remark
from .wheel import Wheel

SpreadSource: TypeAlias = Literal[
    "machine_sd_g",
    "centring_sd_g",
    "angle_sd_deg",
    "clip_position_sd_mm",
    "strip_position_sd_mm",
    "mass_sd_pct",
]
SpreadList: TypeAlias = Literal["repeats", "remounts", "jobs"]


@dataclass(frozen=True, slots=True)
class SpreadSpins:
    """2 to 50 spins of one wheel with nothing changed on it, all in the same planes."""

    readings: Sequence[PlaneReading]
    wheel: Wheel | None = None


@dataclass(frozen=True, slots=True)
class JobMassPiece:
    """A weight as it was planned: mass_g [g] at position_mm and radius_mm [mm] and angle_deg [deg].

    arc_deg [deg] of the circle that it covers; 0: a point.
    """

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    arc_deg: float = 0.0
    style: Style = "clip_on"
    kind: Literal["mass"] = field(default="mass", kw_only=True, repr=False)


@dataclass(frozen=True, slots=True)
class JobPlannedPiece:
    """A weight as a plan's answer has it: mass_g [g] at position_mm, radius_mm [mm], angle_deg, arc_deg [deg]."""

    style: Style
    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    arc_deg: float = 0.0
    kind: Literal["planned"] = field(default="planned", kw_only=True, repr=False)

    @classmethod
    def of(cls, piece: Piece) -> JobPlannedPiece:
        """From a piece of a plan."""
        place = piece.position_mm, piece.radius_mm
        return cls(piece.style, *place, piece.mass_g, piece.angle_deg, piece.arc_deg)


@dataclass(frozen=True, slots=True)
class SpreadJob:
    """A wheel before, the weights planned, and its check spin; it stayed clamped in between.

    pass_chance_pct [%] is what the plan gave that check spin.
    """

    before: PlaneReading
    fitted: Sequence[JobPlannedPiece | JobMassPiece]
    after: PlaneReading
    pass_chance_pct: float | None = None
    wheel: Wheel | None = None


@dataclass(frozen=True, slots=True)
class SpreadsRequest:
    """A shop's history: spins untouched in between, spins clamped again before each, jobs; any of the three."""

    repeats: Sequence[SpreadSpins] | None = None
    remounts: Sequence[SpreadSpins] | None = None
    jobs: Sequence[SpreadJob] | None = None
    acceptance: Criterion | None = None


@dataclass(frozen=True, slots=True)
class KnownSpread:
    """What the history can tell, to send with every plan from then on; None for what it can't.

    machine_sd_g [g], angle_sd_deg [deg], clip_position_sd_mm and strip_position_sd_mm [mm], mass_sd_pct [%].
    """

    machine_sd_g: float | None = None
    angle_sd_deg: float | None = None
    clip_position_sd_mm: float | None = None
    strip_position_sd_mm: float | None = None
    mass_sd_pct: float | None = None


@dataclass(frozen=True, slots=True)
class SpreadEstimate:
    """A source's standard deviation sd and its 95 % interval, in the unit that its name ends in.

    Where it is not identified sd is the default that stays in use. high None: no end. n: spins or pieces.
    """

    name: SpreadSource
    sd: float | None
    low: float
    high: float | None
    n: int
    identified: bool


@dataclass(frozen=True, slots=True)
class SpreadOutlier:
    """An entry of a list that doesn't belong to the others and was left out."""

    list: SpreadList
    index: int


@dataclass(frozen=True, slots=True)
class CalibrationBin:
    """Jobs whose chance was from from_pct to to_pct [%]: told_pct on average, happened_pct of them passed [%].

    low and high are the ends of the 95 % interval of the latter [%].
    """

    from_pct: float
    to_pct: float
    n: int
    told_pct: float
    happened_pct: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class BrierParts:
    """Brier score = reliability − resolution + uncertainty + within."""

    reliability: float
    resolution: float
    uncertainty: float
    within: float


@dataclass(frozen=True, slots=True)
class Calibration:
    """Chances given beside what happened; first_pass_pct [%] of all jobs passed. None without jobs."""

    bins: tuple[CalibrationBin, ...]
    brier: float | None
    brier_parts: BrierParts | None
    first_pass_pct: float | None


@dataclass(frozen=True, slots=True)
class Spreads:
    """The shop's own spread, and whether the chances it was given came true."""

    spread: KnownSpread
    estimates: tuple[SpreadEstimate, ...]
    outliers: tuple[SpreadOutlier, ...]
    calibration: Calibration
    warnings: tuple[Remark, ...]
