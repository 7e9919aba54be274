"""Which style of weight can go where, and what to do next where nobody can say yet."""

from __future__ import annotations

from dataclasses import dataclass

from .layouts import Preferences, RuledOut, Style
from .remarks import Remark
from .stock import Stock
from .wheel import Side, Wheel


@dataclass(frozen=True, slots=True)
class PlaceChoice:
    """A style at a place and the stock that fits there; behind_spokes: only behind the spokes."""

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
    """One or two places that can correct the wheel; notes: wishes it can't meet."""

    name: str
    places: tuple[PlaceChoice, ...]
    notes: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class StyleChoices:
    """Ranked choices, what is ruled out and why, next steps, and what was derived."""

    choices: tuple[Choice, ...]
    ruled_out: tuple[RuledOut, ...]
    next_steps: tuple[Remark, ...]
    derived: tuple[Remark, ...]


def choose_styles(wheel: Wheel, stock: Stock, preferences: Preferences) -> StyleChoices:
    """Every admissible layout of styles, best first."""
    raise NotImplementedError
