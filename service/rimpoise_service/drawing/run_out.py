"""Run-out on paper: each trace around its circle, much enlarged, and how a turn of the tyre changes the total.

A trace is drawn seen from outboard, its mark at the top, angles clockwise. Outwards is where the part stands out.
Two dashed circles are as far apart as the limit allows, the inner one through the lowest reading: a trace between
them keeps its limit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..physics.arrays import Floats
from ..physics.run_out import Harmonic, Shape, totals_mm, turned_vectors
from .lettering import fitted
from .part import LABELS, measure, whole_degrees
from .pen import (
    CHAIN,
    DASHED,
    HAIR,
    LARGE,
    SMALL,
    THIN,
    WIDE,
    Box,
    Drawn,
    Point,
    arrowhead,
    circle,
    cross,
    group,
    line,
    paragraph,
    picture,
    text,
)

PAGE_MM, MARGIN_MM, HEAD_MM = 190.0, 4.0, 22.0
"""Width of the drawing, its edge, and the height of its head."""

CELL_MM, PLOT_MM = 92.0, 62.0
"""Height of a row of traces, and of the plot of turns."""

ZERO_MM, REACH_MM = 20.0, 33.0
"""Radius of the circle through the lowest reading, and of the highest on paper."""

ENLARGEMENTS = (500, 200, 100, 50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1)
"""Paper over reading; the last one fits whatever a request may hold."""

STEP_DEG = 3


@dataclass(frozen=True, slots=True)
class DrawnTrace:
    """A trace by its name: readings_mm [mm] at angles_deg [deg], its shape, its limit limit_mm [mm] if known."""

    name: str
    angles_deg: Sequence[float]
    readings_mm: Sequence[float]
    shape: Shape
    limit_mm: float | None


@dataclass(frozen=True, slots=True)
class DrawnTurn:
    """Rim and tyre as radial harmonics, the turn best_deg [deg], and the limit limit_mm [mm] of their total.

    now_mm [mm]: the total as it is; what it has beyond the harmonics stays at any turn.
    """

    rim: Sequence[Harmonic]
    tyre: Sequence[Harmonic]
    best_deg: float
    limit_mm: float
    now_mm: float

    def totals_mm(self, turns_deg: Floats) -> Floats:
        """The total [mm] at turns of the tyre [deg]; not turned, it is as measured."""
        as_is, *totals = totals_mm(turned_vectors(self.rim, self.tyre, np.array([0.0, *turns_deg])))
        beyond = max(self.now_mm - as_is, 0.0)
        return np.where(turns_deg % 360, np.array(totals) + beyond, self.now_mm)


def draw_run_out(traces: Sequence[DrawnTrace], turn: DrawnTurn | None, caution: str) -> str:
    """All traces, two beside each other, and the plot of turns, as one SVG; caution is printed in the head."""
    rows = math.ceil(len(traces) / 2)
    height = HEAD_MM + rows * CELL_MM + (PLOT_MM if turn else 0) + MARGIN_MM
    width = (PAGE_MM - 2 * MARGIN_MM) / 2
    said, below = paragraph(Point(MARGIN_MM, 12), caution, PAGE_MM - 2 * MARGIN_MM, most=2)
    key, _ = paragraph(Point(MARGIN_MM, below), LABELS("trace_key"), PAGE_MM - 2 * MARGIN_MM, most=2)
    drawn: Drawn = [text(Point(MARGIN_MM, 7), LABELS("run_out_seen"), size=LARGE, bold=True), *said, *key]
    for i, trace in enumerate(traces):
        corner = Point(MARGIN_MM + i % 2 * width, HEAD_MM + i // 2 * CELL_MM)
        drawn.append(group(f"trace-{i}", _trace(trace, Box(*corner, width, CELL_MM)), _about(trace)))
    if turn:
        box = Box(MARGIN_MM, HEAD_MM + rows * CELL_MM, PAGE_MM - 2 * MARGIN_MM, PLOT_MM)
        drawn.append(group("turn", _turn(turn, box), LABELS("turns_about")))
    about = ". ".join(map(_about, traces))
    return picture(PAGE_MM, height, "run-out", LABELS("run_out"), about, drawn)


def _about(trace: DrawnTrace) -> str:
    """A trace in words."""
    return _said("trace_about", trace, name=trace.name, first=fine(2 * trace.shape.harmonics[0].amplitude_mm))


def _said(key: str, trace: DrawnTrace, **values: object) -> str:
    """A label of a trace, with its limit where one is known."""
    figures = {
        "total": fine(trace.shape.total_mm),
        "high": whole_degrees(trace.shape.harmonics[0].high_deg),
    }
    if trace.limit_mm is None:
        return LABELS(key, **figures, **values)
    return LABELS(f"{key}_limit", limit=fine(trace.limit_mm), **figures, **values)


def fine(length_mm: float) -> str:
    """A length [mm] as finely as run-out is read, in the reader's unit."""
    return measure("run_out_mm", length_mm, "fine")


def _trace(trace: DrawnTrace, box: Box) -> Drawn:
    kept = [r for i, r in enumerate(trace.readings_mm) if i not in trace.shape.left_out]
    low, span = min(kept), max(np.ptp(kept), trace.limit_mm or 0.0)
    room = REACH_MM - ZERO_MM
    enlarged = next((e for e in ENLARGEMENTS if e * span <= room), ENLARGEMENTS[-1])
    dial = _Dial(Point(box.x + box.width / 2, box.y + 12 + REACH_MM + 6), low, enlarged)
    facts = _said("trace_facts", trace, scale=f"{enlarged:g}")
    return [
        text(Point(box.x + 1, box.y + 4), fitted(trace.name, box.width - 4, 3.1), bold=True),
        text(Point(box.x + 1, box.y + 8.4), fitted(facts, box.width - 2, SMALL), size=SMALL),
        *_rings(dial, trace.limit_mm),
        *_curve(dial, trace.shape),
        *_readings(dial, trace),
        *_high(dial, trace.shape),
    ]


@dataclass(frozen=True, slots=True)
class _Dial:
    """Where readings are on paper."""

    centre: Point
    low: float
    enlarged: float

    def radius(self, reading_mm: float) -> float:
        """Radius on paper, kept on the sheet."""
        return min(max(ZERO_MM + (reading_mm - self.low) * self.enlarged, 1.0), REACH_MM + 4)

    def at(self, reading_mm: float, angle_deg: float) -> Point:
        """A reading's place on paper."""
        return self.centre.off(self.radius(reading_mm), angle_deg)


def _rings(dial: _Dial, limit_mm: float | None) -> Drawn:
    drawn: Drawn = [circle(dial.centre, ZERO_MM, dashes=DASHED if limit_mm is not None else CHAIN, width=HAIR)]
    if limit_mm is not None:
        drawn.append(circle(dial.centre, dial.radius(dial.low + limit_mm), dashes=DASHED))
    for angle in range(0, 360, 30):
        drawn.append(line(dial.centre.off(2, angle), dial.centre.off(ZERO_MM - 1, angle), width=HAIR))
    for angle in range(0, 360, 90):
        at = dial.centre.off(ZERO_MM - 4, angle)
        drawn.append(text(Point(at.x, at.y + 0.9), f"{angle}°", size=SMALL, anchor="middle", halo=True))
    return drawn


def _curve(dial: _Dial, shape: Shape) -> Drawn:
    angles = np.arange(0.0, 361.0, STEP_DEG)
    points = [dial.at(float(r), float(a)) for r, a in zip(_height(shape, angles), angles, strict=True)]
    return [line(*points, width=WIDE)]


def _readings(dial: _Dial, trace: DrawnTrace) -> Drawn:
    """Crosses; rings where a jump was left out."""
    drawn: Drawn = []
    for i, (angle, reading) in enumerate(zip(trace.angles_deg, trace.readings_mm, strict=True)):
        at = dial.at(reading, angle)
        drawn += [circle(at, 0.9)] if i in trace.shape.left_out else cross(at, 0.7)
    return drawn


def _height(shape: Shape, angles_deg: Floats) -> Floats:
    """The shape's readings [mm] at angles [deg]."""
    waves = [h.amplitude_mm * np.cos(h.order * np.radians(angles_deg - h.high_deg)) for h in shape.harmonics]
    return np.asarray(shape.mean_mm + np.sum(waves, axis=0))


def _high(dial: _Dial, shape: Shape) -> Drawn:
    """An arrow from outside to the high spot of the first harmonic."""
    first = shape.harmonics[0]
    if not first.amplitude_mm:
        return []
    edge = dial.radius(float(_height(shape, np.array([first.high_deg]))[0]))
    tail, tip = dial.centre.off(edge + 6.5, first.high_deg), dial.centre.off(edge + 1.2, first.high_deg)
    return [line(tail, tip, width=THIN), arrowhead(tip, tail)]


def _turn(turn: DrawnTurn, box: Box) -> Drawn:
    """The total over all turns of the tyre: a line, the limit, and the turn proposed."""
    turns = np.arange(0.0, 361.0, STEP_DEG)
    totals = turn.totals_mm(turns)
    top = max(float(totals.max()), turn.limit_mm) or 1.0
    frame = Box(box.x + 14, box.y + 10, box.width - 20, box.height - 24)

    def at(turn_deg: float, total_mm: float) -> Point:
        return Point(frame.x + frame.width * turn_deg / 360, frame.bottom - frame.height * total_mm / top)

    best = float(turn.totals_mm(np.array([turn.best_deg]))[0])
    drawn: Drawn = [
        text(Point(box.x + 1, box.y + 4), LABELS("turns_head"), bold=True),
        line(at(0, 0), at(360, 0)),
        line(at(0, 0), at(0, top)),
        line(at(0, turn.limit_mm), at(360, turn.limit_mm), dashes=DASHED),
        text(
            Point(at(180, 0).x, at(0, turn.limit_mm).y - 1),
            LABELS("limit"),
            size=SMALL,
            anchor="middle",
            halo=True,
        ),
        line(*(at(float(a), float(t)) for a, t in zip(turns, totals, strict=True)), width=WIDE),
        circle(at(turn.best_deg, best), 1.2, width=WIDE),
    ]
    for angle in range(0, 361, 60):
        drawn.append(line(at(angle, 0), Point(at(angle, 0).x, frame.bottom + 1.2)))
        drawn.append(text(Point(at(angle, 0).x, frame.bottom + 5), f"{angle}°", size=SMALL, anchor="middle"))
    for share in (0.0, 0.5, 1.0):
        place = at(0, share * top)
        drawn.append(line(place, Point(place.x - 1.2, place.y)))
        label = fine(share * top)
        drawn.append(text(Point(place.x - 2, place.y + 0.9), label, size=SMALL, anchor="end"))
    proposed = whole_degrees(turn.best_deg)
    words = LABELS("best_turn", turn=proposed, best=fine(best), now=fine(turn.now_mm))
    drawn.append(text(Point(frame.x, frame.bottom + 9.5), words, size=SMALL))
    return drawn
