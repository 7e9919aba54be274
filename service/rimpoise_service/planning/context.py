"""What a plan is made from, prepared once: unbalance, places, judged planes and limits, errors, costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..messages.message import Message, message
from ..model.geometry import flange_planes
from ..model.wheel import SIDES, Wheel
from ..physics.planes import MIN_PLANE_DISTANCE_MM, Plane, PlaneVector, correct
from ..physics.readings import Reading, Static, reading_planes, unbalance_of
from ..physics.unbalance import Unbalance
from .acceptance import Criterion, mean_radius_mm
from .arrangements import arrangements
from .effort import Effort, tyre_turn_min
from .models import PlanRequest
from .places import AvailablePlaces, Place, PlaceFinder
from .spread import Spread
from .tolerance_check import Residual, ToleranceEvaluator
from .vehicle_marks import VehicleMarks, marks_of, usual_acceptance


@dataclass(frozen=True)
class PlanContext:
    """One request, made ready.

    read: judges the reading; evaluator: judges layouts, statically where only one plane is to be had
    (``one_plane``) and the static sum is over its limit; reporter: judges the chance that is reported, statically
    where the reading is. spins: that the reading is a mean of; step_g: of its display [g]. called: the exact
    correction at the flanges and the rim radius, or at the reading's own planes where the rim is not known
    (``called_at_flanges``); derived: what was worked out.
    """

    request: PlanRequest
    marks: VehicleMarks
    acceptance: Criterion
    spread: Spread
    effort: Effort
    unbalance: Unbalance
    seen: AvailablePlaces
    spins: int
    step_g: float
    read: ToleranceEvaluator
    evaluator: ToleranceEvaluator
    reporter: ToleranceEvaluator
    called: tuple[PlaneVector, ...]
    called_at_flanges: bool
    one_plane: bool
    derived: tuple[Message, ...]

    @property
    def before(self) -> Residual:
        """The wheel as it was read."""
        return self.evaluator.residual(self.unbalance)

    @property
    def called_g(self) -> float:
        """What is called for in all [g]; of a static reading its static size."""
        return self.static_g if self.static_reading else sum(v.mass_g for v in self.called)

    @property
    def static_g(self) -> float:
        """The static sum of what is called for [g]."""
        return abs(self.unbalance.static) / mean_radius_mm([v.plane for v in self.called])

    @property
    def static_reading(self) -> bool:
        """Whether the reading says nothing of a couple."""
        return isinstance(self.request.reading, Static)

    @property
    def static_reported(self) -> bool:
        """Whether layouts are judged in two planes, and the chance that is told is that of a static check spin."""
        return self.static_reading and not self.evaluator.static_only


def defaults(request: PlanRequest) -> tuple[VehicleMarks, Criterion, Spread, Effort]:
    """The marks of the class, and what the request leaves open, filled in."""
    marks = marks_of(request.wheel)
    machine = marks.machine_sd_g if request.spread.machine_sd_g is None else request.spread.machine_sd_g
    turn = tyre_turn_min(request.effort, request.wheel.vehicle_class, request.acceptance)
    return (
        marks,
        request.acceptance or usual_acceptance(request.wheel, request.stock, request.dialect),
        replace(request.spread, machine_sd_g=machine),
        replace(request.effort, tyre_turn_min=turn),
    )


def prepare(request: PlanRequest, look: PlaceFinder) -> PlanContext | AvailablePlaces:
    """Make a request ready; where the wheel has no plane to judge in, only the places that were looked at."""
    marks, acceptance, spread, effort = defaults(request)
    seen = look(request.wheel, request.stock, request.preferences)
    static = isinstance(request.reading, Static)
    alone = request.preferences.correction == "static" or (static and request.wheel.vehicle_class == "motorcycle")
    planes, derived = judged_planes(request.reading, request.wheel, seen.places)
    if static and alone:
        planes, derived = reading_planes(request.reading), ()
    if not planes:
        return seen
    read = ToleranceEvaluator.at(planes, acceptance, static_only=alone)
    pairs, _ = arrangements(seen.places, static=False)
    one_plane = not any(a.way == "two_planes" for a in pairs)
    unbalance = unbalance_of(request.reading)
    evaluator = replace(read, static_only=True) if one_plane and seen.places else read
    if evaluator.static_only and not alone and evaluator.accepts(evaluator.limit_ratio(unbalance)):
        # Statically there is nothing to correct. What a piece leaves in the planes decides; more would cancel out.
        evaluator, seen = read, replace(seen, places=tuple(place.for_one_piece for place in seen.places))
    flanges, _ = flange_planes(request.wheel)
    return PlanContext(
        request=request,
        marks=marks,
        acceptance=acceptance,
        spread=spread,
        effort=effort,
        unbalance=unbalance,
        seen=seen,
        spins=request.reading.spins,
        step_g=request.reading.step_g,
        read=read,
        evaluator=evaluator,
        reporter=replace(evaluator, static_only=True) if static else evaluator,
        called=correct(unbalance, flanges or planes),
        called_at_flanges=bool(flanges),
        one_plane=one_plane and bool(seen.places),
        derived=derived,
    )


def as_spun(context: PlanContext) -> PlanContext:
    """The same wheel as it was spun: old weights that are on stay on."""
    reading = replace(context.request.reading, old_weights=())
    unbalance = unbalance_of(reading)
    return replace(
        context,
        request=replace(context.request, reading=reading),
        unbalance=unbalance,
        called=correct(unbalance, [v.plane for v in context.called]),
    )


def judged_planes(
    reading: Reading, wheel: Wheel, places: Sequence[Place]
) -> tuple[tuple[Plane, ...], tuple[Message, ...]]:
    """The planes the check spin is read in: the reading's own two; else the flanges; else the outermost places.

    A static reading of a wheel with one plane is judged in its own. None at all without any place.
    """
    own = reading_planes(reading)
    if len(own) == 2:
        return own, ()
    flanges, derived = flange_planes(wheel)
    by_position = sorted(places, key=lambda p: p.position_mm)
    apart = by_position and by_position[-1].position_mm - by_position[0].position_mm >= MIN_PLANE_DISTANCE_MM
    if own and not (apart or flanges):
        return own, ()
    if flanges:
        return flanges, (message("judged_at_flanges"), *derived)
    if not by_position:
        return (), ()
    inner, outer = by_position[0], by_position[-1]
    if not apart:
        return (Plane("static", inner.position_mm, inner.radius_mm),), (message("judged_statically"),)
    ends = zip(SIDES, (inner, outer), strict=True)
    return tuple(Plane(side, p.position_mm, p.radius_mm) for side, p in ends), (message("judged_at_places"),)
