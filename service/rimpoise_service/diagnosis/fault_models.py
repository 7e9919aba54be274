"""The nouns of a failed check spin: causes, how often they happen, and how one is fitted, whatever it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from ..model.wheel import Side
from ..physics.arrays import Floats
from ..physics.model_comparison import Fit, exactly
from ..physics.unbalance import PointMass, Unbalance
from .spin_comparison import SpinComparison

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
    "rim_distance",
    "size_or_mode_wrong",
    "one_size_wrong",
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
    "plane_distance": 0.025,
    "rim_distance": 0.025,
    "size_or_mode_wrong": 0.05,
    "one_size_wrong": 0.025,
    "shown_zero": 0.1,
    "old_weight_left": 0.05,
    "old_weights_left": 0.05,
    "centring": 0.08,
    "as_planned": 0.245,
}
"""Of all wheels; of one piece: of all pieces together. No source tells mistakes apart: each is taken to happen
once in twenty wheels (a distance dialled wrong is one mistake, whichever it is), but for clamping, which also errs
where nobody makes a mistake, and for one size of two, which many machines take from the other. Nothing is wrong
with the rest, so all add up to 1, apart from what is known before: a 0 that was shown, where the display says
itself that it hides something, and old weights that were on."""

OLD_LEFT: tuple[Cause, ...] = ("old_weight_left", "old_weights_left")
"""Old weights that nobody took off: one of them, or all."""

RECLAMPED_TIMES = 3.0
"""How much more often the clamping is wrong where the wheel is known to have been clamped again; no source."""

NOTHING_G = 1e-3
"""A piece lighter than this does nothing that a balancer could show [g]."""


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
    pieces: all that are not as planned, where a cause without a size says so; side: of the one plane it is of.
    """

    cause: Cause
    piece: int | None = None
    size: float | None = None
    size_unit: SizeUnit | None = None
    seat: PointMass | None = None
    angle_deg: float = 0.0
    pieces: tuple[int, ...] = ()
    side: Side | None = None


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


Fitted = tuple[Fit, FittedCause, tuple[Effect, ...], tuple[float, ...]]


def model_of(
    seen: SpinComparison,
    cause: Cause,
    piece: int | None,
    fit: Callable[[Floats], Fitted | None],
    times: float = 1.0,
) -> CauseModel:
    """A cause, of one piece or not, and its fit; times: its share of how often that cause happens."""
    often = times * HOW_OFTEN[cause] / (1 if piece is None else len(seen.fitted))

    def fitted(y: Floats) -> Hypothesis | None:
        found = fit(y)
        return None if found is None else Hypothesis((found[1],), found[0], found[2], found[3], often)

    return CauseModel(cause, piece, fitted)


def exact_cause(
    seen: SpinComparison, cause: Cause, seats: Mapping[int, PointMass], piece: int | None, times: float = 1.0
) -> CauseModel:
    """A cause without a size: pieces, by index, that sit elsewhere, or are others."""
    effects = tuple(Effect(k, Unbalance.of([seat]) - Unbalance.of([seen.fitted[k]])) for k, seat in seats.items())
    whitened = seen.whitening(sum((e.adds for e in effects), Unbalance()))
    what = FittedCause(cause, piece, seat=None if piece is None else seats[piece], pieces=tuple(seats))
    return model_of(seen, cause, piece, lambda y: (exactly(y - whitened), what, effects, ()), times)


def as_point(seen: SpinComparison, k: int, **changes: float) -> PointMass:
    """A fitted piece as the point that does the same, with changes."""
    p = seen.fitted[k]
    radius = abs(p.vector) / p.mass_g if p.mass_g else p.radius_mm
    place = {"position_mm": p.position_mm, "radius_mm": radius, "mass_g": p.mass_g, "angle_deg": p.angle_deg}
    return PointMass(**(place | changes))


def known_cause(seen: SpinComparison, what: FittedCause, adds: Unbalance, times: float = 1.0) -> CauseModel:
    """A cause of which all is known that it adds."""
    whitened, effects = seen.whitening(adds), (Effect(None, adds),)
    return model_of(seen, what.cause, None, lambda y: (exactly(y - whitened), what, effects, ()), times)
