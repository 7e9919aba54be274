"""A reading and planes to correct it in: the weights, what they leave, and whether to trust it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..messages.message import Message, message
from ..physics.planes import HIGH_GAIN, Plane, PlaneVector, correct, gain, residual_unbalance
from ..physics.readings import Reading, Static, read_gmm, reading_planes, unbalance_of
from ..physics.unbalance import Unbalance
from .tolerance_check import FELT_COUPLE_G, couple_side_g


@dataclass(frozen=True, slots=True)
class Corrections:
    """The weights per plane, the unbalance they leave (its moment is a pure couple) and the gain."""

    corrections: tuple[PlaneVector, ...]
    residual: Unbalance
    gain: float | None
    warnings: tuple[Message, ...]


def correct_reading(reading: Reading, planes: Sequence[Plane]) -> Corrections:
    """Correct a reading in one or two planes [mm]. Raises PlanesTooClose."""
    unbalance = unbalance_of(reading)
    corrections = correct(unbalance, planes)
    gained = gain_of(reading, corrections)
    left = residual_unbalance(unbalance, corrections)
    found = list(reading_warnings(reading))
    found += gain_warning(reading, corrections)
    if isinstance(reading, Static) and len(planes) == 2:
        found.append(message("couple_unknown"))
    if left.moment:
        found += couple_warning(abs(left.moment), reading_planes(reading))
    return Corrections(corrections, left, gained, tuple(found))


def gain_of(reading: Reading, corrections: Sequence[PlaneVector]) -> float | None:
    """How much weight is fitted per unbalance read; None when nothing was read."""
    first, last = corrections[0].plane, corrections[-1].plane
    return gain(corrections, read_gmm(reading, abs(first.position_mm - last.position_mm) or math.inf))


def gain_warning(reading: Reading, corrections: Sequence[PlaneVector]) -> Iterator[Message]:
    """That the planes are too close together or too far to one side, if they are."""
    gained = gain_of(reading, corrections)
    if gained is not None and gained > HIGH_GAIN:
        yield message("high_gain", gain=gained)


def couple_warning(couple_gmm2: float, planes: Sequence[Plane]) -> Iterator[Message]:
    """That a couple [g·mm²] stays, unless in each of two planes it is too little to be worth a word."""
    side_g = couple_side_g(couple_gmm2, planes)
    if side_g is None or side_g >= FELT_COUPLE_G:
        yield message("couple_stays", couple_gmm2=couple_gmm2, side_g=side_g)


def reading_warnings(reading: Reading) -> tuple[Message, ...]:
    """The warnings that a reading carries whatever is done with it."""
    count = len(reading.old_weights)
    return (message("old_weights_computed", count=count),) if count else ()
