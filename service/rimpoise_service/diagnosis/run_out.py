"""Run-out measured with an indicator: is it too much, whose is it, what does it cost, does a tyre turn help?

The tyre can't be measured alone on its rim. Its radial run-out is the assembly's less the rim's, and the rim's is
the mean of both bead seats. An eccentricity costs U = m e, so a reading that does not repeat can be told from one
that does: a wheel of 20 kg that sits 0.1 mm off centre reads 2,000 g·mm, 9 g at a 17-inch rim.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..messages.message import Message
from ..model.geometry import flange_planes
from ..physics.planes import Plane, PlaneVector
from ..physics.run_out import Harmonic, eccentric_unbalance_gmm, fit_shape, mean_harmonics, subtract_harmonics
from ..physics.unbalance import polar
from ..planning.advice import cautions
from ..planning.wheel_plausibility import wheel_doubts
from .bead_work import bead_cautions
from .run_out_findings import bent_rim, doubts_of, find_causes
from .run_out_limits import Direction, Limit, Part, default_limit
from .run_out_models import (
    RIMS,
    BestTurn,
    EccentricUnbalance,
    RunOut,
    RunOutRequest,
    Trace,
    TraceResult,
    Verdict,
    is_sidewall,
    traces_of,
)
from .run_out_turn import best_turn


def judge_run_out(request: RunOutRequest) -> RunOut:
    """From traces to verdict, findings and the best turn. Raises CircleNotCovered."""
    planes, derived = _planes(request)
    request = replace(request, planes=planes)
    results = tuple(_result(request, trace) for trace in request.traces)
    rim, tyre = _rim_and_tyre(results)
    turn = _turn(request, results, rim, tyre) if tyre else None
    unbalance = _unbalance(request, results)
    return RunOut(
        results,
        _verdict(results),
        tuple(find_causes(request, results, tyre, unbalance, turn)),
        rim,
        tyre,
        unbalance,
        turn,
        _cautions(request, turn, bent=bent_rim(results)),
        (*(wheel_doubts(request.wheel) if request.wheel else ()), *doubts_of(request, results), *derived),
    )


def _turn(
    request: RunOutRequest, results: Sequence[TraceResult], rim: Sequence[Harmonic], tyre: Sequence[Harmonic]
) -> BestTurn:
    """Of several traces of the assembly the largest total counts, as for the verdict."""
    measured_mm = max(r.shape.total_mm for r in traces_of(results, "assembly", "radial"))
    return best_turn(request, _limit(request, "assembly", "radial"), rim, tyre, measured_mm)


def _planes(request: RunOutRequest) -> tuple[tuple[Plane, ...], tuple[Message, ...]]:
    """Where an eccentricity's unbalance is reported, if its mass is known; and what of that was derived."""
    if request.wheel_mass_kg is None or request.planes or request.wheel is None:
        return request.planes, ()
    return flange_planes(request.wheel)


def _cautions(request: RunOutRequest, turn: BestTurn | None, *, bent: bool) -> tuple[Message, ...]:
    usual = cautions(fitting=False, lead=False, old_weights=False)
    return (*bead_cautions(request.wheel), *usual) if turn and turn.pays and not bent else usual


def _result(request: RunOutRequest, trace: Trace) -> TraceResult:
    """Sidewalls have splices; a jump on a rim or a tread is a fault and counts."""
    shape = fit_shape(trace.angle_deg, trace.reading_mm, ignore_jumps=is_sidewall(trace))
    return TraceResult(trace, shape, _limit(request, trace.part, trace.direction))


def _limit(request: RunOutRequest, part: Part, direction: Direction) -> Limit | None:
    own = [g.total_mm for g in request.limits if (g.part, g.direction) == (part, direction)]
    if own:
        return Limit(min(own), min(own), "request")
    return default_limit(
        part,
        direction,
        material=request.wheel.material if request.wheel else None,
        vehicle_class=request.wheel.vehicle_class if request.wheel else None,
        steered=request.wheel is not None and request.wheel.axle == "steered",
    )


def _verdict(results: Sequence[TraceResult]) -> Verdict:
    judged = [r for r in results if r.limit]
    if not judged:
        return "unknown"
    if not all(r.within for r in judged):
        return "over"
    return "good" if all(r.good for r in judged) else "within"


def _radial(results: Sequence[TraceResult], part: Part) -> tuple[Harmonic, ...]:
    """The radial harmonics of a part, the mean of its traces; none if there is none."""
    found = [r.shape.harmonics for r in traces_of(results, part, "radial")]
    return mean_harmonics(found) if found else ()


def _rim(results: Sequence[TraceResult]) -> tuple[Harmonic, ...]:
    seats = [seat for part in RIMS if (seat := _radial(results, part))]
    return mean_harmonics(seats) if seats else ()


def _rim_and_tyre(results: Sequence[TraceResult]) -> tuple[tuple[Harmonic, ...], tuple[Harmonic, ...]]:
    """Rim and tyre, radial; no tyre without both a rim and an assembly."""
    whole, rim = _radial(results, "assembly"), _rim(results)
    return rim, subtract_harmonics(whole, rim) if whole and rim else ()


def _unbalance(request: RunOutRequest, results: Sequence[TraceResult]) -> EccentricUnbalance | None:
    """The first harmonic of the assembly, else of the rim, else of the hub, in both planes half."""
    if request.wheel_mass_kg is None or not request.planes:
        return None
    candidates: list[tuple[Part, tuple[Harmonic, ...]]] = [
        ("assembly", _radial(results, "assembly")),
        ("rim_inboard", _rim(results)),
        ("hub", _radial(results, "hub")),
    ]
    for part, harmonics in candidates:
        if harmonics:
            first = harmonics[0]
            total = eccentric_unbalance_gmm(request.wheel_mass_kg, first.amplitude_mm)
            half = polar(total / len(request.planes), first.high_deg)
            return EccentricUnbalance(
                first.amplitude_mm, part, tuple(PlaneVector(p, half) for p in request.planes)
            )
    return None
