"""Which piece matters most: what a slip of it would leave."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..mechanics.vectors import Unbalance
from .judging import Judge, Residual

SLIP_DEG = 5.0
SLIP_MM = 5.0
"""Slips that happen, in angle [deg] and along the axis [mm]; common practice, no source."""


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


def most_sensitive(left: Unbalance, pieces: Sequence[Unbalance], judge: Judge) -> Sensitivity | None:
    """The piece that matters most where these leave ``left``; None if there are no pieces."""
    if not pieces:
        return None
    # A column for each slip: turned one way and the other, moved one way and the other.
    static = np.array([[p.static] for p in pieces])
    moment = np.array([[p.moment] for p in pieces])
    turns = np.exp(1j * np.radians([SLIP_DEG, -SLIP_DEG, 0, 0])) - 1
    moves = np.array([0, 0, SLIP_MM, -SLIP_MM])
    static_then = left.static + static * turns
    moment_then = left.moment + moment * turns + static * moves
    shares = judge.shares(static_then, moment_then).max(axis=0)
    piece = int(shares.max(axis=1).argmax())
    turned, moved = int(shares[piece, :2].argmax()), 2 + int(shares[piece, 2:].argmax())
    turned_to, moved_to = (
        _slip(Unbalance(complex(static_then[piece, k]), complex(moment_then[piece, k])), shares[piece, k], judge)
        for k in (turned, moved)
    )
    return Sensitivity(piece, turned_to, moved_to)


def _slip(then: Unbalance, share: float, judge: Judge) -> Slip:
    residual = judge.residual(then)
    return Slip(residual, judge.largest_g(residual), judge.accepts(float(share)))
