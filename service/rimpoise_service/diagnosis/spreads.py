"""What a shop's own readings say about its machine and hands, and whether its pass probabilities come true.

Sources are separated by restricted maximum likelihood (``physics.variance_components``): the machine by spins
without reclamping, centring by spins after reclamping, angle, position and mass of the pieces by what check
spins show. A source is identified when its interval excludes 0 and its ends are at most 4 times apart. What
is not keeps the default. Entries that don't belong to the others are named and left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Literal

import numpy as np

from ..messages.message import Message, message
from ..model.stock import GRAMS_PER_OUNCE
from ..physics.readings import Reading, unbalance_of
from ..physics.variance_components import Component, estimate_components, maximum_likelihood, outlying
from ..planning.acceptance import Acceptance, Criterion
from ..planning.plausibility_limits import COARSE_STEP_G
from ..planning.spread import MACHINE_SD_G, MOST_SD, Spread
from ..planning.tolerance_check import ToleranceEvaluator
from .calibration import Calibration, calibrate
from .spread_blocks import (
    SOURCES,
    Block,
    Job,
    Source,
    angle_step_seen_deg,
    group_block,
    job_block,
    planes_of,
    stacked,
    step_seen_g,
)

DEFAULTS: dict[str, float | None] = asdict(Spread()) | {"machine_sd_g": MACHINE_SD_G, "centring_sd_g": None}
"""What a plan for a car assumes where nothing is known."""

WIDEST = 4.0
"""An identified source is known to within a factor of two either way; common practice, no source."""

UNLIKELY_SD = 1.96
"""Chances are untrue when so many standard deviations too few, or too many, passed: one in twenty by accident."""

MOST_ROUNDS = 10

LEAST_ENTRIES = 8
"""Of fewer entries none can be called strange; common practice, no source."""

List = Literal["repeats", "remounts", "jobs"]


@dataclass(frozen=True, slots=True)
class Doubted:
    """An entry with what is unlikely of its readings."""

    list: List
    index: int
    warnings: tuple[Message, ...]


@dataclass(frozen=True, slots=True)
class SpreadsRequest:
    """A shop's history. repeats: spins of one wheel, untouched; remounts: clamped again before each.

    doubted: entries whose readings are unlikely.
    """

    repeats: tuple[tuple[Reading, ...], ...] = ()
    remounts: tuple[tuple[Reading, ...], ...] = ()
    jobs: tuple[Job, ...] = ()
    acceptance: Criterion = field(default_factory=Acceptance)
    doubted: tuple[Doubted, ...] = ()


@dataclass(frozen=True, slots=True)
class Estimate:
    """A source's standard deviation with its 95 % interval, in the unit that its name ends in.

    Where it is not identified sd is the default that stays in use, None for centring, which has none. high is None
    where the data set no end. n: spins or pieces that took part.
    """

    name: Source
    sd: float | None
    low: float
    high: float | None
    n: int
    identified: bool


@dataclass(frozen=True, slots=True)
class Outlier:
    """An entry that doesn't belong to the others and was left out."""

    list: List
    index: int


@dataclass(frozen=True, slots=True)
class Spreads:
    """``spread`` holds what the data identify, ready to be sent with a plan."""

    spread: dict[str, float]
    estimates: tuple[Estimate, ...]
    outliers: tuple[Outlier, ...]
    calibration: Calibration
    warnings: tuple[Message, ...]
    doubted: tuple[Doubted, ...] = ()


@dataclass(frozen=True, slots=True)
class _Entry:
    where: Outlier
    block: Block
    counts: tuple[int, ...]


def estimate_spreads(request: SpreadsRequest) -> Spreads:
    """Estimates, outliers and calibration. Raises ValueError for readings without planes."""
    request, step_g, angle_step_deg = _in_steps(request)
    kept, outliers = _without_outliers(_entries(request))
    estimates = _estimates(kept)
    passed = [_passes(job, request.acceptance) for job in request.jobs]
    calibration = calibrate([job.pass_chance_pct for job in request.jobs], passed)
    spread: dict[str, float] = {
        e.name: min(e.sd, MOST_SD[e.name])
        for e in estimates
        if e.identified and e.sd is not None and e.name in MOST_SD
    }
    return Spreads(
        spread,
        estimates,
        tuple(outliers),
        calibration,
        (
            *_coarse(step_g, angle_step_deg),
            *_warnings(estimates, outliers),
            *_untrue(calibration, has_spread=bool(spread)),
        ),
        request.doubted,
    )


def _in_steps(request: SpreadsRequest) -> tuple[SpreadsRequest, float, float]:
    """The history with the steps of displays that nobody stated, as it shows them, and these steps [g], [deg]."""
    groups, jobs = (*request.repeats, *request.remounts), request.jobs
    readings = [r for g in (*groups, *((j.before, j.after) for j in jobs)) for r in g]
    step_g, angle_step_deg = step_seen_g(readings), angle_step_seen_deg(readings)

    def stepped(reading: Reading) -> Reading:
        return replace(reading, step_g=reading.step_g or step_g, angle_step_deg=angle_step_deg)

    repeats, remounts = (
        tuple(tuple(map(stepped, group)) for group in groups) for groups in (request.repeats, request.remounts)
    )
    jobs = tuple(replace(j, before=stepped(j.before), after=stepped(j.after)) for j in jobs)
    return replace(request, repeats=repeats, remounts=remounts, jobs=jobs), step_g, angle_step_deg


def _coarse(step_g: float, angle_step_deg: float) -> Iterator[Message]:
    """That a display's steps hide most of what was asked for."""
    if angle_step_deg:
        yield message("ask_fine_angles", step_deg=angle_step_deg)
    if step_g:
        ounces = step_g / GRAMS_PER_OUNCE
        yield message("ask_fine_display", step=f"{step_g:g} g" if step_g == COARSE_STEP_G else f"{ounces:g} oz")


def _entries(request: SpreadsRequest) -> list[_Entry]:
    """Every entry of every list; counts are those of ``SOURCES``."""
    found = [
        _Entry(Outlier("repeats", i), group_block(group, remounted=False), (len(group), 0, 0, 0, 0, 0))
        for i, group in enumerate(request.repeats)
    ]
    found += [
        _Entry(Outlier("remounts", i), group_block(group, remounted=True), (len(group), len(group), 0, 0, 0, 0))
        for i, group in enumerate(request.remounts)
    ]
    for i, job in enumerate(request.jobs):
        pieces = len(job.fitted)
        clips = sum(p.style == "clip_on" for p in job.fitted)
        counts = (2, 0, pieces, clips, pieces - clips, pieces)
        found.append(_Entry(Outlier("jobs", i), job_block(job), counts))
    return found


def _by_size(entries: Sequence[_Entry]) -> list[list[_Entry]]:
    sizes = sorted({len(e.block.scatter) for e in entries})
    return [[e for e in entries if len(e.block.scatter) == size] for size in sizes]


def _components(entries: Sequence[_Entry]) -> tuple[Component, ...]:
    return estimate_components([stacked([e.block for e in same]) for same in _by_size(entries)])


def _without_outliers(entries: list[_Entry]) -> tuple[list[_Entry], list[Outlier]]:
    """Leave out what doesn't belong to the rest, look at all of it again, until nothing changes."""
    out: set[Outlier] = set()
    for _ in range(MOST_ROUNDS if len(entries) >= LEAST_ENTRIES else 0):
        stacks = _by_size(entries)
        blocks = [stacked([e.block for e in same]) for same in stacks]
        belongs = [np.array([e.where not in out for e in same]) for same in stacks]
        pairs = zip(blocks, belongs, strict=True)
        variances = maximum_likelihood([b.only(kept) for b, kept in pairs if kept.any()])
        flagged = zip(stacks, outlying(blocks, variances), strict=True)
        before, out = out, {e.where for same, far in flagged for e, f in zip(same, far, strict=True) if f}
        if out == before:
            break
    kept = [e for e in entries if e.where not in out]
    return kept, [e.where for e in entries if e.where in out]


def _estimates(entries: Sequence[_Entry]) -> tuple[Estimate, ...]:
    if not entries:
        return tuple(Estimate(name, DEFAULTS[name], 0.0, None, 0, identified=False) for name in SOURCES)
    counts = [sum(e.counts[j] for e in entries) for j in range(len(SOURCES))]
    pairs = zip(SOURCES, _components(entries), counts, strict=True)
    return tuple(_estimate(name, component, count) for name, component, count in pairs)


def _estimate(name: Source, found: Component, count: int) -> Estimate:
    low, high = math.sqrt(found.low), None if found.high is None else math.sqrt(found.high)
    identified = high is not None and 0 < high <= WIDEST * low
    return Estimate(
        name, math.sqrt(found.variance) if identified else DEFAULTS[name], low, high, count, identified
    )


def _passes(job: Job, acceptance: Criterion) -> bool:
    evaluator = ToleranceEvaluator.at(planes_of(job.after), acceptance, static_only=False)
    return evaluator.accepts(evaluator.limit_ratio(unbalance_of(job.after)))


def _warnings(estimates: Sequence[Estimate], outliers: Sequence[Outlier]) -> Iterator[Message]:
    for e in estimates:
        unit = e.name.rpartition("_")[2]
        if not e.identified and e.n:
            if e.sd is None:
                yield message("centring_not_told", name=e.name, high_g=e.high)
            else:
                yield message("spread_default_kept", name=e.name, what=e.name, **{f"sd_{unit}": e.sd})
        elif e.sd is not None and e.sd > (most := MOST_SD.get(e.name, math.inf)):
            sizes = {f"sd_{unit}": e.sd, f"most_{unit}": most}
            yield message("spread_unlikely", name=e.name, what=e.name, **sizes)
    if outliers:
        yield message("entries_left_out", count=len(outliers))


def _untrue(calibration: Calibration, *, has_spread: bool) -> Iterator[Message]:
    """Chances that didn't come true, and whether these data say which to expect."""
    if calibration.shortfall is not None and abs(calibration.shortfall) > UNLIKELY_SD:
        promised = sum(b.n * b.told_pct for b in calibration.bins) / sum(b.n for b in calibration.bins)
        happened = sum(b.n * b.happened_pct for b in calibration.bins) / sum(b.n for b in calibration.bins)
        code = "chances_too_high" if calibration.shortfall > 0 else "chances_too_low"
        yield message(code, told_pct=promised, happened_pct=happened)
        yield message("send_spread" if has_spread else "spread_not_shown")
