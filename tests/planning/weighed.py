"""A layout's pieces weighed again, from their masses and angles alone."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rimpoise_service.planning.models import Layout, Piece
from tests.planning.own_problem import CALLED_SPOT, DEG, OwnProblem


@dataclass(frozen=True)
class Weighed:
    """A layout's pieces weighed again: effort [min] with the linear probability, and with the reported one.

    admitted: nothing judged is both outside its limit and worse than before.
    """

    effort: float
    probability: float
    reported_effort: float
    reported: float
    handling: float
    cost: float
    admitted: bool


def weigh(problem: OwnProblem, layout: Layout) -> Weighed:
    """The pieces of a layout; every piece is a body, what touches is a spot."""
    order = [p.name for p in problem.places]
    spots = [spot for name in order for spot in _spots([p for p in layout.pieces if p.place == name])]
    pieces = [p for spot in spots for p in spot]
    place_of = [order.index(p.place) for p in pieces]
    called = {v.plane.name: v.angle_deg * DEG for v in layout.required}
    angle = np.array([p.angle_deg * DEG - called[p.place] for p in pieces])
    parts = np.array([[complex(p.mass_g * p.radius_mm * _share(p.arc_deg * DEG))] for p in pieces])
    chance = float(problem.pass_probability(place_of, parts[None], angle[None], fine=True)[0])
    reported = problem.reported_probability(place_of, parts, angle)
    handling = sum(_minutes(problem, spot, called[spot[0].place]) for spot in spots)
    beyond = max(sum(p.mass_g for p in pieces) - problem.asked_g, 0.0) * problem.effort.excess_min_per_g
    cost = problem.penalty + beyond
    efforts = (problem.expected(handling, p, cost) for p in (chance, reported))
    vectors = parts.sum(axis=1) * np.exp(1j * (angle + problem.towards(place_of)))
    seen = np.abs(problem.seen(problem.left(place_of, vectors)))
    admitted = bool((seen <= problem.ceilings * (1 + 1e-9)).all())
    return Weighed(next(efforts), chance, next(efforts), reported, handling, cost, admitted)


def _share(arc: float) -> float:
    return math.sin(arc / 2) / (arc / 2) if arc else 1.0


def _spots(pieces: Sequence[Piece]) -> list[list[Piece]]:
    """Pieces that touch together, clockwise."""
    spots: list[list[Piece]] = []
    for p in sorted(pieces, key=lambda p: p.angle_deg):
        if spots and _gap_deg(spots[-1][-1], p) < 1e-5:
            spots[-1].append(p)
        else:
            spots.append([p])
    if len(spots) > 1 and _gap_deg(spots[-1][-1], spots[0][0]) < 1e-5:
        spots[0] = spots.pop() + spots[0]
    return spots


def _gap_deg(one: Piece, other: Piece) -> float:
    return (other.angle_deg - one.angle_deg) % 360.0 - (one.arc_deg + other.arc_deg) / 2


def _minutes(problem: OwnProblem, spot: Sequence[Piece], called: float) -> float:
    """Fitting one spot, and its mark if its joint vector does not point to what is called."""
    per = problem.effort
    vector = sum(
        p.mass_g * p.radius_mm * _share(p.arc_deg * DEG) * cmath.exp(1j * p.angle_deg * DEG) for p in spot
    )
    off = abs(math.remainder(cmath.phase(vector) - called, 2 * math.pi))
    clip = spot[0].style == "clip_on"
    fit = len(spot) * per.clip_on_min if clip else len(spot) * per.strip_min + per.clean_min
    return fit + per.mark_min * (off > CALLED_SPOT + 1e-7)
