"""How often a layout's check spin is read within the limits."""

from __future__ import annotations

import cmath
from collections.abc import Collection, Sequence

from ..physics.planes import PlaneVector
from ..physics.unbalance import Unbalance
from .context import PlanContext
from .error_model import frame_of, judged_residual, place_errors, shown
from .models import Piece
from .reported_chance import PieceVector, reported_probability
from .tolerance_check import ToleranceEvaluator


def layout_probability(
    context: PlanContext,
    evaluator: ToleranceEvaluator,
    required: Sequence[PlaneVector],
    pieces: Sequence[Piece],
    linear: float | None = None,
) -> float:
    """The probability with which pieces pass, turned ones on their circles.

    required: the exact correction in the layout's planes; linear: the probability to first order, if it is known.
    """
    fitted = [(p.unbalance, p.style == "clip_on") for p in pieces]
    return _probability(context, evaluator, required, fitted, linear)


def exact_probability(context: PlanContext, required: Sequence[PlaneVector], flanges: Collection[str]) -> float:
    """How often exact masses at exact angles would pass; flanges: the places, by name, where clip-ons go."""
    fitted = [(Unbalance.at(v.plane.position_mm, v.vector), v.plane.name in flanges) for v in required]
    return _probability(context, context.evaluator, required, fitted, None)


def _probability(
    context: PlanContext,
    evaluator: ToleranceEvaluator,
    required: Sequence[PlaneVector],
    fitted: Sequence[tuple[Unbalance, bool]],
    linear: float | None,
) -> float:
    turn = cmath.exp(-1j * frame_of(required))
    left = sum((unbalance for unbalance, _ in fitted), context.unbalance)
    pieces = [
        PieceVector(u.static * turn, place_errors(context, evaluator, _position_mm(u), clip_on=clip_on))
        for u, clip_on in fitted
    ]
    return reported_probability(
        judged_residual(context, evaluator, turn), shown(evaluator, left) * turn, pieces, linear
    )


def _position_mm(unbalance: Unbalance) -> float:
    """Where a single vector acts along the axis [mm]."""
    return (unbalance.moment / unbalance.static).real if unbalance.static else 0.0
