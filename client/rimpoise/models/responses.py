"""The answers. Every ``code`` is stable and meant for programs, every ``text`` for people.

Masses [g], angles [deg], lengths [mm], unbalance [g·mm] and couples [g·mm²], as the names end.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Remark:
    """Something said to a person."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class PlaneMass:
    """mass_g [g] at angle_deg [deg] in a plane: a weight to fit, or what is left there (its heavy side)."""

    plane: str
    mass_g: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class Correction:
    """The exact weight in a plane: mass_g [g] at angle_deg [deg], which is unbalance_gmm [g·mm]."""

    plane: str
    mass_g: float
    angle_deg: float
    unbalance_gmm: float


@dataclass(frozen=True, slots=True)
class LeftOver:
    """What the planes can't reach: static_gmm [g·mm] and couple_gmm2 [g·mm²] with their directions [deg]."""

    static_gmm: float
    static_angle_deg: float
    couple_gmm2: float
    couple_angle_deg: float


@dataclass(frozen=True, slots=True)
class CorrectionsAnswer:
    """The weights per plane, in the order of the planes asked for.

    gain says how much more is fitted than was read, and so how much the reading's errors grow; None where
    nothing was read.
    """

    corrections: tuple[Correction, ...]
    left_over: LeftOver
    gain: float | None
    warnings: tuple[Remark, ...]


@dataclass(frozen=True, slots=True)
class StripPiece:
    """A strip of whole segments behind a spoke, mass_g heavy [g], length_mm long [mm].

    Its middle is at angle_deg, and it covers arc_deg [deg].
    """

    window: str | None
    segments: int
    mass_g: float
    angle_deg: float
    arc_deg: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class SplitResidual:
    """What the strips leave: unbalance_gmm [g·mm], as mass_g [g] at the target's radius, at angle_deg [deg]."""

    unbalance_gmm: float
    mass_g: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class IdealWeight:
    """A point weight mass_g [g], unrounded, at the middle of a neighbouring spoke."""

    window: str | None
    mass_g: float


@dataclass(frozen=True, slots=True)
class SplitAnswer:
    """The strips to cut, what they leave, and whether it is proven that none are better."""

    pieces: tuple[StripPiece, ...]
    residual: SplitResidual
    ideal: tuple[IdealWeight, ...]
    proven_optimal: bool
    warnings: tuple[Remark, ...]


@dataclass(frozen=True, slots=True)
class RoundingResidual:
    """What is left: per plane, static_gmm [g·mm] and couple_gmm2 [g·mm²]."""

    planes: tuple[PlaneMass, ...]
    static_gmm: float
    couple_gmm2: float


@dataclass(frozen=True, slots=True)
class RoundingAnswer:
    """One weight per target, in order (0 g is none), and what they leave."""

    weights: tuple[PlaneMass, ...]
    residual: RoundingResidual
    warnings: tuple[Remark, ...]


@dataclass(frozen=True, slots=True)
class Health:
    """The service is there, in that version."""

    status: str
    version: str


@dataclass(frozen=True, slots=True)
class Readiness:
    """Requests can be sent to this instance; one that is being drained answers with ``Unavailable`` instead."""

    status: str


@dataclass(frozen=True, slots=True)
class Version:
    """What runs there; document_sha256 tells when its contract changes."""

    name: str
    version: str
    document_sha256: str
