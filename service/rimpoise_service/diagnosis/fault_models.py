"""The nouns of a failed check spin: causes, how often they happen, and what one is once it is fitted."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from ..physics.arrays import Floats
from ..physics.model_comparison import Fit
from ..physics.unbalance import PointMass, Unbalance

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
    "masses_swapped",
    "plane_distance",
    "size_or_mode_wrong",
    "shown_zero",
    "old_weight_left",
    "old_weights_left",
    "centring",
    "as_planned",
]
SizeUnit = Literal["deg", "g", "mm", "pct"]
CAUSES: tuple[Cause, ...] = get_args(Cause)

HOW_OFTEN: Mapping[Cause, float] = {
    "piece_shifted": 0.05,
    "piece_light": 0.05,
    "piece_heavy": 0.05,
    "piece_lost": 0.05,
    "piece_on_other_plane": 0.05,
    "piece_mirrored": 0.05,
    "all_turned": 0.05,
    "all_on_heavy_side": 0.05,
    "all_mirrored": 0.05,
    "planes_swapped": 0.05,
    "masses_swapped": 0.05,
    "plane_distance": 0.05,
    "size_or_mode_wrong": 0.05,
    "shown_zero": 0.1,
    "old_weight_left": 0.05,
    "old_weights_left": 0.05,
    "centring": 0.08,
    "as_planned": 0.27,
}
"""Of all wheels; of one piece: of all pieces together. No source tells mistakes apart: each is taken to happen
once in twenty wheels, but for clamping, which also errs where nobody makes a mistake. Nothing is wrong with the
rest, so all add up to 1, apart from what is known beforehand: a 0 that was shown, where the display says itself
that it hides something, and old weights that were on."""

OLD_LEFT: tuple[Cause, ...] = ("old_weight_left", "old_weights_left")
"""Old weights that nobody took off: one of them, or all."""

RECLAMPED_TIMES = 3.0
"""How much more often the clamping is wrong where the wheel is known to have been clamped again; no source."""


@dataclass(frozen=True, slots=True)
class Effect:
    """What a cause adds through one piece, or apart from all pieces; slopes: with each of its free numbers."""

    piece: int | None
    adds: Unbalance
    slopes: tuple[Unbalance, ...] = ()


@dataclass(frozen=True, slots=True)
class FittedCause:
    """A cause with its size in its unit.

    seat: where its piece then sits; angle_deg [deg]: the direction of a centring error, or of an old weight;
    pieces: all that are not as planned, where a cause without a size says so.
    """

    cause: Cause
    piece: int | None = None
    size: float | None = None
    size_unit: SizeUnit | None = None
    seat: PointMass | None = None
    angle_deg: float = 0.0
    pieces: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One cause or two, fitted: what they add to the expected unbalance, and how well that fits.

    spreads: standard deviations beforehand of the free numbers; how_often: beside nothing at all.
    """

    causes: tuple[FittedCause, ...]
    fit: Fit
    effects: tuple[Effect, ...]
    spreads: tuple[float, ...]
    how_often: float

    @property
    def adds(self) -> Unbalance:
        """All that it adds."""
        return sum((e.adds for e in self.effects), Unbalance())

    @property
    def log_odds(self) -> float:
        """The logarithm of how likely it is, up to a constant."""
        return self.fit.log_evidence + math.log(self.how_often)

    def has(self, *causes: Cause) -> bool:
        """Whether one of those causes is in it."""
        return any(c.cause in causes for c in self.causes)


@dataclass(frozen=True, slots=True)
class CauseModel:
    """A cause that can be fitted to any whitened innovation; to some it can't."""

    cause: Cause
    piece: int | None
    fit: Callable[[Floats], Hypothesis | None]
