"""What traces of run-out say to a technician, as codes with values: what is over, whose it is, what to do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ..messages.message import Message, message
from ..physics.run_out import ADVISED_READINGS, Harmonic, fit_shape, subtract_harmonics, totals_mm
from .bead_work import turn_values
from .run_out_limits import Direction
from .run_out_models import (
    RIMS,
    BestTurn,
    EccentricUnbalance,
    RunOutRequest,
    Trace,
    TraceResult,
    is_sidewall,
    traces_of,
)
from .run_out_turn import STIFFNESS_N_MM

REPEATS_MM, REPEATS_SD = 0.1, 3.0
"""Two traces of one place are alike within so much [mm], or so many standard deviations; no source."""

UNLIKELY_MM = 10.0
"""More than this [mm] no wheel that was driven runs out: another unit was sent; common practice, no source."""

BEFORE_A_TURN = ("run_out_not_repeated", "flat_spot")
"""With these no turn is called: what does not repeat is measured again, and a flat spot is never hidden."""

LONE_MM = 10.0
"""No stone, bulge or dent is so large [mm], and it is all that many a dial shows; common practice, no source."""

LEAST_SPOT_MM, SPOT_SD = 0.2, 5.0
"""What stands out less [mm], or by fewer standard deviations of the others, is no dent, flat spot or bump to act
on: two divisions of a dial; no source."""

LEAST_ECCENTRICITY_MM = 0.05
"""What is less off centre costs nothing to talk about [mm]: half a tenth of an indicator; no source."""


def _where(trace: Trace) -> dict[str, str]:
    return {"name": trace.part, "direction": trace.direction}


def find_causes(
    request: RunOutRequest,
    results: Sequence[TraceResult],
    tyre: Sequence[Harmonic],
    unbalance: EccentricUnbalance | None,
    turn: BestTurn | None,
) -> Iterator[Message]:
    """Findings, what is over its limit first. tyre: its radial harmonics by difference, if known.

    Where a reading can't be, no more is said than what the other traces show by themselves.
    """
    unsound = [m for r in results for m in _lone_readings(r.trace)]
    yield from unsound
    sound = [r for r in results if not any(_lone_readings(r.trace))]
    for r in sound:
        if r.limit and not r.within:
            values = _where(r.trace)
            yield message("run_out_over", **values, total_mm=r.shape.total_mm, limit_mm=r.limit.total_mm)
    first = (*_not_repeated(sound), *_local(sound))
    yield from first
    if unsound:
        return
    yield from _whose(results, "radial")
    yield from _whose(results, "lateral")
    if tyre:
        total = float(totals_mm(np.array([[h.vector for h in tyre]]))[0])
        yield message(
            "tyre_by_difference", total_mm=total, first_mm=tyre[0].amplitude_mm, high_deg=tyre[0].high_deg
        )
    if unbalance and unbalance.eccentricity_mm >= LEAST_ECCENTRICITY_MM:
        mass = sum(p.mass_g for p in unbalance.planes)
        yield message("eccentricity_costs", eccentricity_mm=unbalance.eccentricity_mm, mass_g=mass)
    if turn and not bent_rim(results) and not any(f.code in BEFORE_A_TURN for f in first):
        yield _turn_finding(turn, request.turn_min)


def _lone_readings(trace: Trace) -> Iterator[Message]:
    """Readings far above or far below both beside them: a slip of the pen, or the indicator hit something."""
    reading = trace.reading_mm
    order = sorted(range(len(reading)), key=lambda i: trace.angle_deg[i] % 360)
    for before, at, after in zip(order[-1:] + order[:-1], order, order[1:] + order[:1], strict=True):
        above, over = reading[at] - reading[before], reading[at] - reading[after]
        off_mm = min(abs(above), abs(over))
        if above * over > 0 and off_mm > LONE_MM:
            values = {"number": at + 1, "angle_deg": trace.angle_deg[at], "size_mm": off_mm}
            yield message("lone_reading", **_where(trace), **values)


def bent_rim(results: Sequence[TraceResult]) -> bool:
    """Whether a rim is over its limit: it is examined before any tyre is turned on it."""
    return any(r.limit and not r.within for r in results if r.trace.part in RIMS)


def _turn_finding(turn: BestTurn, minutes: float) -> Message:
    totals = {"before_mm": turn.rows[0].run_out_mm, "after_mm": turn.best.run_out_mm}
    if not turn.pays:
        return message("leave_tyre_run_out", **totals)
    return message("turn_tyre_run_out", **turn_values(turn.best.turn_deg, minutes), **totals)


def _whose(results: Sequence[TraceResult], direction: Direction) -> Iterator[Message]:
    """Of an assembly that is over its limit: the rim's, the tyre's, or not known without the rim."""
    whole = traces_of(results, "assembly", direction)
    if not any(r.limit and not r.within for r in whole):
        return
    rims = [r for part in RIMS for r in traces_of(results, part, direction)]
    if not rims:
        yield message("measure_rim", direction=direction)
    elif any(r.limit and not r.within for r in rims):
        yield message("rim_at_fault", direction=direction)
    elif direction == "lateral":
        yield message("beads_or_tyre_at_fault")
    else:
        first, second = whole[0].shape.harmonics[:2]
        oval = second.amplitude_mm > first.amplitude_mm
        yield message("tyre_oval" if oval else "tyre_at_fault", second_mm=2 * second.amplitude_mm)


def _local(results: Sequence[TraceResult]) -> Iterator[Message]:
    """Spots that stand out of the shape: dents of a rim, flat spots and bumps of a tread."""
    for r in results:
        if is_sidewall(r.trace):
            continue
        shape = fit_shape(r.trace.angle_deg, r.trace.reading_mm, ignore_jumps=True)
        for i in shape.left_out:
            low = shape.deviations_mm[i] < 0
            tread = "flat_spot" if low else "bump"
            code = tread if r.trace.part == "assembly" else "local_bend"
            size = abs(shape.deviations_mm[i])
            if size >= max(LEAST_SPOT_MM, SPOT_SD * shape.sd_mm):
                yield message(code, **_where(r.trace), angle_deg=r.trace.angle_deg[i], size_mm=size)


def _not_repeated(results: Sequence[TraceResult]) -> Iterator[Message]:
    """Two traces of the same place whose first harmonics differ."""
    for i, first in enumerate(results):
        for again in results[i + 1 :]:
            if (first.trace.part, first.trace.direction) == (again.trace.part, again.trace.direction):
                (off,) = subtract_harmonics(first.shape.harmonics[:1], again.shape.harmonics[:1])
                if off.amplitude_mm > max(REPEATS_MM, REPEATS_SD * off.sd_mm):
                    values = _where(first.trace)
                    yield message("run_out_not_repeated", **values, off_mm=off.amplitude_mm)


def doubts_of(request: RunOutRequest, results: Sequence[TraceResult]) -> Iterator[Message]:
    """What a reader of the answer has to know of how it came about."""
    fewest = min(len(set(r.trace.angle_deg)) for r in results)
    if fewest < ADVISED_READINGS:
        yield message("few_run_out_angles", count=fewest, advised=ADVISED_READINGS)
    for r in results:
        if r.shape.total_mm > UNLIKELY_MM:
            yield message("run_out_unlikely", **_where(r.trace), total_mm=r.shape.total_mm)
        if r.shape.left_out and not any(_lone_readings(r.trace)):
            yield message("splice_left_out", count=len(r.shape.left_out))
        if r.limit is None:
            yield message("no_run_out_limit", **_where(r.trace))
    measured = [part for part in RIMS if traces_of(results, part, "radial")]
    if len(measured) == 1 and traces_of(results, "assembly", "radial"):
        yield message("one_bead_seat", name=measured[0])
    if request.wheel is None and any(r.limit and r.trace.part in RIMS for r in results):
        yield message("rim_material_unknown")
    if request.force_first_harmonic and measured and traces_of(results, "assembly", "radial"):
        yield message("stiffness_assumed", stiffness_n_mm=STIFFNESS_N_MM)
