"""What is drawn: a wheel as far as it is known, and one layout of weights on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol, TypeVar

from ..messages.message import Message, message
from ..model.arcs import Arc
from ..model.device import called
from ..model.geometry import flange_geometry
from ..model.stock import Stock
from ..model.wheel import FLANGE_PLACE, SIDES, KeepOut, Land, Side, Wheel
from ..physics.rim_sizes import Rim, parse_marking
from ..planning.fitting_steps import most_left_g
from ..planning.layout_name import said_of
from ..planning.models import Decision, Piece, Plan, PlanRequest
from .part import Part


class UnknownLayout(Exception):
    """No layout has that name; ``names`` lists the names there are."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__(f"write one of {', '.join(map(repr, names))}" if names else "the plan has none")
        self.names = names


@dataclass(frozen=True, slots=True)
class Subject:
    """A layout on a wheel: its name, None if nothing is to be fitted; the wheel, None if it was not described.

    left_g [g] is the most it leaves, pass_chance_pct [%] how likely the first check spin passes; lengths in [mm].
    doubts: what is unlikely of the reading and the wheel.
    """

    decision: Decision
    layout: Message | None
    parts: tuple[Part, ...]
    left_g: float | None
    pass_chance_pct: float | None
    wheel: Wheel | None
    reference: str | None = None
    doubts: tuple[Message, ...] = ()
    rim: Rim | None = field(init=False)
    """The rim that the marking describes: parsed once, for all that is drawn."""

    def __post_init__(self) -> None:
        marking = self.wheel.rim_size if self.wheel else None
        object.__setattr__(self, "rim", parse_marking(marking) if marking else None)

    @property
    def rim_centre_mm(self) -> float | None:
        """The position of the middle between the flanges [mm], measured or as the marking has them."""
        if self.rim is None or self.wheel is None:
            return None
        edges = [flange_geometry(self.wheel, side).position_mm for side in SIDES]
        known = [at for at in edges if at is not None]
        return sum(known) / 2 if len(known) == 2 else None

    @property
    def lands(self) -> tuple[Land, ...]:
        """The bands for adhesive weights."""
        return self.wheel.lands if self.wheel else ()

    @property
    def spokes(self) -> tuple[Arc, ...]:
        """The arcs that the spokes cover."""
        return self.wheel.spokes if self.wheel else ()

    @property
    def keep_outs(self) -> tuple[KeepOut, ...]:
        """What no piece may touch."""
        return self.wheel.keep_out if self.wheel else ()

    @property
    def outer_mm(self) -> float | None:
        """The radius of the flange's edge [mm], by the marking."""
        rim = self.rim
        return rim.radius_mm + rim.flange_height_mm if rim else None

    @property
    def reach_mm(self) -> float:
        """The largest radius that is drawn [mm]."""
        reaches = [land.radius_mm for land in self.lands]
        reaches += [p.piece.radius_mm + (p.depth_mm or 0) / 2 for p in self.parts]
        reaches += [r for side in SIDES if (r := self._flange_radius(side)) is not None]
        reaches += [self.outer_mm] if self.outer_mm else []
        return max(reaches, default=200.0)

    def radius_of(self, place: str) -> float:
        """The radius of a place [mm]; the largest radius if it is unknown."""
        for land in self.lands:
            if land.name == place:
                return land.radius_mm
        side = next((s for s in SIDES if FLANGE_PLACE[s] == place), SIDES[1])
        return self._flange_radius(side) or self.reach_mm

    def _flange_radius(self, side: Side) -> float | None:
        return flange_geometry(self.wheel, side).radius_mm if self.wheel else None

    @property
    def notes(self) -> tuple[Message, ...]:
        """What to doubt, and what the drawing doesn't show, or doesn't show to scale."""
        points = tuple(p.number for p in self.parts if not p.piece.arc_deg)
        calls = [p for p in self.parts if p.called]
        by_valve = "_by_valve" if any(p.called and p.called.valve_at for p in calls) else ""
        said = "; ".join(p.as_called for p in calls)
        return (
            *self.doubts,
            *([message("wheel_not_described")] if self.wheel is None else self._wheel_notes()),
            *([message(f"drawn_as_called{by_valve}", parts=said)] if calls else []),
            *([message("length_unknown", numbers=points)] if points else []),
            *([message("turned_into_section"), message("hidden_dashed")] if self.parts else []),
        )

    def _wheel_notes(self) -> list[Message]:
        notes = [] if self.spokes else [message("spokes_not_described")]
        if self.rim is None:
            return [*notes, message("rim_not_described")]
        return [*notes, message("rim_not_placed" if self.rim_centre_mm is None else "rim_schematic")]


def subject_of(request: PlanRequest, plan: Plan, layout: str | None = None) -> Subject:
    """A plan's layout of that name, or the recommended one. Raises UnknownLayout."""
    chosen = chosen_layout(plan.layouts, layout)
    return Subject(
        decision=plan.decision,
        layout=said_of(chosen.named.way, chosen.pieces) if chosen else None,
        parts=tuple(_part(i, p, request) for i, p in enumerate(chosen.pieces, 1)) if chosen else (),
        left_g=most_left_g(request, chosen) if chosen else None,
        pass_chance_pct=chosen.pass_chance_pct if chosen else None,
        wheel=request.wheel,
        reference=request.reference,
        doubts=request.doubts,
    )


class WithName(Protocol):
    """Anything with a name."""

    @property
    def name(self) -> str: ...


N = TypeVar("N", bound=WithName)


def chosen_layout(layouts: Sequence[N], name: str | None) -> N | None:
    """The layout of that name; the first one where no name is given. Raises UnknownLayout."""
    if name is None:
        return layouts[0] if layouts else None
    for layout in layouts:
        if layout.name == name:
            return layout
    raise UnknownLayout(tuple(layout.name for layout in layouts))


def _part(number: int, piece: Piece, request: PlanRequest) -> Part:
    depth, width = _depth_and_width_mm(piece, request.stock)
    dialect, words = request.dialect, None
    if dialect is not None:
        words = called(dialect, piece.mass_g, piece.angle_deg, piece.position_mm, piece.radius_mm)
    return Part(number, piece, depth, width, words)


def _depth_and_width_mm(piece: Piece, stock: Stock) -> tuple[float | None, float | None]:
    if piece.style == "clip_on":
        clip = next((c for c in stock.clip_ons if c.sku == piece.sku), None)
        return (clip.height_mm if clip else None), None
    strip = next((s for s in stock.strips if s.sku == piece.sku), None)
    return (strip.thickness_mm, strip.width_mm) if strip else (None, None)
