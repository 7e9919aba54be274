"""The nouns of a fitting plan: a piece on the wheel, a layout of pieces, the plan that compares layouts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Literal, get_args

from ..messages.message import Message
from ..model.device import Called, Dialect, Sense
from ..model.stock import Material, Stock
from ..model.wheel import Side, Wheel
from ..physics.planes import PlaneVector
from ..physics.readings import Reading
from ..physics.unbalance import Unbalance, clock, polar
from .acceptance import Criterion
from .effort import PASSES, Effort, EffortParts
from .layout_name import LayoutName, Named
from .layout_name import Style as Style
from .sensitivity import Sensitivity
from .spread import Spread
from .tolerance_check import Residual, ToleranceEvaluator

Appearance = Literal["no_preference", "clean_face", "out_of_sight"]
Detail = Literal["brief", "standard", "full"]
RimOrigin = Literal["called_spot", "mark"]
RimLine = Literal["lip_edge", "land", "rim"]

STYLES: tuple[Style, ...] = get_args(Style)
DETAILS: tuple[Detail, ...] = get_args(Detail)
"""How much is reported of a plan, the least first."""

MOST_PIECES_PER_PLANE = 4
"""The most that may be wished for."""


@dataclass(frozen=True, slots=True)
class CauseFirst:
    """Over this, in a plane (None: no such mark) or in all, a cause is looked for before fitting [g]."""

    plane_g: float | None
    total_g: float


@dataclass(frozen=True, slots=True)
class Preferences:
    """What the customer and the technician want.

    styles: those allowed; correction ``static`` asks for the static sum alone; max_pieces_per_plane 1 to 4;
    cause_first_g: from where on a cause is looked for first [g], None: by the vehicle's class; detail: how much
    the answer has; alternatives: whether other layouts than the first are wanted.
    """

    appearance: Appearance = "no_preference"
    styles: tuple[Style, ...] = STYLES
    correction: Literal["dynamic", "static"] = "dynamic"
    max_pieces_per_plane: int = 2
    cause_first_g: CauseFirst | None = None
    detail: Detail = "standard"
    alternatives: bool = True

    @property
    def first_only(self) -> bool:
        """Whether no other layout than the first is reported."""
        return self.detail == "brief" or not self.alternatives


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """Everything that a plan starts from: the reading, the wheel, the shelf and the wishes.

    dialect: the balancer's own words, to answer in; doubts: what is unlikely of reading and wheel; derived: what
    the reading's planes rest on.
    """

    reading: Reading
    wheel: Wheel
    stock: Stock
    preferences: Preferences = field(default_factory=Preferences)
    acceptance: Criterion | None = None
    spread: Spread = field(default_factory=Spread)
    effort: Effort = field(default_factory=Effort)
    inspection: tuple[str, ...] = ()
    reference: str | None = None
    dialect: Dialect | None = None
    doubts: tuple[Message, ...] = ()
    derived: tuple[Message, ...] = ()


ON_THE_SPOT_MM = 2.0
"""Nearer than this a weight is on the spot [mm]; hands err by more."""


@dataclass(frozen=True, slots=True)
class RimWay:
    """A weight's place as a length along the rim, which a tape or a finger's breadth finds.

    rim_mm [mm] from ``origin`` in ``direction``, seen from outboard, along the lip's edge, the land, or the rim of
    a wire wheel.
    """

    rim_mm: float
    origin: RimOrigin
    direction: Sense
    along: RimLine

    @property
    def values(self) -> dict[str, object]:
        """What a sentence needs: a way, or the word for a weight on the spot itself."""
        if self.rim_mm < ON_THE_SPOT_MM:
            return {"spot": f"on_{self.origin}"}
        return {"rim_mm": self.rim_mm, "from": self.origin, "direction": self.direction, "along": self.along}


@dataclass(frozen=True, slots=True)
class Piece:
    """One weight on the wheel.

    position_mm and radius_mm [mm] are those of its mass centre; effective_gmm [g·mm] is what it does, its
    arc included; angle_deg [deg] of its middle; arc_deg [deg] it covers; length_mm [mm] if known.
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
    window: str | None
    arc_deg: float
    length_mm: float | None
    hidden: bool
    location: str | None
    called: Called | None = None
    rim: RimWay | None = None

    @property
    def clock(self) -> str:
        """Where it sits, as an hour hand, the mark at 12."""
        return clock(self.angle_deg)

    @property
    def unbalance(self) -> Unbalance:
        """What it adds to the wheel."""
        return Unbalance.at(self.position_mm, polar(self.effective_gmm, self.angle_deg))


@dataclass(frozen=True, slots=True)
class Lever:
    """What would make a layout pass more often: as a message, the chance then [%] and the effort then [min]."""

    said: Message
    pass_chance_pct: float
    effort_min: float

    @property
    def code(self) -> str:
        """The message's."""
        return self.said.code


@dataclass(frozen=True, slots=True)
class Layout(Named):
    """Pieces that could be fitted, and what they would leave.

    required: the exact correction at this layout's planes. limit_ratio: the largest share of a limit that is left;
    largest_residual_g: the largest of the judged residuals [g]. probability: to pass the check spin, judged as the
    effort is; pass_chance_pct: the same as it is reported, static where the reading is. effort_parts [min]; no
    filling of this layout takes less than least_possible_min [min]; proven_optimal: the gap to it is as good as
    none. unmet_wishes: how many; notes: those in words, and the like. sensitivity: which piece matters most;
    levers: what would make it pass more often.
    """

    named: LayoutName
    required: tuple[PlaneVector, ...]
    pieces: tuple[Piece, ...]
    residual: Residual
    within_acceptance: bool
    limit_ratio: float
    largest_residual_g: float
    probability: float
    pass_chance_pct: float
    effort_parts: EffortParts
    least_possible_min: float
    proven_optimal: bool
    price: Decimal | None
    unmet_wishes: int = 0
    notes: tuple[Message, ...] = ()
    sensitivity: Sensitivity | None = None
    levers: tuple[Lever, ...] = ()

    @property
    def effort_min(self) -> float:
        """Expected minutes until the check spin passes [min]."""
        return self.effort_parts.total

    @property
    def passes_half(self) -> bool:
        """Whether it is within acceptance and passes at least half of the time."""
        return self.within_acceptance and self.probability >= PASSES

    @property
    def total_mass_g(self) -> float:
        """Mass of all pieces [g]."""
        return sum(p.mass_g for p in self.pieces)

    @property
    def visible_pieces(self) -> int:
        """How many can be seen from outboard."""
        return sum(not p.hidden for p in self.pieces)


@dataclass(frozen=True, slots=True)
class RuledOut(Named):
    """A layout, or a style at a place, that can't be, and why."""

    named: LayoutName
    reasons: tuple[Message, ...]


class Decision(StrEnum):
    """How it ended."""

    FIT = "fit"
    ALREADY_WITHIN = "already_within"
    FIND_CAUSE_FIRST = "find_cause_first"
    BEST_EFFORT = "best_effort"
    REPAIR_FIRST = "repair_first"
    NONE_POSSIBLE = "none_possible"


def leaves_couple(warnings: Sequence[Message]) -> bool:
    """Whether a plan with these warnings leaves a couple."""
    return any(m.code == "couple_stays" for m in warnings)


@dataclass(frozen=True, slots=True)
class Plan:
    """The answer to a PlanRequest: a decision, the layouts best first, and what kept the others out.

    evaluator: the planes judged in and their limits, None where there are none or repair comes first; derived:
    what was not measured but worked out or assumed; work: what the searches weighed, 0 without any;
    old_weights_off: it holds once the old weights that were named are off.
    """

    decision: Decision
    acceptance: Criterion
    spread: Spread
    effort: Effort
    headline: Message
    reasons: tuple[Message, ...] = ()
    required: tuple[PlaneVector, ...] = ()
    evaluator: ToleranceEvaluator | None = None
    before: Residual | None = None
    layouts: tuple[Layout, ...] = ()
    ruled_out: tuple[RuledOut, ...] = ()
    next_steps: tuple[Message, ...] = ()
    warnings: tuple[Message, ...] = ()
    derived: tuple[Message, ...] = ()
    work: int = 0
    old_weights_off: bool = False

    @property
    def recommended(self) -> Layout | None:
        """The best layout; None where there is none, or a cause is to be found first."""
        held = self.decision is Decision.FIND_CAUSE_FIRST
        return self.layouts[0] if self.layouts and not held else None

    @property
    def couple_stays(self) -> bool:
        """Whether the first layout's one plane leaves a couple: a static check spin alone can pass."""
        return leaves_couple(self.warnings)

    @property
    def alternatives(self) -> tuple[Layout, ...]:
        """All layouts but the recommended one."""
        return self.layouts if self.recommended is None else self.layouts[1:]
