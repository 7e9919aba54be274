"""What the service knows by itself: its tables, each with its source."""

from __future__ import annotations

from dataclasses import dataclass

from .acceptance import Acceptance
from .requests import Spread
from .stock import OwnStock


@dataclass(frozen=True, slots=True)
class BuiltinStocks:
    """The generic sets in full; each can be sent as an OwnStock, as it is or with prices and counts of yours."""

    source: str
    metric: OwnStock
    ounce: OwnStock


@dataclass(frozen=True, slots=True)
class RimDiameter:
    """A code in a rim's marking, and the specified diameter_mm at the bead seat [mm]."""

    code: int
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class RimDiameters:
    """Specified rim diameters."""

    source: str
    values: tuple[RimDiameter, ...]


@dataclass(frozen=True, slots=True)
class FlangeHeight:
    """A contour letter in a rim's marking, and the flange's height_mm above the bead seat [mm]."""

    contour: str
    height_mm: float


@dataclass(frozen=True, slots=True)
class FlangeHeights:
    """Flange heights."""

    source: str
    values: tuple[FlangeHeight, ...]


@dataclass(frozen=True, slots=True)
class DefaultAcceptance:
    """The acceptance taken where none is given: with the ounce set, and with any other stock."""

    metric: Acceptance
    ounce: Acceptance


@dataclass(frozen=True, slots=True)
class Defaults:
    """What is taken where a question is silent."""

    source: str
    acceptance: DefaultAcceptance
    spread: Spread


@dataclass(frozen=True, slots=True)
class Mark:
    """A number by which measuring is judged: a share or a ratio, unless its name ends in a unit."""

    mark: str
    value: float
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Guidance:
    """A sentence that answers can carry: code, what it is for, and the text with places for values in braces."""

    code: str
    kind: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class ProblemType:
    """A type of problem, and what to do about it."""

    type: str
    status: int
    title: str
    advice: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule that the schema can't state; to break it raises RuleBroken."""

    rule: str
    text: str


@dataclass(frozen=True, slots=True)
class Reference:
    """Every table the service works with."""

    stock: BuiltinStocks
    rim_diameters: RimDiameters
    flange_heights: FlangeHeights
    defaults: Defaults
    marks: tuple[Mark, ...]
    guidance: tuple[Guidance, ...]
    problems: tuple[ProblemType, ...]
    rules: tuple[Rule, ...]
