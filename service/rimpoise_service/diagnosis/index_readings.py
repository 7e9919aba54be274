"""Readings that separate the wheel from the machine: at equal steps on the shaft, of a known weight, and repeated.

Results are in the sense of the readings: what they call (``reports="correction"``), or the heavy side. Known old
weights are taken off first.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ..model.device import Sense
from ..physics.index_balancing import Indexed, index
from ..physics.planes import Plane, PlaneVector, resolve_in_planes
from ..physics.readings import Reading, Reports, Static, TwoPlane, reading_planes, unbalance_of
from ..physics.unbalance import PointMass, Unbalance

PlaneReading = TwoPlane | Static
AnglesFrom = Literal["shaft", "wheel"]


@dataclass(frozen=True, slots=True)
class Turns:
    """The same wheel read at equal turns on the shaft, its first reading first."""

    readings: tuple[PlaneReading, ...]
    turned: Sense = "clockwise"
    angles_from: AnglesFrom = "shaft"


@dataclass(frozen=True, slots=True)
class KnownWeight:
    """A weight that was put on, what was read with it and, unless the wheel was in balance, before it."""

    weight: PointMass
    reading: PlaneReading
    before: PlaneReading | None = None


@dataclass(frozen=True, slots=True)
class PlaneTurns:
    """A plane's readings split: the wheel's part as first mounted, the machine's, how well they repeat [g], and
    their masses' span [g]."""

    wheel: PlaneVector
    machine: PlaneVector
    repeatability_g: float | None
    worst_g: float
    span_g: float


@dataclass(frozen=True, slots=True)
class PlaneKnown:
    """What should have been called for a known weight, what was, and how far the two are apart [g].

    mirrored_g: how far what was called is from what a reading in the other sense would call [g].
    """

    expected: PlaneVector
    called: PlaneVector
    off_g: float
    mirrored_g: float


@dataclass(frozen=True, slots=True)
class PlaneRepeats:
    """The mean of repeated readings, how far they stray from it [g], and their masses' span [g]."""

    mean: PlaneVector
    repeatability_g: float
    worst_g: float
    span_g: float


def seen(reading: PlaneReading, reports: Reports) -> tuple[PlaneVector, ...]:
    """A reading at its own planes, in a sense, known old weights taken off."""
    return _shown(unbalance_of(reading), reading, reports)


def _shown(unbalance: Unbalance, reading: Reading, reports: Reports) -> tuple[PlaneVector, ...]:
    """An unbalance as a reading's planes would show it; one plane shows the static sum."""
    meant = unbalance if reports == "unbalance" else -unbalance
    match reading_planes(reading):
        case (a, b):
            pair = resolve_in_planes(meant, a.position_mm, b.position_mm)
            return PlaneVector(a, pair[0]), PlaneVector(b, pair[1])
        case (plane,):
            return (PlaneVector(plane, meant.static),)
    raise ValueError(f"a {type(reading).__name__} names no planes")


def by_plane(readings: Sequence[PlaneReading], reports: Reports) -> list[tuple[Plane, list[complex]]]:
    """The readings' vectors, plane by plane."""
    columns = zip(*(seen(r, reports) for r in readings), strict=True)
    return [(column[0].plane, [v.vector for v in column]) for column in columns]


def _on_shaft(turns: Turns, vectors: Sequence[complex], sign: int) -> list[complex]:
    """The vectors in the machine's frame; angles counted from the wheel's mark turn with it."""
    if turns.angles_from == "shaft":
        return list(vectors)
    step = sign * 2 * math.pi / len(vectors)
    return [v * cmath.rect(1, step * k) for k, v in enumerate(vectors)]


def indexed(turns: Turns, vectors: Sequence[complex], *, reverse: bool = False) -> Indexed:
    """A plane's vectors split; ``reverse`` as if the wheel had been turned the other way."""
    sign = 1 if (turns.turned == "clockwise") != reverse else -1
    return index(_on_shaft(turns, vectors, sign), sign)


def turn_parts(turns: Turns, reports: Reports) -> tuple[PlaneTurns, ...]:
    """The parts of readings at equal turns, plane by plane."""
    found = []
    for plane, vectors in by_plane(turns.readings, reports):
        parts, radius = indexed(turns, vectors), plane.radius_mm
        spread = parts.repeatability
        found.append(
            PlaneTurns(
                PlaneVector(plane, parts.wheel),
                PlaneVector(plane, parts.machine),
                None if spread is None else spread / radius,
                parts.worst / radius,
                _span(vectors) / radius,
            )
        )
    return tuple(found)


def known_parts(known: KnownWeight, reports: Reports) -> tuple[PlaneKnown, ...]:
    """What a known weight should have been called as, and was, plane by plane."""
    own = unbalance_of(known.before) if known.before else Unbalance()
    added = Unbalance.of([known.weight])
    # In the other sense the wheel's own part is called as it was before: the weight alone is on the wrong side.
    expected, mirrored = (_shown(own + weight, known.reading, reports) for weight in (added, -added))
    triples = zip(seen(known.reading, reports), expected, mirrored, strict=True)
    return tuple(
        PlaneKnown(e, c, *(abs(c.vector - v.vector) / c.plane.radius_mm for v in (e, m))) for c, e, m in triples
    )


def repeat_parts(readings: Sequence[PlaneReading], reports: Reports) -> tuple[PlaneRepeats, ...]:
    """Mean and spread of repeated readings, plane by plane."""
    found = []
    for plane, vectors in by_plane(readings, reports):
        mean = sum(vectors) / len(vectors)
        off = [abs(v - mean) / plane.radius_mm for v in vectors]
        spread = math.sqrt(sum(d**2 for d in off) / (2 * len(off) - 2))
        found.append(PlaneRepeats(PlaneVector(plane, mean), spread, max(off), _span(vectors) / plane.radius_mm))
    return tuple(found)


def _span(vectors: Sequence[complex]) -> float:
    """How much longer the longest is than the shortest."""
    return max(map(abs, vectors)) - min(map(abs, vectors))
