"""Splitting one correction into strips behind the spokes, exactly.

The search itself, and why its answer is the best there is, are in ``search.branch_and_bound``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..messages.message import Message, message
from ..model.arcs import Arc, merged, subtract
from ..model.stock import Strip
from ..physics.planes import PlaneVector
from ..physics.unbalance import wrap_deg
from ..search.block_catalogue import StripOptions
from ..search.blocks import FittedWeight
from ..search.branch_and_bound import ZERO_GMM, BlockCombination, search

MASS_SHARE = 0.2
"""Grams left over that are worth a gram of strip: common practice, no source."""

AT_SPOKE_DEG = 1e-9
"""A target this near to a spoke's centre points at it; the rest is rounding [deg]."""


@dataclass(frozen=True, slots=True)
class SplitRequest:
    """target: the weight that was called, as a vector in a plane; spokes: the windows; keep_out: arcs.

    land_radius_mm [mm] is that of the land the strip is stuck to; max_pieces 1 to 4. within_g: what may be left
    at the target's radius [g].
    """

    target: PlaneVector
    land_radius_mm: float
    spokes: tuple[Arc, ...]
    strip: Strip
    max_pieces: int = 2
    keep_out: tuple[Arc, ...] = ()
    within_g: float = 2.0


@dataclass(frozen=True, slots=True)
class StripPiece:
    """A strip behind a spoke: whole segments, mass [g], the angle of its middle, arc [deg] and length [mm]."""

    window: str | None
    segments: int
    mass_g: float
    angle_deg: float
    arc_deg: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class Ideal:
    """A point weight of any mass [g] at the centre of a neighbouring spoke."""

    window: str | None
    mass_g: float


@dataclass(frozen=True, slots=True)
class Split:
    """The strips, the vector they leave (heavy side, at the target's plane), the unrounded ideal and the proof."""

    pieces: tuple[StripPiece, ...]
    residual: PlaneVector
    ideal: tuple[Ideal, ...]
    proven_optimal: bool
    warnings: tuple[Message, ...] = ()


def split(request: SplitRequest) -> Split:
    """Among all splits that leave no more than ``within_g``: the fewest pieces, then the cheapest.

    All whole segments, windows and angles count, and so does no weight at all. The cost is what is left and
    MASS_SHARE of the mass fitted. If none is within, the least that can be left; among equals the fewest pieces,
    then mass.
    """
    windows = [free for cover in merged(request.spokes) for free in subtract(cover, request.keep_out)]
    options = StripOptions.on_land(request.strip, request.land_radius_mm, windows, request.max_pieces)
    best, proven = _best(request, options)
    units = [u for block, angle in zip(best.blocks, best.angles, strict=True) for u in options.units(block, angle)]
    residual = PlaneVector(request.target.plane, sum((u.vector for u in units), -request.target.vector))
    return Split(
        pieces=tuple(_pieces(request.strip, units)),
        residual=residual,
        ideal=ideal_weights(request.target, request.spokes),
        proven_optimal=proven,
        warnings=tuple(_warnings(request, residual, room=len(options.blocks) > 0)),
    )


def _warnings(request: SplitRequest, residual: PlaneVector, *, room: bool) -> Iterator[Message]:
    """That no strip fits, or that more is left than may be; of 0 g, which asks for the least, nothing is said."""
    if not room:
        yield message("no_window_fits", segment_mm=request.strip.segment_length_mm)
    elif 0 < request.within_g < residual.mass_g - ZERO_GMM / request.target.plane.radius_mm:
        yield message("outside_acceptance", left_g=residual.mass_g, limit_g=request.within_g)


def _best(request: SplitRequest, options: StripOptions) -> tuple[BlockCombination, bool]:
    """The best combination, and whether that is proven."""
    target, per_gram = request.target.vector, MASS_SHARE * request.target.plane.radius_mm
    within = request.within_g * request.target.plane.radius_mm + ZERO_GMM
    best, proven = BlockCombination((), (), 0j, abs(target), 0.0), True
    for pieces in range(1, request.max_pieces + 1):
        if best.residual <= within:
            break
        # More pieces must be better by more than rounding, or fewer it stays.
        found = search(target, options.blocks, pieces, best.residual - 2 * ZERO_GMM)
        proven &= found.proven
        best = min((best, *found.candidates), key=lambda c: c.residual)
    if best.blocks and best.residual <= within:  # with no fewer pieces: now the cheapest of so many
        cost = best.residual + per_gram * best.mass
        pieces = int(options.blocks.pieces[list(best.blocks)].sum())
        found = search(target, options.blocks, pieces, within, per_gram=per_gram, upper_cost=cost)
        best, proven = next(iter(found.candidates), best), proven and found.proven
    return best, proven


def _pieces(strip: Strip, units: Sequence[FittedWeight]) -> Iterator[StripPiece]:
    for u in sorted(units, key=lambda u: wrap_deg(math.degrees(u.angle))):
        segments = u.segments or 0
        yield StripPiece(
            window=u.window,
            segments=segments,
            mass_g=u.mass_g,
            angle_deg=wrap_deg(math.degrees(u.angle)),
            arc_deg=math.degrees(2 * u.half_arc),
            length_mm=segments * strip.segment_length_mm,
        )


def ideal_weights(target: PlaneVector, spokes: Sequence[Arc]) -> tuple[Ideal, ...]:
    """Point weights at the centres of the two spokes next to the target, a before and b after it.

    m1 = m sin b / sin(a + b), m2 = m sin a / sin(a + b): the law of sines (Beer & Johnston, *Vector
    Mechanics*, 9th ed., sample problem 2.2). One where the target points at a spoke; none where the two
    are half a turn or more apart, for then no two weights will do.
    """
    if not spokes or not target.vector:
        return ()
    ahead = [wrap_deg(s.centre_deg - target.angle_deg) for s in spokes]
    for spoke, turn in zip(spokes, ahead, strict=True):
        if min(turn, 360.0 - turn) < AT_SPOKE_DEG:
            return (Ideal(spoke.name, target.mass_g),)
    after, before = int(np.argmin(ahead)), int(np.argmax(ahead))
    b, a = math.radians(ahead[after]), math.radians(360.0 - ahead[before])
    if a + b >= math.pi:
        return ()
    share = target.mass_g / math.sin(a + b)
    return Ideal(spokes[before].name, share * math.sin(b)), Ideal(spokes[after].name, share * math.sin(a))
