"""Where each weight goes, in words: whole degrees and millimetres place it, the clock only helps to find it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from ...drawing.blocks import WeightBlock, blocks_of
from ...drawing.part import Part, called_mass, weighed, whole_degrees
from ...drawing.subject import Subject
from ...messages.catalogue import text_of
from ...messages.message import message
from ...messages.page_words import PageWords
from ...model.device import Called
from ...model.generic_labels import GENERIC_LABELS
from ...planning.fitting_steps import way_to
from ...planning.models import Layout, Piece, PlanRequest


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
    subject: Subject, layout: Layout, request: PlanRequest, words: PageWords
) -> tuple[FittingRow, ...]:
    """Every weight of a layout in its order; its pieces are those of the subject's parts."""
    return tuple(_row(block, layout, request, words) for block in blocks_of(subject.parts))


def _row(block: WeightBlock, layout: Layout, request: PlanRequest, words: PageWords) -> FittingRow:
    pieces = [layout.pieces[part.number - 1] for part in block.parts]
    first, several = pieces[0], len(pieces) > 1
    way = way_to(request, layout, first, block.angle_deg).values
    grams = weighed(block.mass_g).partition(" (")[2].removesuffix(")")
    place = [block.parts[0].place, words("behind_spoke", window=first.window) if first.window else ""]
    shelves = dict.fromkeys(p.location for p in pieces if p.location)
    return FittingRow(
        numbers=block.numbers,
        mass=block.mass,
        grams=grams,
        what=_what(block.parts, pieces, words, wire=request.wheel.wire_spokes),
        place=", ".join([*filter(None, place), words("hidden" if all(p.hidden for p in pieces) else "visible")]),
        angle=words("middle_at" if several else "at_angle", angle=block.angle),
        clock=text_of(message("near_clock", angle_deg=block.angle_deg)),
        way=text_of(message("along_rim", **way)),
        called=tuple(_called(p.called, words) for p in pieces if p.called and _differs(p, p.called)),
        shelf=", ".join(words("shelf", location=each) for each in shelves),
    )


def _what(parts: Sequence[Part], pieces: Sequence[Piece], words: PageWords, *, wire: bool) -> str:
    """The kind of weight; of several end to end each with its mass."""
    if len(pieces) == 1:
        kind = "strip" if pieces[0].style == "adhesive" else "spoke_weight" if wire else "clip_on"
        return f"{words(kind)} {_item(pieces[0], words)}"
    each = " + ".join(f"{part.mass} ({_item(p, words)})" for part, p in zip(parts, pieces, strict=True))
    return f"{words('strips', count=len(pieces))}: {each}"


def _item(piece: Piece, words: PageWords) -> str:
    segments = piece.segments
    counted = words("segment" if segments == 1 else "segments", count=segments) if segments else ""
    # the name of a built-in weight would only say again what stands beside it
    label = None if piece.label in GENERIC_LABELS else piece.label
    return ", ".join(filter(None, [piece.sku, counted, label]))


def _differs(piece: Piece, called: Called) -> bool:
    """Whether the balancer calls a weight otherwise than the list does: by unit, by valve or by angle."""
    same = called.mass_unit == "g" and called.valve_at is None
    return not same or whole_degrees(called.angle) != whole_degrees(piece.angle_deg)


def _called(called: Called, words: PageWords) -> str:
    mass = called_mass(called)
    if called.valve_at:
        return words("called_by_valve", mass=mass, valve=called.valve_at.clock)
    return words("called", mass=mass, angle=whole_degrees(called.angle))
