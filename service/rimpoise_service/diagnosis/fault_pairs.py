"""Two causes at once, where no single one explains a failed check spin.

The two are fitted in turn, each to what the other leaves, until neither changes. Where their effects are at
right angles in the whitened space, as those of two planes nearly are, the evidence of the pair is then the
product of both evidences, with what both leave counted once; elsewhere it is a little more than that, so a pair
is never favoured. A pair happens as often as its causes do, multiplied: independent mistakes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from ..physics.arrays import Floats
from ..physics.model_comparison import Fit, square
from ..physics.unbalance import Unbalance
from .fault_models import Cause, CauseModel, Effect, Hypothesis
from .spin_comparison import SpinComparison

MOST_PIECES = 8
"""Of more pieces no pairs are tried: two of many explain anything."""

BESIDE_A_PIECE: tuple[Cause, ...] = ("centring", "size_or_mode_wrong")
"""What may be wrong besides."""

ROUNDS, SETTLED = 12, 1e-6
"""How often the two are fitted in turn at most, and the change of χ² at which they have settled."""


def pairs_of_causes(seen: SpinComparison, singles: Sequence[CauseModel]) -> Iterator[Hypothesis]:
    """Every two causes that can come together: of two pieces, of a piece and of the clamping or a dialled size."""
    if len(seen.fitted) > MOST_PIECES:
        return
    for a, b in combinations([m for m in singles if m.piece is not None or m.cause in BESIDE_A_PIECE], 2):
        if a.piece != b.piece:
            found = _fitted_in_turn(seen, a, b)
            if found is not None:
                yield found


def _fitted_in_turn(seen: SpinComparison, a: CauseModel, b: CauseModel) -> Hypothesis | None:
    y: Floats = seen.whitening(seen.innovation)
    second, last = b.fit(y), float("inf")
    for _ in range(ROUNDS):
        first = a.fit(y - seen.whitening(second.adds)) if second else None
        second = b.fit(y - seen.whitening(first.adds)) if first else None
        if first is None or second is None:
            return None
        if last - second.fit.chi_square < SETTLED or not (first.spreads and second.spreads):
            return _both(y, seen, first, second)
        last = second.fit.chi_square
    return _both(y, seen, first, second) if first and second else None


def _both(y: Floats, seen: SpinComparison, first: Hypothesis, second: Hypothesis) -> Hypothesis:
    left = y - seen.whitening(first.adds + second.adds)
    # Each evidence holds exp(−χ²/2) of what its own fit leaves; both leave the same, which counts once.
    charges = sum(h.fit.log_evidence + h.fit.chi_square / 2 for h in (first, second))
    free = first.fit.free + second.fit.free
    return Hypothesis(
        (*first.causes, *second.causes),
        Fit(0.0, left, charges - square(left) / 2, free),
        (*_among(first, 0, len(second.spreads)), *_among(second, len(first.spreads), 0)),
        (*first.spreads, *second.spreads),
        first.how_often * second.how_often,
    )


def _among(one: Hypothesis, before: int, after: int) -> Iterator[Effect]:
    """Its effects, with so many free numbers before and after its own."""
    for e in one.effects:
        own = e.slopes or (Unbalance(),) * len(one.spreads)
        yield replace(e, slopes=(Unbalance(),) * before + own + (Unbalance(),) * after)
