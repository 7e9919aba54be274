"""Where each weight goes, in words: whole degrees and millimetres place it, the clock only helps to find it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from ..drawing.part import Part, whole_degrees
from ..drawing.runs import WeightRun, runs_of
from ..drawing.subject import Subject
from ..model.device import Called
from ..physics.readings import Reading, Static, TwoPlane
from ..planning.models import Piece
from .page_words import PageWords

LIP_OVER_SEAT = 1.08
"""How much longer a way is along the lip's edge than at the bead seat; common practice, no source."""

NEAR_HOURS, FAR_HOURS = 0.1, 0.4
"""Up to the first off an hour it is that hour; from the second on it is between two."""


class FittingRow(NamedTuple):
    """One line of the list: a weight, or strips end to end."""

    numbers: str
    mass: str
    grams: str
    what: str
    place: str
    angle: str
    clock: str
    way: str
    called: tuple[str, ...]
    shelf: str


def fitting_rows(
    subject: Subject, pieces: Sequence[Piece], reading: Reading, words: PageWords
) -> tuple[FittingRow, ...]:
    """Every weight in its order; pieces are those of the subject's parts."""
    return tuple(
        _row(run, [pieces[part.number - 1] for part in run.parts], subject, reading, words)
        for run in runs_of(subject.parts)
    )


def _row(
    run: WeightRun, pieces: Sequence[Piece], subject: Subject, reading: Reading, words: PageWords
) -> FittingRow:
    first, several = pieces[0], len(pieces) > 1
    grams = f"{run.mass_g:.1f} g" if run.mass.endswith("oz") else ""
    place = [run.parts[0].place, words("behind_spoke", window=first.window) if first.window else ""]
    shelves = dict.fromkeys(p.location for p in pieces if p.location)
    return FittingRow(
        numbers=run.numbers,
        mass=run.mass,
        grams=grams,
        what=_what(run.parts, pieces, words),
        place=", ".join([*filter(None, place), words("hidden" if all(p.hidden for p in pieces) else "visible")]),
        angle=words("middle_at" if several else "at_angle", angle=run.angle),
        clock=clock_words(run.angle_deg, words),
        way=_way(run, first, subject, reading, words),
        called=tuple(_called(p.called, words) for p in pieces if p.called and _differs(p, p.called)),
        shelf=", ".join(words("shelf", location=each) for each in shelves),
    )


def _what(parts: Sequence[Part], pieces: Sequence[Piece], words: PageWords) -> str:
    """The kind of weight; of several end to end each with its mass."""
    if len(pieces) == 1:
        return f"{words('clip_on' if pieces[0].style == 'clip_on' else 'strip')} {_item(pieces[0], words)}"
    each = " + ".join(f"{part.mass} ({_item(p, words)})" for part, p in zip(parts, pieces, strict=True))
    return f"{words('strips', count=len(pieces))}: {each}"


def _item(piece: Piece, words: PageWords) -> str:
    segments = piece.segments
    counted = words("segment" if segments == 1 else "segments", count=segments) if segments else ""
    return ", ".join(filter(None, [piece.sku, counted, piece.label]))


def clock_words(angle_deg: float, words: PageWords) -> str:
    """Where a weight is on the clock, roughly, the mark at 12.

    >>> clock_words(112, PageWords("sheet")), clock_words(359, PageWords("sheet"))
    ("a little before 4 o'clock", "at 12 o'clock")
    >>> clock_words(315, PageWords("sheet"))
    "between 10 and 11 o'clock"
    """
    hours = angle_deg / 30
    off = hours - round(hours)
    if abs(off) > FAR_HOURS:
        return words("clock_between", hour=_hour(math.floor(hours)), next=_hour(math.floor(hours) + 1))
    code = "clock_at" if abs(off) <= NEAR_HOURS else "clock_after" if off > 0 else "clock_before"
    return words(code, hour=_hour(round(hours)))


def _hour(hours: int) -> int:
    return hours % 12 or 12


def _way(run: WeightRun, piece: Piece, subject: Subject, reading: Reading, words: PageWords) -> str:
    """From the nearer of the mark and the spot that the balancer calls on that side, along the lip or the land."""
    clip = piece.style == "clip_on"
    radius = (subject.outer_mm or LIP_OVER_SEAT * piece.radius_mm) if clip else subject.radius_of(piece.place)
    anchors = [(0.0, words("the_mark")), *((spot, words("called_spot")) for spot in _called_spots(piece, reading))]
    ways = [(math.remainder(run.angle_deg - at, 360), name) for at, name in anchors]
    turned, anchor = min(ways, key=lambda way: abs(way[0]))
    mm = round(math.radians(abs(turned)) * radius)
    if mm == 0:
        return words("right_at", anchor=anchor)
    said = words("clockwise_of" if turned > 0 else "counterclockwise_of", mm=mm, anchor=anchor)
    return f"{said}, {words('along_lip')}" if clip else said


def _called_spots(piece: Piece, reading: Reading) -> list[float]:
    """Where the balancer calls a weight on the piece's side [deg]; none where it calls no place for a weight."""
    if reading.reports == "unbalance":
        return []
    match reading:
        case TwoPlane():
            inner, outer = sorted(reading.planes, key=lambda mass: mass.position_mm)
            called = inner if piece.side == "inboard" else outer
        case Static():
            called = reading.mass
        case _:
            return []
    return [called.angle_deg] if called.mass_g else []


def _differs(piece: Piece, called: Called) -> bool:
    """Whether the balancer calls a weight otherwise than the list does: by unit, by valve or by angle."""
    same = called.mass_unit == "g" and called.valve_at is None
    return not same or whole_degrees(called.angle) != whole_degrees(piece.angle_deg)


def _called(called: Called, words: PageWords) -> str:
    mass = f"{round(called.mass, 2):g} {called.mass_unit}"
    if called.valve_at:
        return words("called_by_valve", mass=mass, valve=called.valve_at.text)
    return words("called", mass=mass, angle=whole_degrees(called.angle))
