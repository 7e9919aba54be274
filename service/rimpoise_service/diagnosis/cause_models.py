"""How a cause that a failed check spin may have becomes something that can be fitted, whatever the cause."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ..physics.arrays import Floats
from ..physics.model_comparison import Fit, exactly
from ..physics.unbalance import PointMass, Unbalance
from .fault_models import HOW_OFTEN, Cause, CauseModel, Effect, FittedCause, Hypothesis
from .spin_comparison import SpinComparison

NOTHING_G = 1e-3
"""A piece lighter than this does nothing that a balancer could show [g]."""

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
