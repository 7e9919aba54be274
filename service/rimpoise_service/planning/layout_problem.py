"""One arrangement as the joint solver sees it: what is judged, what each place asks for, and what it costs."""

from __future__ import annotations

import cmath
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..model.stock import ClipOn, Strip
from ..search.branch_and_bound import WorkBudget
from .arrangements import Arrangement, unmet_wishes
from .candidates import ROUNDING_RAD, SAME_DECIMALS, PlaceCandidates
from .context import PlanContext
from .error_model import frame_of, judged_residual, place_errors
from .joint_solver import JointSolver
from .places import Place


class LayoutProblem:
    """One arrangement as the joint solver sees it: turned so that its larger correction points to 0, then mirrored
    so that what else has a direction is clockwise of it. So a turned or mirrored wheel is the same problem.
    """

    def __init__(self, context: PlanContext, arrangement: Arrangement, most: float = 1.0) -> None:
        self.context, self.arrangement, self.most = context, arrangement, most
        self.required = arrangement.required(context.unbalance)
        self.frame = frame_of(self.required)
        self.scarce = _scarce(arrangement.places)
        turn = cmath.exp(-1j * self.frame)
        judged = judged_residual(context, context.evaluator, turn)
        vectors = [*(v.vector * turn for v in self.required), *judged.before.tolist()]
        self.mirrored = _is_counterclockwise(vectors, arrangement.places, self.frame)
        self.judged = replace(judged, before=judged.before.conj()) if self.mirrored else judged

    def direction(self, angle: float) -> float:
        """The direction on the wheel of one in this problem [rad]."""
        return self.frame - angle if self.mirrored else self.frame + angle

    @property
    def has_windows(self) -> bool:
        """Whether strips go into windows, where they may have to keep no direction."""
        return any(_has_windows(place) for place in self.arrangement.places)

    @property
    def asked_g(self) -> float:
        """What this arrangement's places ask for [g]."""
        return sum(v.mass_g for v in self.required)

    @property
    def geometry_g(self) -> float:
        """How much more that is than the flanges would ask for [g]."""
        return max(self.asked_g - sum(v.mass_g for v in self.context.called), 0.0)

    def solver(self, budget: WorkBudget, *, any_direction: bool = False) -> JointSolver:
        """The joint choice; ``any_direction``: strips in windows need keep none."""
        context, turn = self.context, cmath.exp(-1j * self.frame)
        effort = context.effort
        places = [
            PlaceCandidates(
                circle=place.circle,
                required=(v.vector * turn).conjugate() if self.mirrored else v.vector * turn,
                clip_ons=place.style == "clip_on",
                errors=place_errors(
                    context, context.evaluator, place.position_mm, clip_on=place.style == "clip_on"
                ),
                effort=effort,
                frame=self.frame,
                mirrored=self.mirrored,
                scarce=tuple(item.sku for item in self.scarce),
                keeps_direction=self.arrangement.way == "halves",
                any_direction=any_direction and _has_windows(place),
            )
            for place, v in zip(self.arrangement.places, self.required, strict=True)
        ]
        wishes = unmet_wishes(context.request.preferences, self.arrangement.used)
        return JointSolver(
            self.judged,
            places,
            effort,
            budget,
            penalty=len(wishes) * effort.wish_min + self.geometry_g * effort.geometry_min_per_g,
            asked_g=self.asked_g,
            on_hand=np.array([item.on_hand for item in self.scarce], dtype=np.intp),
            most=self.most,
        )


def _is_counterclockwise(vectors: Sequence[complex], places: Sequence[Place], frame: float) -> bool:
    """Whether the first vector off the frame's direction, else the nearest end of a free arc, is on that side."""
    for v in vectors:
        if abs(v.imag) > ROUNDING_RAD * abs(v):
            return v.imag < 0
    for place in places:
        ends = [
            e
            for arc in place.circle.arcs
            if not arc.endless
            for e in (arc.start_deg, arc.start_deg + arc.width_deg)
        ]
        off = {round(math.remainder(math.radians(e) - frame, 2 * math.pi), SAME_DECIMALS) for e in ends}
        if odd := [x for x in off if -x not in off]:
            return min(odd, key=abs) < 0
    return False


def _has_windows(place: Place) -> bool:
    """Whether strips go into windows there."""
    return place.style == "adhesive" and not all(arc.endless for arc in place.circle.arcs)


def _scarce(places: Sequence[Place]) -> list[ClipOn | Strip]:
    """The shelves that these places could empty: more pieces, or segments, fit there than are on hand."""
    items, most = dict[str, ClipOn | Strip](), Counter[str]()
    for place in places:
        for item in place.items:
            items.setdefault(item.sku, item)
            most[item.sku] += place.max_pieces * (item.max_segments if isinstance(item, Strip) else 1)
    return [item for sku, item in items.items() if item.on_hand is not None and item.on_hand < most[sku]]
