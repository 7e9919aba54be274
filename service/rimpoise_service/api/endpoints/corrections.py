"""The steps of a plan, one by one: exact corrections, one split behind the spokes, stock masses."""

from __future__ import annotations

from dataclasses import replace

from ...planning.correction import Corrections, correct_reading
from ...planning.rounding import Rounding, round_to_stock
from ...planning.strip_split import Split, SplitRequest, split
from ..http.endpoint import post
from ..schemas.corrections import CorrectionsRequest, CorrectionsRequestSchema, CorrectionsSchema
from ..schemas.roundings import RoundingRequest, RoundingRequestSchema, RoundingSchema
from ..schemas.splits import SplitRequestSchema, SplitSchema
from .examples.plans import EXAMPLES
from .tags import STEPS


@post(
    "/v1/corrections",
    "computeCorrections",
    tag=STEPS,
    asks=CorrectionsRequestSchema,
    answers=CorrectionsSchema,
    examples=EXAMPLES,
)
def corrections(request: CorrectionsRequest) -> Corrections:
    """Exact correction weights in one or two planes.

    Two planes correct a reading in full. One plane corrects the static sum, and the couple that stays is reported.
    Moving weights to other planes is the same computation: give the new planes. `gain` is how much weight is
    fitted per unbalance read; a large one multiplies the reading's own errors.
    """
    corrections = correct_reading(request.reading, request.planes)
    return replace(corrections, warnings=(*request.doubts, *corrections.warnings))


@post(
    "/v1/splits",
    "splitBehindSpokes",
    tag=STEPS,
    asks=SplitRequestSchema,
    answers=SplitSchema,
    examples=EXAMPLES,
)
def splits(request: SplitRequest) -> Split:
    """One called weight, made of strips hidden behind the spokes.

    Whole segments only, each strip wholly behind its spoke and clear of the keep-outs, the arc of a strip
    accounted for. Over all numbers of segments, spokes and angles: the fewest strips that leave no more than
    `within_g`, and among as many the least of what is left and a fifth of the mass fitted. If none is within, the
    least that can be left.
    """
    return split(request)


@post(
    "/v1/roundings",
    "roundToStock",
    tag=STEPS,
    asks=RoundingRequestSchema,
    answers=RoundingSchema,
    examples=EXAMPLES,
)
def roundings(request: RoundingRequest) -> Rounding:
    """Stock masses for exact corrections, at the called angles.

    Each plane for itself (`nearest`), or chosen together so that the static residual is least (`static_first`).
    """
    return round_to_stock(*request)


ENDPOINTS = (corrections, splits, roundings)
