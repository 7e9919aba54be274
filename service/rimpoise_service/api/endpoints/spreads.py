"""The shop's own spread."""

from __future__ import annotations

from ...diagnosis.spreads import Spreads, SpreadsRequest, estimate_spreads
from ..http.endpoint import post
from ..schemas.spreads import SpreadsRequestSchema, SpreadsSchema
from .examples.spreads import EXAMPLES
from .tags import MEASURING

MAX_BODY = 4 * 1024 * 1024
"""A thousand jobs with pieces as plans tell them, with room."""


@post(
    "/v1/spreads",
    "estimateSpreads",
    tag=MEASURING,
    asks=SpreadsRequestSchema,
    answers=SpreadsSchema,
    examples=EXAMPLES,
    most_bytes=MAX_BODY,
    heavy=True,
)
def spreads(request: SpreadsRequest) -> Spreads:
    """How far a shop's machine and hands stray, and whether the chances it was given came true.

    Spins without touching the wheel tell of the machine, spins after clamping again of centring, and what check
    spins show of angle, place and mass of the pieces: restricted maximum likelihood, each with its 95 % interval.
    What the data can't tell keeps the default. Send `spread` with every plan from then on. Entries that don't
    belong to the others are named and left out. The chances that plans gave are laid beside what happened, in bins
    and as a Brier score. Nothing is stored: keep the history yourself and send it whole.
    """
    return estimate_spreads(request)


ENDPOINTS = (spreads,)
