"""The drawing on paper: both views, what the signs mean, the parts list and the title block; or a view alone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from ..messages.catalogue import about, text_of
from ..messages.message import message
from ..planning.fitting_steps import passes
from .face import face
from .keepouts import keep_out_groups
from .labels import NARROW
from .lettering import fitted, width_mm, wrapped
from .part import LABELS, Drawable, Part, weighed
from .pen import (
    LARGE,
    NORMAL,
    SMALL,
    WIDE,
    Anchor,
    Box,
    Drawn,
    Point,
    group,
    hatching,
    line,
    paragraph,
    picture,
    rectangle,
    text,
)
from .section import section
from .subject import Subject

Paper = Literal["a4", "letter"]

SIZES: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height, upright [mm]; ISO 216, ANSI/ASME Y14.1."""

MARGIN_MM = 10.0
FOOT_MM, SECTION_MM, SIDE_MM = 58.0, 74.0, 58.0
"""Height of the foot and of the section; width of the column beside them [mm]."""

FACE_MM, FACE_HIGH_MM = 76.0, 70.0
"""The face alone: on a phone 360 px wide its smallest lettering is 3 mm high [mm]."""

VIEW_MM, VIEW_HIGH_MM = 94.0, 65.0
"""The section alone: narrow, so that its lettering can be read in half a column [mm]."""


class Column(NamedTuple):
    """A column of the parts list: the key of its head, width [mm], where its text is anchored."""

    key: str
    width: float
    anchor: Anchor


COLUMNS = (
    Column("number", 6.5, "start"),
    Column("mass", 22, "end"),
    Column("angle", 10.5, "end"),
    Column("clock", 9.5, "end"),
    Column("place", 28.5, "start"),
    Column("weight", 40.5, "start"),
    Column("spoke", 12, "start"),
)

TITLE_LINES = 13
"""Lines of the title block below its heading; a long layout gives way to the sentences around it."""

CELL_GAP_MM = 1.5
"""Between a cell of the parts list and the next one [mm]."""


def draw(subject: Subject, paper: Paper = "a4") -> str:
    """The whole drawing as a document of its own, for one upright sheet."""
    width, height = SIZES[paper]
    frame = Box(MARGIN_MM, MARGIN_MM, width - 2 * MARGIN_MM, height - 2 * MARGIN_MM)
    foot = Box(frame.x, frame.bottom - FOOT_MM, frame.width, FOOT_MM)
    below = Box(frame.x, foot.y - SECTION_MM, frame.width - SIDE_MM, SECTION_MM)
    above = Box(frame.x + 3, frame.y + 2, frame.width - 6, below.y - frame.y - 4)
    inside = Box(below.x + 3, below.y + 2, below.width - 6, below.height - 4)
    beside = Box(below.right + 3, below.y + 2, SIDE_MM - 6, below.height - 4)
    drawn: Drawn = [
        hatching("face-hatch"),
        hatching("section-hatch"),
        rectangle(frame, width=WIDE),
        *_borders(frame, foot, below),
        group("face", face(subject, above)),
        group("section", section(subject, inside)),
        group("legend", _legend(subject, beside)),
        group("parts", _parts_list(subject.parts, Box(foot.x, foot.y, foot.width - SIDE_MM, FOOT_MM))),
        group("title-block", _title_block(subject, Box(foot.right - SIDE_MM, foot.y, SIDE_MM, FOOT_MM))),
    ]
    return picture(width, height, "drawing", title_of(subject), described(subject), drawn)


def face_view(subject: Subject) -> str:
    """The face alone, to stand in a page."""
    box = Box(0.5, 0.5, FACE_MM - 1, FACE_HIGH_MM - 1)
    drawn = [hatching("face-hatch"), *face(subject, box, lettering=NARROW)]
    return _view(FACE_MM, FACE_HIGH_MM, "face-view", LABELS("face_of", title=title_of(subject)), subject, drawn)


def section_view(subject: Subject) -> str:
    """The half cross-section alone, to stand in a page."""
    box = Box(1, 1, VIEW_MM - 2, VIEW_HIGH_MM - 2)
    drawn = [hatching("section-hatch"), *section(subject, box)]
    title = LABELS("section_of", title=title_of(subject))
    return _view(VIEW_MM, VIEW_HIGH_MM, "section-view", title, subject, drawn)


def _view(width: float, height: float, name: str, title: str, subject: Subject, drawn: Drawn) -> str:
    return picture(width, height, name, title, described(subject), drawn)


def title_of(subject: Subject) -> str:
    """What the drawing is of."""
    layout = LABELS("nothing_to_fit") if subject.layout is None else text_of(subject.layout)
    return LABELS("title", layout=layout)


def described(subject: Subject) -> str:
    """The drawing in words, for readers who can't see it."""
    parts = "; ".join(part.about for part in subject.parts)
    keep_outs = "; ".join(found.about for found in keep_out_groups(subject.keep_outs))
    return ". ".join(
        [
            text_of(message(f"decision_{subject.decision}")).rstrip("."),
            *([LABELS("weights_are", parts=parts)] if parts else []),
            *([LABELS("keep_clear_of", parts=keep_outs)] if keep_outs else []),
        ]
    )


def _borders(frame: Box, foot: Box, below: Box) -> Drawn:
    return [
        line(Point(frame.x, below.y), Point(frame.right, below.y)),
        line(Point(frame.x, foot.y), Point(frame.right, foot.y)),
        line(Point(below.right, below.y), Point(below.right, frame.bottom)),
    ]


def _legend(subject: Subject, box: Box) -> Drawn:
    """Notes; and what to keep clear, as far as there is room: it says how many it leaves out."""
    notes = [text_of(note) for note in subject.notes]
    groups = [found.about for found in keep_out_groups(subject.keep_outs)]
    _, below = _listed(LABELS("notes"), notes, box, 0, box.height)
    drawn, y = _listed(LABELS("keep_clear"), groups, box, box.y + 2.5, box.height - below - 3)
    more, _ = _listed(LABELS("notes"), notes, box, y + 2, box.bottom - y)
    return [*drawn, *more]


def _listed(head: str, items: Sequence[str], box: Box, y: float, room: float) -> tuple[Drawn, float]:
    if not items:
        return [], y
    drawn: Drawn = [text(Point(box.x, y + 1), head, bold=True)]
    at, end = y + 5, y + room
    for i, item in enumerate(items):
        lines, below = paragraph(Point(box.x, at), item, box.width, most=6)
        if below > end - (4 if i < len(items) - 1 else 0):
            left = LABELS("and_more", count=len(items) - i)
            return [*drawn, text(Point(box.x, at), left, size=SMALL)], at + 4
        drawn, at = [*drawn, *lines], below + 0.8
    return drawn, at


def _parts_list(parts: Sequence[Part], box: Box) -> Drawn:
    """A row for each weight, by its number."""
    drawn: Drawn = _row(box, box.y + 4.7, [LABELS(column.key) for column in COLUMNS], bold=True)
    drawn.append(line(Point(box.x, box.y + 6.2), Point(box.right, box.y + 6.2)))
    if not parts:
        return [*drawn, text(Point(box.x + 3, box.y + 12), LABELS("no_weights"))]
    for i, part in enumerate(parts):
        p = part.piece
        mass = weighed(p.mass_g)
        cells = [str(part.number), mass, part.angle, p.clock, part.place, _stock_words(p), p.window or ""]
        drawn += _row(box, box.y + 11 + 5.2 * i, cells, bold=False)
    return drawn


def _stock_words(piece: Drawable) -> str:
    """Stock number and segments; of a long one the end is cut, never how many segments to take."""
    if not piece.segments:
        return piece.sku
    key = "segment" if piece.segments == 1 else "segments"
    room = next(c.width for c in COLUMNS if c.key == "weight") - CELL_GAP_MM
    beside = width_mm(LABELS(key, sku="", count=piece.segments), SMALL)
    return LABELS(key, sku=fitted(piece.sku, room - beside, SMALL), count=piece.segments)


def _row(box: Box, y: float, cells: Sequence[str], *, bold: bool) -> Drawn:
    drawn: Drawn = []
    x = box.x + 2
    for column, cell in zip(COLUMNS, cells, strict=True):
        room = column.width - CELL_GAP_MM
        at = Point(x + (room if column.anchor == "end" else 0), y)
        words = fitted(cell, room, SMALL)
        drawn += [text(at, words, size=SMALL, anchor=column.anchor, bold=bold)] if cell else []
        x += column.width
    return drawn


def _title_block(subject: Subject, box: Box) -> Drawn:
    """What is drawn, for whom, what it leaves, and that a person decides."""
    x, y, room = box.x + 3, box.y + 6, box.width - 6
    drawn: Drawn = [text(Point(x, y), LABELS("heading"), size=LARGE, bold=True)]
    if subject.reference:
        y += 4.8
        drawn.append(text(Point(x, y), fitted(subject.reference, 0.92 * room, NORMAL), bold=True))
    y += 4.2
    sentences = [(words, TITLE_LINES) for words in (*_summary(subject), text_of(message("trained_person")))]
    if subject.layout is not None:
        rest = TITLE_LINES - sum(len(wrapped(words, room, SMALL)) for words, _ in sentences)
        sentences.insert(1, (LABELS("layout", layout=text_of(subject.layout)), max(rest, 2)))
    for words, most in sentences:
        lines, y = paragraph(Point(x, y), words, room, most=most)
        drawn, y = [*drawn, *lines], y + 0.7
    return drawn


def _summary(subject: Subject) -> list[str]:
    """What was decided; of a layout what it leaves and how often it passes."""
    decision = text_of(message(f"decision_{subject.decision}"))
    if subject.layout is None or subject.left_g is None or subject.pass_chance_pct is None:
        return [decision]
    total = weighed(sum(part.piece.mass_g for part in subject.parts))
    left = LABELS("all_and_left", total=total, left=about("left_g", subject.left_g))
    share = passes(subject.pass_chance_pct)
    chance = LABELS("passes_once" if share["passes"] == 1 else "passes", **share)
    return [decision, f"{left} {chance}"]
