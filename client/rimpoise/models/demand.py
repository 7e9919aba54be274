"""What to stock: which weights many wheels call for, and what other shelves would make of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from ..errors import Problem
from .plans import Decision
from .requests import PlanQuestion, Style
from .responses import Remark
from .stock import Material, Stock


@dataclass(frozen=True, slots=True)
class Shelf:
    """A stock to try on all wheels, by a name of yours."""

    name: str
    stock: Stock


@dataclass(frozen=True, slots=True)
class DemandQuestion:
    """What do up to 200 wheels call for, with their own stock and with each shelf?"""

    plans: Sequence[PlanQuestion]
    shelves: Sequence[Shelf] = ()


@dataclass(frozen=True, slots=True)
class DecisionCount:
    """How many wheels end so."""

    decision: Decision
    wheels: int


@dataclass(frozen=True, slots=True)
class SkuUse:
    """How often a sku is used: pieces, segments in all if it is a strip, on how many wheels."""

    sku: str
    style: Style
    material: Material
    pieces: int
    segments: int | None
    wheels: int


@dataclass(frozen=True, slots=True)
class MassUse:
    """How many pieces of a style have mass_g [g]."""

    style: Style
    mass_g: float
    pieces: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a shelf makes of all wheels; the first is each wheel with its own stock.

    Means are over the fitted wheels and None where there are none: what is left [g], mass [g], chance [%].
    """

    shelf: str
    wheels: int
    decisions: tuple[DecisionCount, ...]
    fitted: int
    within_acceptance: int
    mean_static_g: float | None
    mean_largest_residual_g: float | None
    mean_pass_chance_pct: float | None
    mean_pieces: float | None
    mean_mass_g: float | None
    price: Decimal
    unpriced: int
    skus: tuple[SkuUse, ...]
    masses: tuple[MassUse, ...]


@dataclass(frozen=True, slots=True)
class SkippedPlan:
    """A question that could not be used, by its index, and why."""

    index: int
    problem: Problem


@dataclass(frozen=True, slots=True)
class Demand:
    """One outcome for the wheels as asked, and one for each shelf."""

    outcomes: tuple[Outcome, ...]
    skipped: tuple[SkippedPlan, ...]
    warnings: tuple[Remark, ...]
