"""The objective: expected minutes at the wheel until the check spin passes.

Fit, spin; if it fails, spin, take off, and do it again the same way until it passes: with the chance P to pass,
1/P fittings and (1 − P)/P failing spins are expected. What a layout costs besides, once, is a penalty in minutes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

from ..model.wheel import HEAVY, VehicleClass
from ..physics.arrays import Floats
from ..physics.tyre_sizes import parse_tyre
from .acceptance import Criterion, GradeAcceptance

PASSES = 0.5
"""A layout that is recommended to be fitted passes at least so often."""

LEAST_PROBABILITY = 0.01
"""Layouts that pass less often are all as bad: they are ranked by what they leave."""

EQUAL_MIN = 0.05
"""Layouts whose efforts differ by no more than this are as good as each other [min]."""

Number = TypeVar("Number", float, Floats)


TURN_MIN, LOW_PROFILE_TURN_MIN, HEAVY_TURN_MIN = 8.0, 12.0, 15.0
"""What turning a tyre on its rim takes [min], one of low profile, and a heavy vehicle's; common practice, no
source."""

LOW_PROFILE_PCT = 45.0
"""A tyre is of low profile up to this height over width [%]; common practice, no source."""


def tyre_turn_min(
    effort: Effort, vehicle_class: VehicleClass | None, acceptance: Criterion | None = None
) -> float:
    """What turning a tyre on its rim takes [min]: as the shop says, else by vehicle and tyre.

    acceptance: may name the tyre's size.

    >>> tyre_turn_min(Effort(), "bus"), tyre_turn_min(Effort(tyre_turn_min=5), "bus")
    (15.0, 5)
    >>> tyre_turn_min(Effort(), "car", GradeAcceptance("G40", 20, 200, tyre_size="225/40 R18"))
    12.0
    """
    if effort.tyre_turn_min is not None:
        return effort.tyre_turn_min
    if vehicle_class in HEAVY:
        return HEAVY_TURN_MIN
    size = acceptance.tyre_size if isinstance(acceptance, GradeAcceptance) else None
    return LOW_PROFILE_TURN_MIN if size and parse_tyre(size).aspect_pct <= LOW_PROFILE_PCT else TURN_MIN


@dataclass(frozen=True, slots=True)
class Effort:
    """What things take [min], and what a gram costs [min/g]; common practice, no source: a shop sets its own.

    clip_on_min: fit a clip-on; strip_min: peel and press a strip; clean_min: clean one spot for strips; mark_min:
    find and mark a spot that is not the called one; respin_min: a check spin that fails: spin, judge, take off;
    spin_min: one more spin before fitting; remove_min: take a piece off; wish_min: a place that breaks a wish on
    appearance; excess_min_per_g: a gram beyond the exact correction; geometry_min_per_g: a gram that the exact
    correction asks for beyond what the flanges would; tyre_turn_min: turn a tyre on its rim, None: by the
    vehicle's class and the tyre.
    """

    clip_on_min: float = 0.5
    strip_min: float = 0.5
    clean_min: float = 0.5
    mark_min: float = 0.3
    respin_min: float = 2.0
    spin_min: float = 0.4
    remove_min: float = 0.3
    wish_min: float = 5.0
    excess_min_per_g: float = 0.05
    geometry_min_per_g: float = 0.02
    tyre_turn_min: float | None = None

    def fitting(self, pieces: Number, spots: int, *, clip_on: bool) -> Number:
        """What it takes to fit so many pieces at so many spots, which are called or marked already [min]."""
        return pieces * self.clip_on_min if clip_on else pieces * self.strip_min + spots * self.clean_min

    def expected(self, handling: Number, probability: Number, penalty: Number) -> Number:
        """The effort [min] of a layout that takes so long to fit [min] and passes with that probability."""
        return (handling + self.respin_min) / probability - self.respin_min + penalty

    def needed(self, handling: float, effort: float, penalty: float) -> float:
        """The probability with which a layout takes no more than that effort [min]; over 1 where none does."""
        spare = effort - penalty + self.respin_min
        return (handling + self.respin_min) / spare if spare > 0 else float("inf")


@dataclass(frozen=True, slots=True)
class EffortParts:
    """What an effort consists of [min]; the parts add up to it.

    fit_min: weights and spots; marks_min: spots to be found and marked; failing_min: check spins that fail, and
    fitting again; wishes_min: wishes that are not met; excess_min: grams beyond what is asked for.
    """

    fit_min: float
    marks_min: float
    failing_min: float
    wishes_min: float
    excess_min: float

    @property
    def total(self) -> float:
        """The effort [min]."""
        return self.fit_min + self.marks_min + self.failing_min + self.wishes_min + self.excess_min
