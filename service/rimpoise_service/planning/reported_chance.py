"""The chance that is reported: what the probability is when turned pieces move on their circles.

To first order a turned piece moves along a tangent; in truth on a curve. The difference of the two, over a fixed
low-discrepancy set of turns and lines, is added to the probability to first order: a control variate, so that few
points are enough. (A normal distribution with exact moments is worse than the tangent.)
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..physics.arrays import Complexes, Floats
from .joint_model import JudgedResidual, PlaceErrors, cholesky, covariance
from .models import MOST_PIECES_PER_PLANE
from .pass_probability import DISCS, FINE, components, probability, shares_along, with_mirror_images

POINTS, FEW = 2048, 512
"""Points, and how many of them are enough where no piece's angle strays more than ``WIDE``."""

WIDE = math.radians(6)
MOST_PIECES = 2 * MOST_PIECES_PER_PLANE


@dataclass(frozen=True, eq=False)
class PieceVector:
    """A piece's vector in its place's plane [g·mm], and how errors there show."""

    vector: complex
    errors: PlaceErrors


def _sequence() -> tuple[Floats, Floats]:
    """Normal turns, (MOST_PIECES, POINTS), and lines' coordinates in [0, 1), (3, POINTS): Kronecker's sequence.

    Its steps are the powers of the root of x^(d+1) = x + 1, a generalised golden ratio.
    """
    d = MOST_PIECES + 3
    root = 2.0
    for _ in range(60):
        root = (1 + root) ** (1 / (d + 1))
    steps = root ** -np.arange(1.0, d + 1)
    points = np.mod(0.5 + steps[:, None] * np.arange(1, POINTS + 1), 1.0)
    radius = np.sqrt(-2 * np.log(1 - points[0:MOST_PIECES:2]))
    angle = 2 * math.pi * points[1:MOST_PIECES:2]
    return np.concatenate([radius * np.cos(angle), radius * np.sin(angle)]), points[MOST_PIECES:]


HALF_TURNS, LINES = _sequence()


def _directions(dimension: int) -> Floats:
    """Unit vectors of the sequence's lines, (dimension, POINTS)."""
    share, one, two = LINES
    if dimension == 2:
        return np.stack([np.cos(math.pi * one), np.sin(math.pi * one)])
    first, other = np.sqrt(share) * np.exp(2j * math.pi * one), np.sqrt(1 - share) * np.exp(2j * math.pi * two)
    return np.stack([first.real, other.real, first.imag, other.imag])


def _mirrored(dimension: int, points: int) -> tuple[Floats, Floats]:
    """Turns and lines, and their mirror images: a mirrored wheel has the same chance."""
    turns, lines = HALF_TURNS[:, :points], _directions(dimension)[:, :points]
    half = dimension // 2
    images = np.concatenate([lines[:half], -lines[half:]])
    return np.concatenate([turns, -turns], axis=1), np.concatenate([lines, images], axis=1)


LINEAR = {dimension: with_mirror_images(FINE[dimension]) for dimension in (2, 4)}
DRAWS = {(dimension, points): _mirrored(dimension, points) for dimension in (2, 4) for points in (FEW, POINTS)}


def linear_probability(judged: JudgedResidual, left: Complexes, pieces: Sequence[PieceVector]) -> float:
    """P to first order; left: (c,), what is planned to be left [g·mm]."""
    root = cholesky(_covariance(judged, pieces, turned=True))
    return float(probability(left[None], root, judged.limits, LINEAR[judged.dimension])[0])


def reported_probability(
    judged: JudgedResidual, left: Complexes, pieces: Sequence[PieceVector], linear: float | None = None
) -> float:
    """P with turned pieces on their circles; left: (c,), what is planned to be left [g·mm].

    linear: P to first order, if it is known already.
    """
    linear = linear_probability(judged, left, pieces) if linear is None else linear
    pieces = sorted(pieces, key=_by_motion)
    angle_sd = np.array([[math.sqrt(p.errors.angle_var)] for p in pieces])
    if not angle_sd.any():
        return linear
    turns, directions = DRAWS[judged.dimension, POINTS if angle_sd.max() > WIDE else FEW]
    angle = turns[: len(pieces)] * angle_sd
    gain = np.array([p.errors.gain for p in pieces])
    vector = np.array([[p.vector] for p in pieces])
    along = (vector * 1j * angle).T @ gain
    curved = (vector * np.expm1(1j * angle)).T @ gain
    root = cholesky(_covariance(judged, pieces, turned=False))
    lines = (DISCS[judged.dimension] @ root) @ directions
    difference = [
        shares_along(components(left + moved) @ DISCS[judged.dimension].T, lines, judged.limits)
        for moved in (curved, along)
    ]
    return float(np.clip(linear + (difference[0] - difference[1]).mean(), 0.0, 1.0))


def _by_motion(piece: PieceVector) -> tuple[float, ...]:
    """An order that a wheel keeps when it is turned or mirrored, but for rounding."""
    gain = np.round(piece.errors.gain, 9).tolist()  # not by so many digits: of a share that is 0, all are rounding
    return (*gain, *(float(f"{x:.9g}") for x in (abs(piece.vector), abs(cmath.phase(piece.vector)))))


def _covariance(judged: JudgedResidual, pieces: Sequence[PieceVector], *, turned: bool) -> Floats:
    """Of the residual that is read; without the errors of angle unless ``turned``."""
    proper, pseudo = judged.machine_and_floor, np.zeros_like(judged.machine, dtype=complex)
    for p in pieces:
        radial = np.outer(p.errors.gain, p.errors.gain) * p.errors.mass_var
        radial = radial + np.outer(p.errors.gain_per_mm, p.errors.gain_per_mm) * p.errors.axial_var
        across = np.outer(p.errors.gain, p.errors.gain) * p.errors.angle_var * turned
        proper = proper + abs(p.vector) ** 2 * (radial + across)
        pseudo = pseudo + p.vector**2 * (radial - across)
    return covariance(proper, pseudo)
