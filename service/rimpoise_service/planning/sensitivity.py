"""Which piece matters most: what a slip of it would leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..physics.unbalance import Unbalance, polar
from .tolerance_check import Residual, ToleranceEvaluator

SLIP_DEG = 5.0
SLIP_MM = 5.0
"""Usual slips in angle [deg] and along the axis [mm]; common practice, no source."""

TURNS = tuple(polar(1.0, by) - 1 for by in (SLIP_DEG, -SLIP_DEG))
"""What a turn either way adds to a vector, as a share of it."""


@dataclass(frozen=True, slots=True)
class Slip:
    """What would be left after a slip, in the worse of its two directions, and whether that is accepted.

    largest_residual_g [g] is the largest of what the planes then show.
    """

    residual: Residual
    largest_residual_g: float
    within_acceptance: bool


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """The piece, by its index, whose slips leave most: turned by slip_deg [deg], moved by slip_mm [mm] axially."""

    piece: int
    turned: Slip
    moved: Slip
    slip_deg: float = SLIP_DEG
    slip_mm: float = SLIP_MM


def most_sensitive(
    left: Unbalance, pieces: Sequence[Unbalance], evaluator: ToleranceEvaluator
) -> Sensitivity | None:
    """The piece that matters most where these leave ``left``; None if there are no pieces."""
    slips = [(_worst(left, _turns(p), evaluator), _worst(left, _moves(p), evaluator)) for p in pieces]
    shares = [max(turned[0], moved[0]) for turned, moved in slips]
    if not shares:
        return None
    piece = shares.index(max(shares))
    turned, moved = (_slip(*slip, evaluator) for slip in slips[piece])
    return Sensitivity(piece, turned, moved)


def _turns(piece: Unbalance) -> list[Unbalance]:
    """What a turn of a piece adds, one way and the other."""
    return [Unbalance(piece.static * by, piece.moment * by) for by in TURNS]


def _moves(piece: Unbalance) -> list[Unbalance]:
    """What a move along the axis adds, one way and the other."""
    return [Unbalance(0j, piece.static * by) for by in (SLIP_MM, -SLIP_MM)]


def _worst(left: Unbalance, slips: Sequence[Unbalance], evaluator: ToleranceEvaluator) -> tuple[float, Unbalance]:
    """The largest share of a limit that is left after one of the slips, and what is left then."""
    then = [left + slip for slip in slips]
    shares = [evaluator.limit_ratio(unbalance) for unbalance in then]
    return max(shares), then[shares.index(max(shares))]


def _slip(share: float, then: Unbalance, evaluator: ToleranceEvaluator) -> Slip:
    residual = evaluator.residual(then)
    return Slip(residual, evaluator.largest_g(residual), evaluator.accepts(share))
