"""The second spin still shows weight: the question, and the explanations that come back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from .acceptance import Criterion, Limits
from .plans import Piece, Residual
from .readings import Reading
from .requests import Plane
from .responses import PlaneMass, Remark
from .wheel import Wheel

Cause = Literal[
    "piece_shifted",
    "piece_light",
    "piece_heavy",
    "piece_on_other_plane",
    "piece_mirrored",
    "planes_swapped",
    "plane_distance",
    "centring",
    "as_planned",
]


@dataclass(frozen=True, slots=True)
class FittedMass:
    """A piece as planned: mass_g [g] at position_mm, radius_mm [mm] and angle_deg, bent over arc_deg [deg]."""

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    arc_deg: float = 0.0

    @classmethod
    def of(cls, piece: Piece) -> FittedMass:
        """A piece of a plan's layout."""
        return cls(piece.position_mm, piece.radius_mm, piece.mass_g, piece.angle_deg, piece.arc_deg)


@dataclass(frozen=True, slots=True)
class CheckSpinQuestion:
    """Why does the wheel still show weight after the pieces in fitted went on?

    fitted are the pieces as planned; ``FittedMass.of`` takes those of a plan. machine_sd_g [g] is the machine's
    repeatability, per plane and component.
    planes say where to tell what is left; give them only where neither reading names its own.
    """

    before: Reading
    fitted: Sequence[FittedMass]
    after: Reading
    acceptance: Criterion | None = None
    machine_sd_g: float = 1.0
    planes: Sequence[Plane] = ()
    wheel: Wheel | None = None


@dataclass(frozen=True, slots=True)
class Move:
    """A piece, by its index in fitted, from where it seems to be to where it belongs [deg], [mm]."""

    piece: int
    from_deg: float
    to_deg: float
    from_position_mm: float
    to_position_mm: float


@dataclass(frozen=True, slots=True)
class Explanation:
    """A single cause and how far it explains the reading.

    size is in size_unit, a shift positive clockwise; None where there is nothing to size. unexplained_g [g] stays
    in the worse plane; explains says whether that is within the machine's error; odds are relative to the best.
    """

    cause: Cause
    piece: int | None
    size: float | None
    size_unit: Literal["deg", "g", "mm"] | None
    unexplained_g: float
    explains: bool
    odds: float
    action: str
    moves: tuple[Move, ...]


@dataclass(frozen=True, slots=True)
class Adjustment:
    """Something to do at the wheel, moves or weights to add, and what it would leave."""

    kind: Literal["cure", "trim"]
    action: str
    moves: tuple[Move, ...]
    weights: tuple[PlaneMass, ...]
    leaves: Residual
    within_acceptance: bool


@dataclass(frozen=True, slots=True)
class CheckSpin:
    """The verdict on a check spin; explanations most likely first, adjustments smallest action first.

    ambiguous: more than one explanation fits, and none is far likelier. machine_sd_g [g] is the one used.
    """

    verdict: Literal["pass", "adjust", "recheck_setup"]
    expected: Residual
    measured: Residual
    explanations: tuple[Explanation, ...]
    ambiguous: bool
    adjustments: tuple[Adjustment, ...]
    acceptance: Criterion
    limits: Limits
    machine_sd_g: float
    cautions: tuple[Remark, ...]
    warnings: tuple[Remark, ...]
