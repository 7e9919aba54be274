"""Is it worth turning the tyre on its rim? Three states, weighed: as first read, as it is now, at the best turn.

The turn pays when, whole stock masses on either side, it saves at least the mass that the caller finds worth the
work, and when the exact saving is over twice its own standard deviation. That is found by putting every error of
both readings, and that of the turn between them, one standard deviation out in either direction: half the
difference is the part of first order, what both have in common that of second, which counts where little is left.
The parts add up as squares. Turning to the best place a little wrong costs nothing to first order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from ..messages.message import Message, message
from ..model.stock import BUILTIN, Stock
from ..model.wheel import Wheel
from ..physics.arrays import Complexes
from ..physics.planes import Plane, PlaneVector, correct
from ..physics.readings import Reading, shown_variance, unbalance_of
from ..physics.tyre_rotation import Parts, best_turn_deg, error_factor, parts
from ..physics.unbalance import Unbalance, polar, wrap_deg
from ..planning.acceptance import Acceptance, Criterion, assumptions, doubts
from ..planning.advice import cautions
from ..planning.correction import reading_warnings
from ..planning.effort import Effort, tyre_turn_min
from ..planning.rounding import round_to_stock
from ..planning.spread import MACHINE_SD_G, Spread
from ..planning.tolerance_check import Residual, ToleranceEvaluator
from .bead_work import bead_cautions, turn_values
from .spin_comparison import planes_compared

RotationVerdict = Literal["pays", "does_not_pay", "uncertain"]
HANDS = Spread()

WORTH_G_PER_MIN = 2.5
"""Weight that a turn has to save for each minute that it takes [g/min]: 20 g for 8 min; common practice, no
source."""

SURE_SD = 2.0
"""A saving is sure when it is so many times its own standard deviation."""

AMPLIFIES = 2.0
"""From this error factor on the turn between the readings was small, which is reported. It is a turn under 41°."""


@dataclass(frozen=True, slots=True)
class TyreRotationRequest:
    """Two readings and the turn of the tyre between them [deg], clockwise seen from outboard.

    machine_sd_g [g] per spin, plane and component, turn_sd_deg [deg]: how far spins and turn stray. worth_g [g]:
    what a turn has to save, by default so much for each minute of effort. wheel: for its class and sensor.
    planes: where weights go, if the readings name none. doubts: what is unlikely of them.
    """

    readings: tuple[Reading, Reading]
    turn_deg: float
    stock: Stock = BUILTIN["metric"]
    acceptance: Criterion = field(default_factory=Acceptance)
    machine_sd_g: float = MACHINE_SD_G
    turn_sd_deg: float = HANDS.angle_sd_deg
    worth_g: float | None = None
    effort: Effort = field(default_factory=Effort)
    wheel: Wheel | None = None
    planes: tuple[Plane, ...] = ()
    doubts: tuple[Message, ...] = ()

    @property
    def reading_sds_g(self) -> tuple[float, float]:
        """How far each reading strays [g]: less as a mean of several spins, more from a display in steps."""
        first, now = (math.sqrt(shown_variance(self.machine_sd_g, r.step_g, r.spins)) for r in self.readings)
        return first, now

    @property
    def turn_min(self) -> float:
        """What turning the tyre takes [min]."""
        return tyre_turn_min(self.effort, self.wheel.vehicle_class if self.wheel else None, self.acceptance)

    @property
    def has_to_save_g(self) -> float:
        """The weight that makes it worth the work [g]."""
        return WORTH_G_PER_MIN * self.turn_min if self.worth_g is None else self.worth_g


@dataclass(frozen=True, slots=True)
class Part:
    """The tyre's or the rim's share in a plane, heavy side, and its standard deviation [g] per component."""

    vector: PlaneVector
    sd_g: float


@dataclass(frozen=True, slots=True)
class State:
    """The wheel with the tyre at a turn [deg], from the first reading and from now.

    exact_g: the weights it takes, to the gram; weights: whole stock masses for them; leaves: what those leave.
    """

    turn_deg: float
    from_now_deg: float
    bare: Residual
    exact_g: float
    weights: tuple[PlaneVector, ...]
    leaves: Residual
    within_acceptance: bool

    @property
    def stock_g(self) -> float:
        """The stock masses together [g]."""
        return sum(w.mass_g for w in self.weights)


@dataclass(frozen=True, slots=True)
class TyreRotation:
    """Tyre and rim, the three states, whether the turn pays, and what it saves [g], with its deviation [g]."""

    verdict: RotationVerdict
    tyre: tuple[Part, ...]
    rim: tuple[Part, ...]
    first: State
    now: State
    best: State
    saving_g: float
    exact_saving_g: float
    saving_sd_g: float
    worth_g: float
    turn_min: float
    acceptance: Criterion
    evaluator: ToleranceEvaluator
    next_steps: tuple[Message, ...]
    warnings: tuple[Message, ...]
    cautions: tuple[Message, ...]


def evaluate_rotation(request: TyreRotationRequest) -> TyreRotation:
    """From two readings to the best turn and what it saves. Raises TurnTooSmall, PlanesTooClose."""
    planes = planes_compared(*request.readings, request.planes)
    first, now = (_heavy_sides(reading, planes) for reading in request.readings)
    found = parts(first, now, request.turn_deg)
    evaluator = ToleranceEvaluator.at(planes, request.acceptance, static_only=False)
    turns = (0.0, wrap_deg(request.turn_deg), best_turn_deg(found))
    states = [_state(request, evaluator, found.at(turn), turn) for turn in turns]
    exact_saving = states[1].exact_g - states[2].exact_g
    saving = states[1].stock_g - states[2].stock_g
    saving_sd = _saving_sd_g(request, found, turns[2])
    verdict = _verdict(request, saving, exact_saving, saving_sd)
    tyre, rim = (_with_errors(request, found, part) for part in (found.tyre, found.rim))
    return TyreRotation(
        verdict,
        tyre,
        rim,
        first=states[0],
        now=states[1],
        best=states[2],
        saving_g=saving,
        exact_saving_g=exact_saving,
        saving_sd_g=saving_sd,
        worth_g=request.has_to_save_g,
        turn_min=request.turn_min,
        acceptance=request.acceptance,
        evaluator=evaluator,
        next_steps=(*_of_the_rim(request, tyre, rim), *_next_steps(request, verdict, states[2])),
        warnings=_warnings(request, planes),
        cautions=_cautions(request, verdict),
    )


def _heavy_sides(reading: Reading, planes: Sequence[Plane]) -> tuple[PlaneVector, ...]:
    """The heavy side of a reading in each plane: the opposite of its correction there."""
    return tuple(PlaneVector(c.plane, -c.vector) for c in correct(unbalance_of(reading), planes))


def _state(
    request: TyreRotationRequest, evaluator: ToleranceEvaluator, heavy: Sequence[PlaneVector], turn_deg: float
) -> State:
    weights = tuple(_stock_weight(v, request.stock) for v in heavy)
    bare, left = _sum(heavy), _sum([*heavy, *weights])
    return State(
        turn_deg,
        wrap_deg(turn_deg - request.turn_deg),
        evaluator.residual(bare),
        sum(v.mass_g for v in heavy),
        weights,
        evaluator.residual(left),
        evaluator.accepts(evaluator.limit_ratio(left)),
    )


def _sum(vectors: Sequence[PlaneVector]) -> Unbalance:
    return sum((Unbalance.at(v.plane.position_mm, v.vector) for v in vectors), Unbalance())


def _single_masses(stock: Stock) -> tuple[float, ...]:
    """What one weight can have [g]: clip-ons, and strips of every length."""
    clips = (c.mass_g for c in stock.clip_ons if c.on_hand != 0)
    strips = ((s.segment_mass_g, s.max_segments) for s in stock.strips if s.on_hand != 0)
    return (*clips, *(mass * n for mass, most in strips for n in range(1, most + 1)))


def _stock_weight(heavy: PlaneVector, stock: Stock) -> PlaneVector:
    """The nearest stock mass opposite the heavy side; beyond the heaviest, several of those and one more."""
    single, needed = _single_masses(stock), PlaneVector(heavy.plane, -heavy.vector)
    if not single:
        return needed
    whole = max(single) * (needed.mass_g // max(single))
    masses = [whole + m for m in (0.0, *single)]
    return round_to_stock([needed], masses, "nearest", math.inf).weights[0]


def _with_errors(request: TyreRotationRequest, found: Parts, part: Sequence[PlaneVector]) -> tuple[Part, ...]:
    """The mean of the readings' errors through the factor, and what a wrong turn adds: |T| ε / |e^{iφ} − 1|."""
    factor = error_factor(request.turn_deg)
    sd_g = math.hypot(*request.reading_sds_g) / math.sqrt(2)
    turn = math.radians(request.turn_sd_deg) * factor / math.sqrt(2)
    return tuple(
        Part(v, math.hypot(sd_g * factor, t.mass_g * turn)) for v, t in zip(part, found.tyre, strict=True)
    )


def _saving_sd_g(request: TyreRotationRequest, found: Parts, best_deg: float) -> float:
    """The standard deviation of the exact saving [g], as in the head of this file."""
    radii = np.array([v.plane.radius_mm for v in found.rim])
    rim, tyre = (np.array([v.vector for v in part]) / radii for part in (found.rim, found.tyre))
    turn, share = polar(1, request.turn_deg), found.weight_of_second(best_deg)
    first, now = rim + tyre, rim + tyre * turn

    def saved(of_first: Complexes, of_now: Complexes, out_rad: float = 0.0) -> float:
        """The reported saving less what is truly there now: a tyre a little further on does not change it."""
        truly = rim + tyre * turn * np.exp(1j * out_rad)
        left = (1 - share) * (first + of_first) + share * (truly + of_now)
        return float(np.sum(np.abs(truly + of_now) - np.abs(truly) - np.abs(left)))

    none, planes = np.zeros_like(now), np.eye(len(radii), dtype=complex)
    of_first, of_now = ([*(sd_g * planes), *(1j * sd_g * planes)] for sd_g in request.reading_sds_g)
    pairs = [(saved(e, none), saved(-e, none)) for e in of_first]
    pairs += [(saved(none, e), saved(none, -e)) for e in of_now]
    out = math.radians(request.turn_sd_deg)
    pairs.append((saved(none, none, out), saved(none, none, -out)))
    zero = saved(none, none)
    return math.sqrt(sum((up - down) ** 2 / 4 + (up + down - 2 * zero) ** 2 / 2 for up, down in pairs))


def _verdict(
    request: TyreRotationRequest, saving_g: float, exact_saving_g: float, saving_sd_g: float
) -> RotationVerdict:
    if saving_g < request.has_to_save_g:
        return "does_not_pay"
    return "pays" if exact_saving_g > SURE_SD * saving_sd_g else "uncertain"


def _of_the_rim(request: TyreRotationRequest, tyre: Sequence[Part], rim: Sequence[Part]) -> tuple[Message, ...]:
    """A rim that is surely worse than the tyre, and by itself enough to be worth work: it is measured first."""
    rim_g, tyre_g = (sum(p.vector.mass_g for p in part) for part in (rim, tyre))
    sd_g = math.hypot(*(p.sd_g for p in (*rim, *tyre)))
    if rim_g < request.has_to_save_g or rim_g - tyre_g <= SURE_SD * sd_g:
        return ()
    asks = {"operation": "/v1/run-outs", "send": ("traces",)}
    return (message("measure_rim_run_out", rim_g=rim_g, tyre_g=tyre_g, **asks),)


def _next_steps(request: TyreRotationRequest, verdict: RotationVerdict, best: State) -> tuple[Message, ...]:
    if verdict == "does_not_pay":
        return (message("leave_tyre", worth_g=request.has_to_save_g, turn_min=request.turn_min),)
    first = (message("turn_again_larger"),) if verdict == "uncertain" else ()
    return (*first, message("turn_tyre", **turn_values(best.from_now_deg, request.turn_min)))


def _warnings(request: TyreRotationRequest, planes: Sequence[Plane]) -> tuple[Message, ...]:
    found = [*request.doubts, *(w for reading in request.readings for w in reading_warnings(reading))]
    found += [*assumptions(request.acceptance, planes), *doubts(request.acceptance, planes)]
    factor = error_factor(request.turn_deg)
    if factor > AMPLIFIES:
        found.append(message("small_turn", turn_deg=request.turn_deg, factor=factor))
    if not _single_masses(request.stock):
        found.append(message("stock_empty"))
    return tuple(found)


def _cautions(request: TyreRotationRequest, verdict: RotationVerdict) -> tuple[Message, ...]:
    """The usual ones, and what bead work asks for."""
    usual = cautions(fitting=True, lead=False, old_weights=False)
    return usual if verdict == "does_not_pay" else (*bead_cautions(request.wheel), *usual)
