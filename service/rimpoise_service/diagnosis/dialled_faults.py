"""The numbers that were dialled wrong, both times, each fitted to what was measured beyond what was expected.

- ``plane_distance``: a wrong distance d' between the planes, the inboard one as it is. The machine knows the
  forces; where the pieces make P_b in the outboard plane it shows P_b d/d', and in the inboard one what is missing
  to the same sum: P_a + (1 − d/d') P_b. Free: d/d', about 1, with 20 mm spread in d'
- ``rim_distance``: both planes x too far outboard. Where the pieces make P in all it shows x P/d less in the
  outboard plane, and as much more in the inboard one; x about 0, spread 20 mm
- ``size_or_mode_wrong``: a wrong radius, or a wrong unit or mode: it shows s times what is there; s about 1
- ``one_size_wrong``: the same of one of two planes alone

A single piece of its plane, or in a static reading, that is light or heavy is the same as a wrong size there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from ..model.wheel import SIDES, Side
from ..physics.arrays import Floats
from ..physics.model_comparison import about_zero, square
from ..physics.planes import resolve_in_planes
from ..physics.readings import TwoPlane
from ..physics.unbalance import Unbalance
from .fault_models import NOTHING_G, Cause, CauseModel, Effect, Fitted, FittedCause, SizeUnit, model_of
from .spin_comparison import SpinComparison

DISTANCE_SPREAD_MM = 20.0

DISTANCE_SHARE_LIMITS = (-2.0, 2 / 3)
"""1 − d/d' for a third of the distance and for three times as much: beyond, it is another machine."""

ASIDE_LIMITS = (-1.0, 1.0)
"""x/d for planes aside by as much as they are apart: beyond, it is another machine."""

SIZE_LIMITS = (-2 / 3, 2.0)
"""s − 1 for a third of the mass and for three times as much: beyond, it is another machine."""

SIZE_SPREAD = math.log(4) / math.sqrt(12)
"""Of s: where every factor from a half to 2 is alike, its logarithm has this standard deviation, 0.4."""

FARTHEST = 3.29
"""Standard deviations beyond its limits that errors alone make of a size at the limit, 999 times in 1,000."""


def dialled_wrong(seen: SpinComparison) -> Iterator[CauseModel]:
    """Every number dialled that the readings can say something about; a static one knows no distances."""
    together = Unbalance.of(seen.fitted)
    yield _size(seen, "size_or_mode_wrong", together)
    if seen.static:
        return
    inboard, outboard = sorted(p.position_mm for p in seen.evaluator.planes)
    span = outboard - inboard
    in_planes = resolve_in_planes(together, inboard, outboard)
    apart, aside = (Unbalance.at(inboard, v) - Unbalance.at(outboard, v) for v in (in_planes[1], together.static))
    spread, limits = DISTANCE_SPREAD_MM / span, DISTANCE_SHARE_LIMITS
    yield _share_of(seen, "plane_distance", apart, spread, limits, lambda x: span * x / (1 - x), "mm")
    yield _share_of(seen, "rim_distance", aside, spread, ASIDE_LIMITS, lambda x: span * x, "mm")
    if isinstance(seen.spin.after, TwoPlane):
        for side, position, vector in zip(SIDES, (inboard, outboard), in_planes, strict=True):
            yield _size(seen, "one_size_wrong", Unbalance.at(position, vector), side)


def _size(seen: SpinComparison, cause: Cause, shown: Unbalance, side: Side | None = None) -> CauseModel:
    """Of what the pieces make, so much more or less; side: of one plane, which is one of two."""
    times = 1 / len(SIDES) if side else 1.0
    return _share_of(seen, cause, shown, SIZE_SPREAD, SIZE_LIMITS, lambda x: 100 * x, "pct", side, times)


def _share_of(
    seen: SpinComparison,
    cause: Cause,
    added: Unbalance,
    spread: float,
    limits: tuple[float, float],
    size: Callable[[float], float],
    unit: SizeUnit,
    side: Side | None = None,
    times: float = 1.0,
) -> CauseModel:
    """A share of something known is added, about none with a spread, within limits; size: what a share means."""

    def fit(y: Floats) -> Fitted | None:
        if seen.largest_g(added) < NOTHING_G:
            return None
        direction = seen.whitening(added)
        found = about_zero(y, direction, spread, *limits)
        if abs(found.left @ direction) > FARTHEST * math.sqrt(square(direction)):
            return None
        share = found.size.real
        effect = Effect(None, Unbalance(added.static * share, added.moment * share), (added,))
        what = FittedCause(cause, None, size(share), unit, side=side)
        return found, what, (effect,), (spread,)

    return model_of(seen, cause, None, fit, times)
