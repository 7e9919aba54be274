"""Which piece matters most: what a slip of it would leave."""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..mechanics.vectors import Unbalance
from .judging import Judge, Residual

SLIP_DEG = 5.0
SLIP_MM = 5.0
"""Slips that happen, in angle [deg] and along the axis [mm]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Slip:
    """What would be left after a slip, in the worse of its two directions, and whether that is accepted."""

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
    slips = [(i, _turned(left, p), _moved(left, p)) for i, p in enumerate(pieces)]
    if not slips:
        return None
    piece, turned, moved = max(slips, key=lambda s: max(map(judge.excess, (*s[1], *s[2]))))
    return Sensitivity(piece, _worse(turned, judge), _worse(moved, judge))


def _turned(left: Unbalance, piece: Unbalance) -> list[Unbalance]:
    changes = [cmath.exp(sign * 1j * math.radians(SLIP_DEG)) - 1 for sign in (1, -1)]
    return [left + Unbalance(piece.static * change, piece.moment * change) for change in changes]


def _moved(left: Unbalance, piece: Unbalance) -> list[Unbalance]:
    return [left + Unbalance(0j, sign * SLIP_MM * piece.static) for sign in (1, -1)]


def _worse(slips: Iterable[Unbalance], judge: Judge) -> Slip:
    worst = max(slips, key=judge.excess)
    residual = judge.residual(worst)
    return Slip(residual, judge.largest_g(residual), judge.accepts(judge.excess(worst)))
