"""The second spin still shows weight: the question, what to do about it, and the reasons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from .acceptance import Criterion, Limits
from .placed_pieces import PlacedMass, PlacedPiece
from .plans import Residual
from .readings import Reading
from .requests import Effort, Plane, Spread, Style
from .responses import Remark
from .stock import Stock

Cause = Literal[
    "piece_shifted",
    "piece_light",
    "piece_heavy",
    "piece_lost",
    "piece_on_other_plane",
    "piece_mirrored",
    "all_turned",
    "all_on_heavy_side",
    "all_mirrored",
    "planes_swapped",
    "plane_distance",
    "size_or_mode_wrong",
    "shown_zero",
    "centring",
    "as_planned",
]
ActionCode = Literal[
    "spin_again",
    "centre_again",
    "check_plane_distance",
    "check_mode",
    "move",
    "renew",
    "take_off",
    "add",
    "start_over",
]
Reclamped = Literal["yes", "no", "unknown"]


@dataclass(frozen=True, slots=True)
class CheckSpinQuestion:
    """Why does the wheel still show weight after the pieces in fitted went on, and what is to be done?

    fitted are the pieces as planned; ``PlacedPiece.of`` takes those of a plan. reclamped: whether the wheel was
    taken off the shaft between the readings. planes say where to tell what is left; give them only where
    neither reading names its own.
    """

    before: Reading
    fitted: Sequence[PlacedPiece | PlacedMass]
    after: Reading
    acceptance: Criterion | None = None
    stock: Stock | None = None
    spread: Spread | None = None
    effort: Effort | None = None
    reclamped: Reclamped = "unknown"
    planes: Sequence[Plane] = ()


@dataclass(frozen=True, slots=True)
class Move:
    """A piece, by its index in fitted, to be taken off; a new one of its mass goes to this place [mm], [deg]."""

    piece: int
    position_mm: float
    radius_mm: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class AddedWeight:
    """A weight to fit: mass_g [g] at position_mm, radius_mm [mm] and angle_deg [deg]; sku: from the stock sent."""

    position_mm: float
    radius_mm: float
    mass_g: float
    angle_deg: float
    style: Style
    sku: str | None


@dataclass(frozen=True, slots=True)
class Action:
    """Something to do at the wheel; the indices in removes are those of fitted.

    values: what is in the text, by name. spin_again: the weights stay as they are. effort_min [min] is expected
    until the check spin passes, pass_chance_pct [%] the chance that it does at once.
    """

    code: ActionCode
    text: str
    values: Mapping[str, object]
    moves: tuple[Move, ...]
    adds: tuple[AddedWeight, ...]
    removes: tuple[int, ...]
    spin_again: bool
    effort_min: float
    pass_chance_pct: float


@dataclass(frozen=True, slots=True)
class SpinFault:
    """A cause with its size in size_unit, a shift positive clockwise; None where there is nothing to size."""

    cause: Cause
    piece: int | None
    size: float | None
    size_unit: Literal["deg", "g", "mm", "pct"] | None
    text: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """One cause, or two at once, and how far they explain the reading.

    unexplained_g [g] stays in the worse plane; explains says whether that is within the errors; odds are
    relative to the likeliest.
    """

    causes: tuple[SpinFault, ...]
    unexplained_g: float
    explains: bool
    odds: float


@dataclass(frozen=True, slots=True)
class CheckSpin:
    """The verdict on a check spin; actions least effort first, explanations likeliest first.

    ambiguous: more than one explanation fits, and none is far likelier.
    """

    verdict: Literal["pass", "adjust", "recheck_setup"]
    actions: tuple[Action, ...]
    expected: Residual
    measured: Residual
    explanations: tuple[Explanation, ...]
    ambiguous: bool
    acceptance: Criterion
    limits: Limits
    spread: Spread
    effort: Effort
    cautions: tuple[Remark, ...]
    warnings: tuple[Remark, ...]
