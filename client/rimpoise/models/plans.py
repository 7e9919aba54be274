"""The larger answers: which styles can go where, and the fitting plan."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from .acceptance import Criterion, Limits
from .devices import Called
from .requests import Spread, Style
from .responses import PlaneMass, Remark
from .stock import Material
from .wheel import Side

Decision = Literal["fit", "already_within", "best_effort", "repair_first", "none_possible"]


@dataclass(frozen=True, slots=True)
class PlaceChoice:
    """A style at a place, at position_mm and radius_mm [mm], and the skus that fit there."""

    place: str
    side: Side
    style: Style
    position_mm: float
    radius_mm: float
    skus: tuple[str, ...]
    behind_spokes: bool
    hidden: bool


@dataclass(frozen=True, slots=True)
class Choice:
    """One or two places that can correct the wheel; notes tell the wishes it doesn't meet."""

    name: str
    places: tuple[PlaceChoice, ...]
    notes: tuple[Remark, ...]


@dataclass(frozen=True, slots=True)
class RuledOut:
    """A layout that can't be, and why."""

    layout: str
    reasons: tuple[Remark, ...]


@dataclass(frozen=True, slots=True)
class StyleChoices:
    """Choices, best first; what is ruled out and why; derived tells what was not measured."""

    choices: tuple[Choice, ...]
    ruled_out: tuple[RuledOut, ...]
    next_steps: tuple[Remark, ...]
    cautions: tuple[Remark, ...]
    derived: tuple[Remark, ...]
    warnings: tuple[Remark, ...]


@dataclass(frozen=True, slots=True)
class Required:
    """The exact correction in a plane: mass_g [g] at angle_deg [deg], position_mm and radius_mm [mm]."""

    plane: str
    mass_g: float
    angle_deg: float
    position_mm: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class Residual:
    """What is left on the wheel, its heavy side, told at the reading's planes.

    static_gmm [g·mm] is the size of the static sum, static_g the same as a mass [g] at the planes' mean radius;
    couple_gmm2 [g·mm²] is the couple about the middle between them. planes is empty where it is judged statically.
    """

    planes: tuple[PlaneMass, ...]
    static_gmm: float
    static_g: float
    couple_gmm2: float


@dataclass(frozen=True, slots=True)
class Piece:
    """One weight to fit.

    mass_g [g] in so many segments if it is a strip; position_mm and radius_mm [mm] are those of its mass centre.
    angle_deg [deg] is where its middle goes, clock the same as an hour hand with the mark at 12. It covers arc_deg
    [deg], is length_mm long [mm] if that is known, and does effective_gmm [g·mm], its arc included. hidden means
    that it can't be seen from outboard; window is the spoke it is behind, location its place on the shelf.
    """

    place: str
    side: Side
    style: Style
    sku: str
    label: str | None
    material: Material
    mass_g: float
    segments: int | None
    position_mm: float
    radius_mm: float
    effective_gmm: float
    angle_deg: float
    clock: str
    window: str | None
    arc_deg: float
    length_mm: float | None
    hidden: bool
    location: str | None
    called: Called | None


@dataclass(frozen=True, slots=True)
class Slip:
    """What would be left after a slip, in the worse of its two directions; largest_residual_g [g]."""

    residual: Residual
    largest_residual_g: float
    within_acceptance: bool


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """The piece, by its index, that matters most: turned by slip_deg [deg], or moved by slip_mm [mm] axially."""

    piece: int
    slip_deg: float
    slip_mm: float
    turned: Slip
    moved: Slip


@dataclass(frozen=True, slots=True)
class Comparison:
    """An alternative less the recommended layout: residual and mass [g], chance in points [%]; text says it."""

    largest_residual_g: float
    pass_chance_pct: float
    pieces: int
    visible_pieces: int
    total_mass_g: float
    price: Decimal | None
    text: str


@dataclass(frozen=True, slots=True)
class Layout:
    """Pieces that could be fitted together, and what they would leave.

    largest_residual_g [g] is the largest of the residuals that are judged; sensitivity is of what matters most.

    pass_chance_pct [%] is the chance that the first check spin passes, with the spread that was used;
    total_mass_g [g] is that of all pieces; price is None where the price of one is unknown.
    """

    name: str
    pieces: tuple[Piece, ...]
    residual: Residual
    largest_residual_g: float
    within_acceptance: bool
    pass_chance_pct: float
    total_mass_g: float
    visible_pieces: int
    price: Decimal | None
    notes: tuple[Remark, ...]
    sensitivity: Sensitivity | None


@dataclass(frozen=True, slots=True)
class Alternative(Layout):
    """A layout, masses [g] and chance [%] as in any, and what it gains and costs beside the recommended one."""

    compared: Comparison


@dataclass(frozen=True, slots=True)
class Plan:
    """The fitting plan: a decision, the layout to fit and its alternatives, and why not the others.

    required is the exact correction at the recommended layout's planes; before is what the bare wheel has.
    acceptance and spread are those that were used; limits is what the acceptance comes to at the judged planes.
    """

    decision: Decision
    required: tuple[Required, ...]
    recommended: Layout | None
    alternatives: tuple[Alternative, ...]
    ruled_out: tuple[RuledOut, ...]
    next_steps: tuple[Remark, ...]
    fitting_steps: tuple[Remark, ...]
    cautions: tuple[Remark, ...]
    warnings: tuple[Remark, ...]
    derived: tuple[Remark, ...]
    reference: str | None
    acceptance: Criterion
    limits: Limits | None
    spread: Spread
    before: Residual | None
