"""A plan's answer that comes back to be drawn: what a drawing needs of it."""

from __future__ import annotations

from dataclasses import dataclass

from ..messages.message import Message
from ..model.device import Called
from ..model.wheel import Land, Wheel
from ..physics.unbalance import clock
from ..planning.layout_name import said_of
from ..planning.models import Decision, Style
from ..planning.wheel_plausibility import wheel_doubts
from .part import Part
from .subject import Subject, chosen_layout


@dataclass(frozen=True, slots=True)
class GivenPiece:
    """A weight as a plan's answer has it, in the units of its names [mm, g, deg].

    called: the same in the balancer's own words, None where the answer has none, or not with their unit.
    """

    place: str
    style: Style
    sku: str
    mass_g: float
    segments: int | None
    position_mm: float
    radius_mm: float
    angle_deg: float
    window: str | None
    arc_deg: float
    hidden: bool
    called: Called | None = None

    @property
    def clock(self) -> str:
        """Where it sits, as an hour hand, the mark at 12."""
        return clock(self.angle_deg)


@dataclass(frozen=True, slots=True)
class GivenLayout:
    """A layout as a plan's answer has it: the most that it leaves, left_g [g]; its chance, pass_chance_pct [%].

    pieces: None where the answer had too little detail for them; way: how they correct together, if it is known.
    """

    name: str
    pieces: tuple[GivenPiece, ...] | None
    left_g: float
    pass_chance_pct: float
    way: str = ""

    @property
    def in_words(self) -> Message | None:
        """What it is called, by its pieces; None without any."""
        return said_of(self.way, self.pieces or ())


@dataclass(frozen=True, slots=True)
class GivenPlan:
    """A plan as it was answered, the recommended layout first."""

    decision: Decision
    layouts: tuple[GivenLayout, ...]
    reference: str | None


class MissingPieces(Exception):
    """The answer doesn't have the pieces of a layout; ``name`` is the layout's."""

    def __init__(self, name: str) -> None:
        super().__init__(f"the plan doesn't have the pieces of {name!r}")
        self.name = name


def subject_as_given(plan: GivenPlan, wheel: Wheel | None, layout: str | None) -> Subject:
    """What an answer has of a layout; a strip's thickness follows from its land.

    Raises UnknownLayout and MissingPieces.
    """
    chosen = chosen_layout(plan.layouts, layout)
    if chosen and chosen.pieces is None:
        raise MissingPieces(chosen.name)
    lands = {land.name: land for land in wheel.lands} if wheel else {}
    return Subject(
        decision=plan.decision,
        layout=chosen.in_words if chosen else None,
        parts=tuple(
            Part(i, p, _depth_mm(lands[p.place], p) if p.place in lands else None, None, p.called)
            for i, p in enumerate((chosen.pieces or ()) if chosen else (), 1)
        ),
        left_g=chosen.left_g if chosen else None,
        pass_chance_pct=chosen.pass_chance_pct if chosen else None,
        wheel=wheel,
        reference=plan.reference,
        doubts=tuple(wheel_doubts(wheel)) if wheel else (),
    )


def _depth_mm(land: Land, piece: GivenPiece) -> float | None:
    """Twice as thick as its mass centre is off the land; None where that can't be."""
    depth = 2 * (land.radius_mm - piece.radius_mm)
    return depth if 0 < depth < land.radius_mm / 2 else None
