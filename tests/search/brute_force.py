"""Splitting by brute force, from the physics alone: nothing here comes from the search it judges.

A strip is a line of mass bent along the land; what it does is added up numerically. Pieces are tried at every
place of a fine grid over each spoke, at both ends of it and against both sides of each keep-out, and every
combination of up to four of them is weighed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import LinearConstraint, minimize

from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.stock import Strip
from rimpoise_service.planning.strip_split import Split, SplitRequest, StripPiece

TURN = 2 * math.pi
TOUCH_RAD = 3e-9
"""Room for rounding where pieces touch each other, a spoke's end or a keep-out [rad]: under a micrometre."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)


def pull_gmm(strip: Strip, land_radius_mm: float, segments: int) -> float:
    """What n segments do towards their middle [g·mm]: the line density added up over the arc."""
    half = segments * strip.segment_length_mm / land_radius_mm / 2
    per_rad = segments * strip.segment_mass_g / (2 * half)
    towards = (land_radius_mm - strip.thickness_mm / 2) * np.cos(half * _NODES)
    return float(per_rad * half * (_WEIGHTS @ towards))


@dataclass(frozen=True)
class Spot:
    """A piece at a place: segments, middle, half arc and free stretch [rad], and its vector [g·mm]."""

    segments: int
    middle: float
    half: float
    begin: float
    end: float
    vector: complex

    @property
    def free(self) -> tuple[float, float]:
        """Where its middle may go [rad]."""
        return self.begin + self.half, self.end - self.half


def within(place: float, arc: Arc) -> bool:
    """Whether a direction [rad] lies inside an arc, its ends not counted."""
    off = (place - math.radians(arc.start_deg)) % TURN
    return TOUCH_RAD < off < math.radians(arc.width_deg) - TOUCH_RAD


def covers(spokes: Sequence[Arc]) -> list[Arc]:
    """Spokes that touch as one: two are joined until none touch; one that meets itself is the whole circle."""
    joined = list(spokes)
    while True:
        pair = next(((a, b) for a in joined for b in joined if a is not b and _meet(a, b)), None)
        if pair is None:
            break
        one, other = pair
        joined = [s for s in joined if s is not one and s is not other]
        joined.append(Arc(one.start_deg, one.width_deg + other.width_deg, f"{one.name}+{other.name}"))
    return [Arc(s.start_deg, 360.0, s.name, endless=True) if s.width_deg > 360 - 1e-6 else s for s in joined]


def _meet(one: Arc, other: Arc) -> bool:
    return abs((other.start_deg - one.start_deg - one.width_deg + 180) % 360 - 180) < 1e-6


def stretches(request: SplitRequest) -> list[tuple[float, float]]:
    """Free stretches [rad], from cutting every spoke at every end of a keep-out and asking what lies between."""
    found = []
    for spoke in covers(request.spokes):
        start, width = math.radians(spoke.start_deg), math.radians(spoke.width_deg)
        ends = {0.0, width}
        for out in request.keep_out:
            for end in (math.radians(out.start_deg), math.radians(out.start_deg + out.width_deg)):
                ends.add(min((end - start) % TURN, width))
        cuts = sorted(ends)
        free = [
            (start + a, start + b)
            for a, b in pairwise(cuts)
            if b - a > 1e-12 and not any(within(start + (a + b) / 2, out) for out in request.keep_out)
        ]
        seam_is_free = not any((math.radians(out.start_deg) - start) % TURN == 0 for out in request.keep_out)
        if spoke.endless and seam_is_free and len(free) > 1 and free[-1][1] - free[0][0] == TURN:
            free = [(free[-1][0], free[0][1] + TURN), *free[1:-1]]
        found += free
    return found


def spots(request: SplitRequest, most: int) -> list[Spot]:
    """About that many places for pieces, evenly over the stretches that hold them."""
    limit = (
        request.strip.max_segments
        if request.strip.on_hand is None
        else min(request.strip.max_segments, request.strip.on_hand)
    )
    shapes = []
    for begin, end in stretches(request):
        for segments in range(1, limit + 1):
            half = segments * request.strip.segment_length_mm / request.land_radius_mm / 2
            if 2 * half <= end - begin + 1e-12:
                shapes.append((segments, half, begin, end))
    each = max(3, most // max(len(shapes), 1))
    found = []
    for segments, half, begin, end in shapes:
        pull = pull_gmm(request.strip, request.land_radius_mm, segments)
        found += [
            Spot(segments, float(middle), half, begin, end, pull * complex(np.exp(1j * middle)))
            for middle in np.unique(np.linspace(begin + half, max(end - half, begin + half), each))
        ]
    return found


def clash(spots: list[Spot]) -> NDArray[np.bool_]:
    """Which pairs of places overlap."""
    middle, half = np.array([s.middle for s in spots]), np.array([s.half for s in spots])
    apart = np.abs((middle[:, None] - middle[None, :] + math.pi) % TURN - math.pi)
    overlap: NDArray[np.bool_] = apart < half[:, None] + half[None, :] - 1e-12
    return overlap


PLACES = {1: 700, 2: 700, 3: 110, 4: 44}
"""Places tried with that many pieces; their combinations, a quarter of a million, are the cost."""


@cache
def _all_picks(pieces: int) -> NDArray[np.intp]:
    rows = combinations(range(PLACES[pieces]), pieces)
    flat = np.fromiter((i for row in rows for i in row), dtype=np.intp)
    return flat.reshape(-1, pieces)


def best_combinations(
    request: SplitRequest, pieces: int, keep: int, per_gram: float = 0.0
) -> list[tuple[Spot, ...]]:
    """The best combinations of exactly that many pieces; no two with the same segments in the same stretches.

    The best are those that leave the least, and take the least mass at so much a gram [g·mm/g].
    """
    found = spots(request, PLACES[pieces])[: PLACES[pieces]]
    picks = _all_picks(pieces)
    picks = picks[picks[:, -1] < len(found)]
    if not len(picks):
        return []
    vector = np.array([s.vector for s in found])
    segments = np.array([s.segments for s in found])
    left = np.abs(request.target.vector - vector[picks].sum(axis=1))
    overlap = clash(found)
    for i, j in combinations(range(pieces), 2):
        left[overlap[picks[:, i], picks[:, j]]] = np.inf
    if request.strip.on_hand is not None:
        left[segments[picks].sum(axis=1) > request.strip.on_hand] = np.inf
    left = left + per_gram * request.strip.segment_mass_g * segments[picks].sum(axis=1)
    kept: dict[tuple[tuple[int, float], ...], tuple[Spot, ...]] = {}
    for row in np.argsort(left, kind="stable")[:400]:
        chosen = tuple(found[i] for i in picks[row])
        if np.isfinite(left[row]) and len(kept) < keep:
            kept.setdefault(tuple(sorted((s.segments, s.begin) for s in chosen)), chosen)
    return list(kept.values())


def left_gmm(request: SplitRequest, chosen: tuple[Spot, ...]) -> float:
    """What a combination leaves [g·mm]."""
    return abs(request.target.vector - sum(s.vector for s in chosen))


def brute_force(request: SplitRequest, keep: int = 3) -> tuple[float, list[tuple[Spot, ...]]]:
    """The least residual [g·mm] on the grid, nothing included, and the best of each number of pieces."""
    kept = [c for pieces in range(1, request.max_pieces + 1) for c in best_combinations(request, pieces, keep)]
    return min([abs(request.target.vector), *(left_gmm(request, chosen) for chosen in kept)]), kept


def _apart(chosen: tuple[Spot, ...]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rows and least values: neighbours, last and first too, keep their half arcs between their middles."""
    order = sorted(range(len(chosen)), key=lambda i: chosen[i].middle)
    rows, least = [], []
    for i, j in [*pairwise(order), (order[-1], order[0])]:
        row = np.zeros(len(order))
        row[[i, j]] = -1, 1
        rows.append(row)
        least.append(chosen[i].half + chosen[j].half)
    least[-1] -= TURN
    return np.array(rows), np.array(least)


def polished(request: SplitRequest, chosen: tuple[Spot, ...]) -> float:
    """The same pieces, slid along their stretches to where they leave least [g·mm] (SLSQP)."""
    pulls = np.array([abs(s.vector) for s in chosen])
    scale = max(float(pulls.sum()), abs(request.target.vector), 1.0)

    def residual(angles: NDArray[np.float64]) -> complex:
        return complex(request.target.vector - pulls @ np.exp(1j * angles)) / scale

    def square(angles: NDArray[np.float64], /) -> float:
        return abs(residual(angles)) ** 2

    def slope(angles: NDArray[np.float64], /) -> NDArray[np.float64]:
        left = residual(angles)
        turn = 1j * pulls / scale * np.exp(1j * angles)
        gradient: NDArray[np.float64] = -2 * (left.conjugate() * turn).real
        return gradient

    rows, least = _apart(chosen) if len(chosen) > 1 else (np.zeros((1, 1)), np.zeros(1))
    start = np.array([s.middle for s in chosen])
    bounds = [s.free if s.free[0] <= s.free[1] else (s.middle, s.middle) for s in chosen]
    done = minimize(
        square,
        start,
        jac=slope,
        bounds=bounds,
        constraints=LinearConstraint(rows, least, np.inf),
        method="SLSQP",
        options={"ftol": 1e-16},
    )
    kept_off = bool((rows @ done.x >= least - 1e-12).all())
    inside = all(lo - 1e-12 <= a <= hi + 1e-12 for a, (lo, hi) in zip(done.x, bounds, strict=True))
    return scale * abs(residual(done.x)) if kept_off and inside else np.inf


def faults(request: SplitRequest, split: Split) -> list[str]:
    """All that is wrong with an answer, found without the search: rules broken, or another residual."""
    found, total = [], 0j
    for piece in split.pieces:
        found += _piece_faults(request, piece, _cover_of(request, piece))
        middle = math.radians(piece.angle_deg)
        total += pull_gmm(request.strip, request.land_radius_mm, piece.segments) * complex(np.exp(1j * middle))
    for one, other in combinations(split.pieces, 2):
        apart = abs((one.angle_deg - other.angle_deg + 180) % 360 - 180)
        if math.radians(apart - (one.arc_deg + other.arc_deg) / 2) < -TOUCH_RAD:
            found.append("pieces overlap")
    if len(split.pieces) > request.max_pieces:
        found.append("too many pieces")
    if request.strip.on_hand is not None and sum(p.segments for p in split.pieces) > request.strip.on_hand:
        found.append("more than on hand")
    if abs((total - request.target.vector) - split.residual.vector) > 1e-6:
        found.append(f"residual is {total - request.target.vector}, said {split.residual.vector}")
    return found


def _cover_of(request: SplitRequest, piece: StripPiece) -> Arc:
    """The cover that is called as the piece says: by its only spoke, or by its first and its last, clockwise."""
    for cover in covers(request.spokes):
        names = {s.name for s in request.spokes if (s.start_deg - cover.start_deg + 1e-6) % 360 <= cover.width_deg}
        first, _, last = (piece.window or "").replace(" to ", " and ").partition(" and ")
        if piece.window in names or {first, last} <= names:
            return cover
    raise AssertionError(f"no spoke is called {piece.window}")


def _piece_faults(request: SplitRequest, piece: StripPiece, spoke: Arc) -> list[str]:
    found = []
    if not 1 <= piece.segments <= request.strip.max_segments:
        found.append("segments")
    if not math.isclose(piece.mass_g, piece.segments * request.strip.segment_mass_g):
        found.append("mass")
    if not math.isclose(piece.length_mm, piece.segments * request.strip.segment_length_mm):
        found.append("length")
    if not math.isclose(piece.arc_deg, math.degrees(piece.length_mm / request.land_radius_mm)):
        found.append("arc")
    if not 0 <= piece.angle_deg < 360:
        found.append("angle")
    half, middle = math.radians(piece.arc_deg) / 2, math.radians(piece.angle_deg)
    off = (middle - half - math.radians(spoke.start_deg) + TOUCH_RAD) % TURN - TOUCH_RAD
    if not spoke.endless and off + 2 * half > math.radians(spoke.width_deg) + TOUCH_RAD:
        found.append("outside its window")
    for out in request.keep_out:
        ahead = (math.radians(out.start_deg) - (middle - half)) % TURN
        disc_radius = math.radians(out.width_deg)
        if TOUCH_RAD < ahead < 2 * half - TOUCH_RAD or (ahead + disc_radius > TURN + TOUCH_RAD):
            found.append("touches a keep-out")
    return found
