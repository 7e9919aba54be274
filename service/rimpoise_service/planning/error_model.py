"""How residuals and errors show in the planes that are judged, the inner first, and how often layouts pass so."""

from __future__ import annotations

import cmath
from collections.abc import Collection, Sequence

import numpy as np

from ..physics.arrays import Complexes, Floats
from ..physics.planes import PlaneVector
from ..physics.readings import Reading, Static, shown_variance, shown_zeros
from ..physics.unbalance import Unbalance
from .context import PlanContext
from .joint_model import JudgedResidual, PlaceErrors, cholesky, covariance
from .models import Piece
from .pass_probability import COARSE, probability
from .reported_chance import PieceVector, reported_probability
from .tolerance_check import WITHIN, ToleranceEvaluator

WORSE_G = 0.05
"""By no more than this may a quantity outside its limit be worse than before [g]."""


def frame_of(required: Sequence[PlaneVector]) -> float:
    """The direction of the larger exact correction [rad]: turned back by it, a turned wheel is the same."""
    largest = max(required, key=lambda v: round(abs(v.vector), 6))
    return cmath.phase(largest.vector) if largest.vector else 0.0


def judged_residual(context: PlanContext, evaluator: ToleranceEvaluator, turn: complex) -> JudgedResidual:
    """The residual before fitting, turned; limits, ceilings, the machine's part; the inner plane first."""
    limits, radius = evaluator.limits, evaluator.static_radius_mm
    spread, spins = context.spread, context.spins
    machine_g, step_g = spread.machine_sd_g or 0.0, context.step_g
    component = shown_variance(machine_g, step_g, spins) + shown_variance(machine_g, step_g)
    before = shown(evaluator, context.unbalance)
    if evaluator.static_only:
        vectors, allowed, radii_of = [*before], [limits.static_gmm], [radius]
        machine = np.array([[sum(2 * component * r * r for r in _static_radii_mm(context, evaluator))]])
    else:
        order = sorted(range(2), key=lambda i: evaluator.planes[i].position_mm)
        vectors = [*before, context.unbalance.static]
        allowed = [limits.planes_gmm[i] for i in order] + [limits.static_gmm]
        radii_of = [evaluator.planes[i].radius_mm for i in order] + [radius]
        machine = np.diag([2 * component * r * r for r in radii_of[:2]])
    machine = machine + _hidden(context.request.reading, evaluator)
    ceilings = [
        max(limit * WITHIN, abs(v) + WORSE_G * r) for v, limit, r in zip(vectors, allowed, radii_of, strict=True)
    ]
    return JudgedResidual(before * turn, np.array(allowed) * WITHIN, np.array(ceilings), machine)


def _static_radii_mm(context: PlanContext, evaluator: ToleranceEvaluator) -> list[float]:
    """Of the planes whose errors are in a static sum, the inner first; a static reading has one alone."""
    if isinstance(context.request.reading, Static):
        return [context.request.reading.mass.radius_mm]
    in_order = sorted(evaluator.planes, key=lambda p: p.position_mm)
    return [p.radius_mm for p in in_order] or [evaluator.static_radius_mm]


def _hidden(reading: Reading, evaluator: ToleranceEvaluator) -> Floats:
    """What a shown 0 may hide, evenly spread over a disc, in the judged planes, as a proper part [g²·mm²]."""
    found = np.zeros((1, 1) if evaluator.static_only else (2, 2))
    for gram in shown_zeros(reading):
        vector = shown(evaluator, gram).real
        found += reading.zero_below_g**2 / 2 * np.outer(vector, vector)
    return found


def most_possible(judged: JudgedResidual) -> float:
    """P of nothing left, with the machine's errors alone: no more can be (``pass_probability``, 4)."""
    c = len(judged.before)
    root = cholesky(covariance(judged.machine_and_floor, np.zeros((c, c), dtype=complex)))
    centred = probability(np.zeros((1, c), dtype=complex), root, judged.limits, COARSE[2 * c])
    return min(float((centred + COARSE[2 * c].error(centred))[0]), 1.0)


def place_errors(
    context: PlanContext, evaluator: ToleranceEvaluator, position_mm: float, *, clip_on: bool
) -> PlaceErrors:
    """How a weight at a position [mm], and its errors, show in the judged planes, the inner first."""
    spread = context.spread
    variances = (spread.angle_var, spread.mass_var, spread.axial_var(clip_on=clip_on))
    if evaluator.static_only:
        return PlaceErrors(np.ones(1), np.zeros(1), *variances)
    inner, outer = sorted(p.position_mm for p in evaluator.planes)
    span = outer - inner
    gain = np.array([(outer - position_mm) / span, (position_mm - inner) / span])
    return PlaceErrors(gain, np.array([-1.0, 1.0]) / span, *variances)


def shown(evaluator: ToleranceEvaluator, left: Unbalance) -> Complexes:
    """What is left, in the judged planes, the inner first, (c,)."""
    if evaluator.static_only:
        return np.array([left.static])
    return np.array([v.vector for v in sorted(evaluator.residual(left).planes, key=lambda v: v.plane.position_mm)])


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


def exact_probability(
    context: PlanContext, evaluator: ToleranceEvaluator, required: Sequence[PlaneVector], flanges: Collection[str]
) -> float:
    """How often exact masses at exact angles would pass; flanges: the places, by name, where clip-ons go."""
    fitted = [(Unbalance.at(v.plane.position_mm, v.vector), v.plane.name in flanges) for v in required]
    return _probability(context, evaluator, required, fitted, None)


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
