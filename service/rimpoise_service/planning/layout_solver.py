"""One arrangement made into a layout: its joint choice, its pieces checked afresh, its effort and chance."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from ..messages.message import Message, message
from ..physics.arrays import Floats, Ints
from ..physics.unbalance import Unbalance, wrap_deg
from ..search.blocks import FittedWeight
from ..search.branch_and_bound import WorkBudget
from .arrangements import Arrangement, unmet_wishes
from .branching import proven_gap
from .candidates import CALLED_SPOT, STRIP_LIMIT, PlaceCandidates
from .context import PlanContext
from .effort import LEAST_PROBABILITY, PASSES, EffortParts
from .error_model import layout_probability
from .joint_solver import SUPPOSED, JointSolver
from .layout_problem import LayoutProblem
from .least_ratio import HELPS, least_ratio
from .models import Layout, Piece
from .nodes import Level
from .places import Place
from .sensitivity import most_sensitive
from .tolerance_check import WITHIN
from .verification import PlanFault, agree, unbalance_left, verify

TOUCHING = 2e-7
"""How much free circle between two blocks is none, and what rounding may add to an angle [rad]."""

KEPT_SHARE = 4
"""This part of the work is kept for strips that keep no direction, where they may be tried."""


@dataclass(frozen=True)
class Filling:
    """What the search found: level, blocks and directions [rad]; what is left, in limits.

    probability: to first order; gap: how much less effort [min] another filling might take.
    """

    level: Level
    block: Ints
    angle: Floats
    limit_ratio: float
    gap: float
    probability: float | None = None

    @property
    def spots(self) -> list[tuple[PlaceCandidates, list[int]]]:
        """Blocks that touch, each spot with its place: chosen apart, they may have been pressed together."""
        found: list[tuple[PlaceCandidates, list[int]]] = []
        for k, p in enumerate(self.level.place_of):
            place, blocks = self.level.places[p], self.level.blocks[p]
            if k and p == self.level.place_of[k - 1]:
                needed = blocks.ahead[self.block[k - 1]] + blocks.behind[self.block[k]]
                if self.angle[k] - self.angle[k - 1] - needed < TOUCHING:
                    found[-1][1].append(k)
                    continue
            found.append((place, [k]))
        return found

    @property
    def fit_min(self) -> float:
        """Fitting the weights, marks left out [min]."""
        total = 0.0
        for place, spot in self.spots:
            blocks = self.level.blocks[self.level.place_of[spot[0]]]
            pieces = int(blocks.pieces[self.block[spot]].sum())
            total += place.effort.fitting(pieces, 1, clip_on=place.clip_ons)
        return total

    @property
    def marks_min(self) -> float:
        """Finding and marking the spots whose middle is not the called one [min]."""
        total = 0.0
        for place, spot in self.spots:
            size = self.level.blocks[self.level.place_of[spot[0]]].size[self.block[spot]]
            middle = complex((size * np.exp(1j * (self.angle[spot] - place.towards))).sum())
            total += place.effort.mark_min * (abs(cmath.phase(middle)) > CALLED_SPOT + TOUCHING)
        return total

    def weights(self, direction: Callable[[float], float]) -> list[list[FittedWeight]]:
        """Of each place, in the directions on the wheel of those of the problem [rad], clockwise."""
        found: list[list[FittedWeight]] = [[] for _ in self.level.places]
        for k, p in enumerate(self.level.place_of):
            block_set = self.level.places[p].block_set(self.level.shapes[p])
            units = block_set.units(int(self.block[k]), float(self.angle[k]))
            found[p] += [replace(weight, angle=direction(weight.angle)) for weight in units]
        return [sorted(weights, key=lambda w: wrap_deg(math.degrees(w.angle))) for weights in found]


def solve(
    context: PlanContext,
    arrangement: Arrangement,
    budget: WorkBudget,
    supposed: Sequence[float] = SUPPOSED,
    most: float = 1.0,
    longest: float = math.inf,
) -> Layout | None:
    """The layout of least effort for one arrangement, within so much work; None if nothing passes so often.

    supposed: how often it is supposed to pass, one after the other; most: nothing passes more often; longest: what
    takes longer isn't wanted [min]. Raises verification.PlanFault if its pieces fail the check.
    """
    problem = LayoutProblem(context, arrangement, most)
    kept = budget.left // KEPT_SHARE if problem.has_windows else 0
    first = WorkBudget(budget.left - kept)
    solver = problem.solver(first)
    solver.solve(supposed, longest)
    budget.left = first.left + kept
    if problem.has_windows and (solver.best is None or solver.best.probability < PASSES):
        freer = problem.solver(budget, any_direction=True)
        freer.solve(supposed, longest)
        if freer.best is not None and (solver.best is None or freer.best.effort < solver.best.effort):
            solver = freer
    else:
        budget.exhausted = first.exhausted
    filling = found_filling(solver) if solver.best and solver.best.effort <= longest else None
    return None if filling is None else _layout(problem, filling)


def solve_least_bad(context: PlanContext, arrangement: Arrangement, budget: WorkBudget) -> Layout | None:
    """The layout that leaves the least share of the limits; None if nothing leaves less than no weight at all."""
    problem = LayoutProblem(context, arrangement)
    found = least_ratio(problem.solver(budget))
    if found is None:
        return None
    return _layout(problem, Filling(found.level, found.block, found.angle, found.ratio * WITHIN, math.inf))


def found_filling(solver: JointSolver) -> Filling | None:
    """The filling of least effort, if it passes once in a hundred times and leaves less than before."""
    best = solver.best
    if best is None:
        return None
    left = best.level.left(best.block[None], best.angle[None])
    ratio = float(solver.judged.ratios(left).max())
    if ratio >= (1 - HELPS) * float(solver.judged.ratios(solver.judged.before).max()):
        return None
    gap = best.effort - solver.least_possible
    return Filling(best.level, best.block, best.angle, ratio * WITHIN, gap, best.probability)


def _layout(problem: LayoutProblem, filling: Filling) -> Layout:
    context, arrangement, evaluator = problem.context, problem.arrangement, problem.context.evaluator
    weights = filling.weights(problem.direction)
    pairs = zip(arrangement.places, weights, strict=True)
    pieces = tuple(_piece(place, weight) for place, of_place in pairs for weight in of_place)
    left, ratio = _checked(context, arrangement, filling, pieces)
    wishes = unmet_wishes(context.request.preferences, [(p.place, p.hidden) for p in pieces])
    p = layout_probability(context, evaluator, problem.required, pieces, filling.probability)
    reported = (
        p
        if context.reporter == evaluator
        else layout_probability(context, context.reporter, problem.required, pieces)
    )
    parts = _parts(problem, filling, p, len(wishes), sum(piece.mass_g for piece in pieces))
    residual = evaluator.residual(left)
    return Layout(
        named=arrangement.named,
        required=problem.required,
        pieces=pieces,
        residual=residual,
        within_acceptance=evaluator.accepts(ratio),
        limit_ratio=ratio,
        largest_residual_g=evaluator.largest_g(residual),
        probability=p,
        pass_chance_pct=100 * reported,
        effort_parts=parts,
        least_possible_min=max(parts.total - filling.gap, 0.0),
        proven_optimal=filling.gap <= proven_gap(parts.total),
        price=_price([w for of_place in weights for w in of_place]),
        unmet_wishes=len(wishes),
        notes=(*wishes, *_notes(problem, filling, pieces)),
        sensitivity=most_sensitive(left, [piece.unbalance for piece in pieces], evaluator),
    )


def _parts(problem: LayoutProblem, filling: Filling, p: float, wishes: int, mass_g: float) -> EffortParts:
    effort, p = problem.context.effort, max(p, LEAST_PROBABILITY)
    fit, marks = filling.fit_min, filling.marks_min
    beyond = max(mass_g - problem.asked_g, 0.0)
    return EffortParts(
        fit_min=fit,
        marks_min=marks,
        failing_min=(1 - p) * (fit + marks + effort.respin_min) / p,
        wishes_min=wishes * effort.wish_min,
        excess_min=beyond * effort.excess_min_per_g + problem.geometry_g * effort.geometry_min_per_g,
    )


def _notes(problem: LayoutProblem, filling: Filling, pieces: Sequence[Piece]) -> list[Message]:
    """What is unusual about the pieces; where next to nothing is called no spot is."""
    called = zip(problem.required, filling.level.places, strict=True)
    towards = {v.plane.name: v.angle_deg for v, place in called if place.has_direction}
    far = [
        p
        for p in pieces
        if p.style == "adhesive"
        and p.place in towards
        and abs(math.remainder(p.angle_deg - towards[p.place], 360.0)) > math.degrees(STRIP_LIMIT) + 1e-6
    ]
    return [message("strip_far_from_correction", place=p.place, angle_deg=p.angle_deg) for p in far]


def _checked(
    context: PlanContext, arrangement: Arrangement, filling: Filling, pieces: Sequence[Piece]
) -> tuple[Unbalance, float]:
    """What the pieces leave, and its largest share of a limit.

    Raises verification.PlanFault if the check faults them or the search.
    """
    verify(context.request, pieces)
    left = unbalance_left(context.request, pieces)
    ratio = context.evaluator.limit_ratio(left)
    if not agree(ratio, filling.limit_ratio, context.unbalance, pieces, context.evaluator):
        raise PlanFault(
            f"{arrangement.named.text}: the search leaves {filling.limit_ratio} of the limits, the check {ratio}"
        )
    return left, ratio


def _piece(place: Place, weight: FittedWeight) -> Piece:
    angle, arc = wrap_deg(math.degrees(weight.angle)), math.degrees(2 * weight.half_arc)
    return Piece(
        place=place.name,
        side=place.side,
        style=place.style,
        sku=weight.item.sku,
        label=weight.item.label,
        material=weight.item.material,
        mass_g=weight.mass_g,
        segments=weight.segments,
        position_mm=place.position_mm,
        radius_mm=weight.radius_mm,
        effective_gmm=weight.size,
        angle_deg=angle,
        window=weight.window,
        arc_deg=arc,
        length_mm=weight.length_mm,
        hidden=place.hides(angle, arc),
        location=weight.item.location,
    )


def _price(weights: Sequence[FittedWeight]) -> Decimal | None:
    """The sum of all unit prices; None if any is missing."""
    total = Decimal(0)
    for weight in weights:
        if weight.item.unit_price is None:
            return None
        total += weight.item.unit_price * (weight.segments or 1)
    return total
