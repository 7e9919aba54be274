"""The vehicle: its wheels planned, their check spins judged, and whether it may leave.

It is released when no wheel has a finding, the last reading of each road wheel is within its limits, and each road
wheel's torque was set and looked at a second time. Where the plan promised a static check spin the static sum
alone counts; elsewhere a static one shows too little. A spare is only looked at for findings. The re-check after
the first drive stays due on the sheet: it can't be done before the vehicle leaves.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Literal

from ..diagnosis.check_spin import CheckSpin, explain
from ..diagnosis.fitted_piece import FittedPiece
from ..diagnosis.spin_comparison import CheckSpinRequest
from ..messages.message import Message, message
from ..model.stock import ClipOn, Stock, Strip
from ..physics.readings import Reading, Static
from ..planning.advice import AdvisedPlan, advise
from ..planning.models import Decision, Piece, PlanRequest
from .invoice_models import ChargedPiece, JobWheel

WheelVerdict = Literal["released", "open"]

SPARE = "spare"


@dataclass(frozen=True, slots=True)
class VehicleDetails:
    """Whose wheels they are; odometer_km [km]."""

    plate: str | None = None
    vin: str | None = None
    odometer_km: int | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True)
class Torque:
    """The torque that nuts or bolts were set to [N·m], and whether all were gone over a second time."""

    torque_nm: float
    second_pass: bool


@dataclass(frozen=True, slots=True)
class WheelCheckSpin:
    """The check spin after the pieces in fitted went on; None: those that were recommended."""

    after: Reading
    fitted: tuple[FittedPiece, ...] | None = None


@dataclass(frozen=True, slots=True)
class VehicleWheel:
    """A wheel of the vehicle, where it goes, its plan, and what was done.

    doubts: what is unlikely of the check spin's reading.
    """

    position: str
    plan: PlanRequest
    check_spin: WheelCheckSpin | None = None
    torque: Torque | None = None
    fitted_by: str | None = None
    doubts: tuple[Message, ...] = ()


@dataclass(frozen=True, slots=True)
class VehicleRequest:
    """A vehicle and its wheels."""

    wheels: tuple[VehicleWheel, ...]
    vehicle_details: VehicleDetails = VehicleDetails()


@dataclass(frozen=True, slots=True)
class FinishedWheel:
    """A wheel with its plan, what its check spin showed, and what is open; pieces: what is on it."""

    request: VehicleWheel
    advice: AdvisedPlan
    check: CheckSpin | None
    pieces: tuple[FittedPiece, ...]
    open: tuple[Message, ...]

    @property
    def verdict(self) -> WheelVerdict:
        """Whether anything is open."""
        return "open" if self.open else "released"


@dataclass(frozen=True, slots=True)
class Vehicle:
    """Whether the vehicle may leave, why not, its wheels, and what a charges request takes."""

    request: VehicleRequest
    wheels: tuple[FinishedWheel, ...]
    charges_wheels: tuple[JobWheel, ...]
    cautions: tuple[Message, ...]
    warnings: tuple[Message, ...]

    @property
    def reasons(self) -> tuple[Message, ...]:
        """All that is open, wheel by wheel."""
        return tuple(m for wheel in self.wheels for m in wheel.open)

    @property
    def released(self) -> bool:
        """Whether nothing is open."""
        return not self.reasons


def finish_vehicle(request: VehicleRequest) -> Vehicle:
    """Plan every wheel, judge its check spin, and say what is open. Raises planning.verification.PlanFault."""
    wheels = tuple(_finished(wheel) for wheel in request.wheels)
    cautions = {c.code: c for wheel in wheels for c in wheel.advice.cautions}
    return Vehicle(
        request,
        wheels,
        tuple(_charged(wheel) for wheel in wheels if _was_balanced(wheel)),
        tuple(cautions.values()),
        (*_warnings(wheels), *_short(wheels)),
    )


CHARGED = (Decision.FIT, Decision.BEST_EFFORT, Decision.ALREADY_WITHIN)


def _was_balanced(wheel: FinishedWheel) -> bool:
    """Whether there is work to charge; a wheel that asked for a cause first has some once it was spun again."""
    decision = wheel.advice.plan.decision
    return decision in CHARGED or (wheel.check is not None and decision is not Decision.REPAIR_FIRST)


def _finished(wheel: VehicleWheel) -> FinishedWheel:
    advice = advise(wheel.plan)
    recommended = advice.plan.recommended.pieces if advice.plan.recommended else ()
    spin = wheel.check_spin
    if spin is None:
        return FinishedWheel(wheel, advice, None, (), tuple(_open(wheel, advice, None)))
    pieces = tuple(map(_as_fitted, recommended)) if spin.fitted is None else spin.fitted
    check = explain(_check_spin_of(wheel, advice, spin, pieces))
    return FinishedWheel(wheel, advice, check, pieces, tuple(_open(wheel, advice, check)))


def _check_spin_of(
    wheel: VehicleWheel, advice: AdvisedPlan, spin: WheelCheckSpin, pieces: tuple[FittedPiece, ...]
) -> CheckSpinRequest:
    """Held to what the plan was held to; the wheel stayed clamped as far as anybody said."""
    plan = advice.plan
    return CheckSpinRequest(
        wheel.plan.reading,
        pieces,
        spin.after,
        acceptance=plan.acceptance,
        stock=wheel.plan.stock,
        spread=plan.spread,
        static_only=_judged_statically(advice),
        wheel=wheel.plan.wheel,
    )


def _is_static_job(wheel: VehicleWheel, advice: AdvisedPlan) -> bool:
    """Whether a static check spin is all there can be to it."""
    return isinstance(wheel.plan.reading, Static) or _judged_statically(advice)


def _judged_statically(advice: AdvisedPlan) -> bool:
    evaluator = advice.plan.evaluator
    return evaluator is not None and evaluator.static_only


def _as_fitted(p: Piece) -> FittedPiece:
    return FittedPiece(p.position_mm, p.radius_mm, p.mass_g, p.angle_deg, p.style, p.arc_deg, p.sku)


def _open(wheel: VehicleWheel, advice: AdvisedPlan, check: CheckSpin | None) -> Iterator[Message]:
    """What keeps a wheel from being released; a finding is put right before anything else counts."""
    at = {"position": wheel.position}
    findings = [f for f in wheel.plan.inspection if f != "none"]
    yield from (message("open_finding", **at, finding=finding) for finding in findings)
    if findings or wheel.position == SPARE:
        return
    as_it_is = advice.plan.decision is Decision.ALREADY_WITHIN and not advice.plan.old_weights_off
    if check is None and not as_it_is:
        yield message("open_no_check_spin", **at)
    elif check is not None and check.verdict != "pass":
        left_g = check.evaluator.largest_g(check.measured)
        yield message("open_over_limit", **at, left_g=left_g)
    elif check is not None and check.request.static and not _is_static_job(wheel, advice):
        yield message("open_static_spin", **at)
    if wheel.torque is None:
        yield message("open_torque", **at)
    elif not wheel.torque.second_pass:
        yield message("open_second_pass", **at, torque_nm=wheel.torque.torque_nm)


def _charged(wheel: FinishedWheel) -> JobWheel:
    """The wheel as an invoice takes it; pieces by hand without a number can't be found there."""
    stock = wheel.request.plan.stock
    pieces = tuple(_item(p, stock) for p in wheel.pieces if p.sku is not None)
    return JobWheel(wheel.request.position, pieces=pieces)


def _item(piece: FittedPiece, stock: Stock) -> ChargedPiece:
    """A piece as it was taken off the shelf: a strip by its segments."""
    found, item = _shelf(stock).get(piece.sku or ""), ChargedPiece(piece.sku or "")
    if found is None:
        return item
    item = replace(item, material=found.material, label=found.label, location=found.location)
    if isinstance(found, Strip):
        return replace(item, segments=max(round(piece.mass_g / found.segment_mass_g), 1))
    return item


def _shelf(stock: Stock) -> dict[str, ClipOn | Strip]:
    items: tuple[ClipOn | Strip, ...] = (*stock.clip_ons, *stock.strips)
    return {item.sku: item for item in items}


def _warnings(wheels: Sequence[FinishedWheel]) -> Iterator[Message]:
    """What to look at although nothing is open: weights that were called for and not noted, or have no number."""
    for wheel in wheels:
        passed = wheel.check is not None and wheel.check.verdict == "pass"
        if passed and wheel.advice.plan.recommended and not wheel.pieces:
            yield message("passes_without_weights", position=wheel.request.position)
        if not wheel.open and wheel.check is None and wheel.advice.plan.recommended:  # a spare
            yield message("weights_unknown", position=wheel.request.position)
        count = sum(p.sku is None for p in wheel.pieces)
        if count:
            yield message("pieces_not_charged", position=wheel.request.position, count=count)


def _short(wheels: Sequence[FinishedWheel]) -> Iterator[Message]:
    """Of which weights the wheels still to fit take more together than any of them knew on the shelf."""
    taken, on_hand, strips = Counter[str](), dict[str, float](), set[str]()
    for wheel in wheels:
        recommended = wheel.advice.plan.recommended
        shelf = _shelf(wheel.request.plan.stock)
        for piece in recommended.pieces if recommended and wheel.check is None else ():
            left = shelf[piece.sku].on_hand
            taken[piece.sku] += piece.segments or 1
            on_hand[piece.sku] = max(on_hand.get(piece.sku, 0), inf if left is None else left)
            strips |= {piece.sku} if piece.segments else set()
    for sku in sorted(sku for sku in taken if taken[sku] > on_hand[sku]):
        unit = "segments" if sku in strips else "pieces"
        yield message("short_on_shelf", sku=sku, **{unit: taken[sku], "on_hand": int(on_hand[sku])})
