"""The single causes that a failed check spin can have, each fitted to what was measured.

Every cause says what the after-reading has more than was expected. Its free sizes, and how they were spread
beforehand (common practice, no source), are:

- ``piece_shifted`` by x: the piece's vector was turned, x about 0 with a spread of 45°
- ``piece_light``, ``piece_heavy`` by m: a vector along the piece, up to the piece's own mass; heavy up to 20 g
- ``piece_on_other_plane``: the same mass and angle at the place of the pieces of the other side, nothing free
- ``piece_mirrored``: the angle θ read from the wrong side, so at −θ, nothing free
- ``planes_swapped``: every piece on the other side's place, nothing free
- ``plane_distance``: the machine worked, both times, with a wrong distance d' between the planes, the inboard one
  as it is. It knows the forces; where the pieces make P_b in the outboard plane it shows P_b d/d', and in the
  inboard one what is missing to the same sum: P_a + (1 − d/d') P_b. Free: d/d', about 1, with 20 mm spread in d'
- ``centring``: the wheel was clamped off centre by e between the readings: a static vector, mass times e, halfway
  between the planes, about 0 with 10 g in each component (0.1 mm for a 20 kg wheel). Free: two numbers
- ``as_planned``: nothing but the machine's error

A static reading says nothing of planes: of other planes, swapped planes and distances nothing is told then.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from ..physics.model_comparison import Fit, about_zero, any_vector, between, exactly, turned
from ..physics.unbalance import PointMass, Unbalance, angle_deg, polar, wrap_deg
from .spin_comparison import SpinComparison

Cause = Literal[
    "piece_shifted",
    "piece_light",
    "piece_heavy",
    "piece_on_other_plane",
    "piece_mirrored",
    "planes_swapped",
    "plane_distance",
    "centring",
    "as_planned",
]
SizeUnit = Literal["deg", "g", "mm"]
CAUSES: tuple[Cause, ...] = get_args(Cause)

SHIFT_SPREAD_DEG = 45.0
HEAVY_UP_TO_G = 20.0
DISTANCE_SPREAD_MM = 20.0
CENTRING_SPREAD_G = 10.0
NOTHING_G = 1e-3
"""A piece lighter than this does nothing that a balancer could show [g]."""

DISTANCE_SHARE_LIMITS = (-2.0, 2 / 3)
"""1 − d/d' for a third of the distance and for three times as much: beyond, it is another machine."""


@dataclass(frozen=True, slots=True)
class Move:
    """A piece, by its index, from where it seems to sit to where it belongs [deg], [mm]."""

    piece: int
    from_deg: float
    to_deg: float
    from_position_mm: float
    to_position_mm: float


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """A cause, fitted: its size in its unit, what it adds to the expected unbalance, and how well it fits.

    angle_deg is the direction of a centring error [deg].
    """

    cause: Cause
    fit: Fit
    adds: Unbalance
    piece: int | None = None
    size: float | None = None
    size_unit: SizeUnit | None = None
    moves: tuple[Move, ...] = ()
    angle_deg: float = 0.0


def hypotheses(seen: SpinComparison, fitted: Sequence[PointMass]) -> Iterator[Hypothesis]:
    """Every cause that the readings can tell something of, fitted; those that come out as nothing are left out."""
    yield Hypothesis("as_planned", exactly(seen.whitening(seen.innovation)), Unbalance())
    for index, piece in enumerate(fitted):
        if piece.mass_g >= NOTHING_G:
            yield from _of_one_piece(seen, index, piece)
    if not seen.static and fitted:
        yield from _of_places(seen, fitted)
        yield from _distance(seen, fitted)
    yield _centring(seen)


def _of_one_piece(seen: SpinComparison, index: int, piece: PointMass) -> Iterator[Hypothesis]:
    y, own = seen.whitening(seen.innovation), Unbalance.of([piece])
    fit = turned(y, seen.whitening(own), math.radians(SHIFT_SPREAD_DEG))
    shift = math.degrees(fit.size.real)
    yield Hypothesis(
        "piece_shifted",
        fit,
        Unbalance.at(piece.position_mm, piece.vector * (polar(1, shift) - 1)),
        index,
        shift,
        "deg",
        (_move(index, piece, angle=piece.angle_deg + shift),),
    )
    gram = polar(piece.radius_mm, piece.angle_deg)
    for cause, sign, longest in (
        ("piece_light", -1, piece.mass_g),
        ("piece_heavy", 1, max(piece.mass_g, HEAVY_UP_TO_G)),
    ):
        more = Unbalance.at(piece.position_mm, sign * gram)
        fit = between(y, seen.whitening(more), longest)
        if fit.size.real > 0:
            adds = Unbalance.at(piece.position_mm, sign * gram * fit.size.real)
            yield Hypothesis(cause, fit, adds, index, fit.size.real, "g")  # type: ignore[arg-type]
    if piece.vector.imag:
        adds = Unbalance.at(piece.position_mm, piece.vector.conjugate() - piece.vector)
        move = _move(index, piece, angle=-piece.angle_deg)
        yield Hypothesis("piece_mirrored", exactly(y - seen.whitening(adds)), adds, index, moves=(move,))


def _move(index: int, piece: PointMass, angle: float | None = None, position: float | None = None) -> Move:
    """Back to where it was planned."""
    return Move(
        index,
        piece.angle_deg if angle is None else wrap_deg(angle),
        piece.angle_deg,
        piece.position_mm if position is None else position,
        piece.position_mm,
    )


def _of_places(seen: SpinComparison, fitted: Sequence[PointMass]) -> Iterator[Hypothesis]:
    """Pieces on the other side's place, one by one and all at once; of one piece that is the same."""
    y, moved = seen.whitening(seen.innovation), [_on_other_side(seen, piece, fitted) for piece in fitted]
    added = [Unbalance.of([there]) - Unbalance.of([here]) for here, there in zip(fitted, moved, strict=True)]
    moves = [
        _move(i, here, position=there.position_mm)
        for i, (here, there) in enumerate(zip(fitted, moved, strict=True))
    ]
    for index, adds in enumerate(added):
        if fitted[index].mass_g >= NOTHING_G:
            fit = exactly(y - seen.whitening(adds))
            yield Hypothesis("piece_on_other_plane", fit, adds, index, moves=(moves[index],))
    if len(fitted) > 1:
        total = sum(added, Unbalance())
        yield Hypothesis("planes_swapped", exactly(y - seen.whitening(total)), total, moves=tuple(moves))


def _on_other_side(seen: SpinComparison, piece: PointMass, fitted: Sequence[PointMass]) -> PointMass:
    """The piece at the place of the heaviest piece on the other side; if there is none, in the reading plane."""
    a, b = seen.evaluator.planes
    other = b if abs(piece.position_mm - a.position_mm) < abs(piece.position_mm - b.position_mm) else a
    near = a if other is b else b
    there = [p for p in fitted if abs(p.position_mm - other.position_mm) < abs(p.position_mm - near.position_mm)]
    place = max(there, key=lambda p: p.mass_g, default=other)
    return PointMass(place.position_mm, place.radius_mm, piece.mass_g, piece.angle_deg)


def _distance(seen: SpinComparison, fitted: Sequence[PointMass]) -> Iterator[Hypothesis]:
    inboard, outboard = sorted(p.position_mm for p in seen.evaluator.planes)
    span = outboard - inboard
    in_outboard = Unbalance.of(fitted).about(inboard) / span
    pair = Unbalance.at(inboard, in_outboard) - Unbalance.at(outboard, in_outboard)
    if abs(in_outboard) < NOTHING_G * seen.evaluator.static_radius_mm:
        return
    fit = about_zero(seen.whitening(seen.innovation), seen.whitening(pair), DISTANCE_SPREAD_MM / span)
    low, high = DISTANCE_SHARE_LIMITS
    if low <= fit.size.real <= high:
        share = fit.size.real
        adds = Unbalance(pair.static * share, pair.moment * share)
        yield Hypothesis("plane_distance", fit, adds, size=span * share / (1 - share), size_unit="mm")


def _centring(seen: SpinComparison) -> Hypothesis:
    radius, middle = seen.evaluator.static_radius_mm, seen.evaluator.centre_mm
    direction = seen.whitening(Unbalance.at(middle, radius + 0j))
    fit = any_vector(seen.whitening(seen.innovation), direction, CENTRING_SPREAD_G)
    adds = Unbalance.at(middle, fit.size * radius)
    return Hypothesis(
        "centring", fit, adds, size=abs(fit.size), size_unit="g", angle_deg=angle_deg(complex(fit.size))
    )


def of_all_pieces(seen: SpinComparison, fitted: Sequence[PointMass]) -> tuple[Fit, Fit]:
    """What is no single cause but easily done: every piece turned by one angle [rad], and every one mirrored."""
    y, all_pieces = seen.whitening(seen.innovation), Unbalance.of(fitted)
    mirrored = Unbalance.of(PointMass(p.position_mm, p.radius_mm, p.mass_g, -p.angle_deg) for p in fitted)
    by_one_angle = turned(y, seen.whitening(all_pieces), math.pi)
    return by_one_angle, exactly(y - seen.whitening(mirrored - all_pieces))


def turn_of(fit: Fit) -> float:
    """The angle [deg] of a fitted turn, from −180 to 180."""
    return math.degrees(cmath.phase(cmath.rect(1, fit.size.real)))
