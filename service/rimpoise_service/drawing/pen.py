"""The pen: lines, texts, dimensions and balloons, after the habits of ISO 128 and ISO 129 (from memory).

Wide lines are what is known and visible, dashed ones what is hidden, chain lines axes. Black on white only, grey
where a shape is filled, so that it prints anywhere. Text stays text. svg.py writes what it is given: every text
passes through ``clean``, and no text of a caller's ever gets into an attribute.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

import svg

from .lettering import clean, fitted, width_mm, wrapped

WIDE, THIN, HAIR = 0.5, 0.25, 0.13
"""Widths of lines [mm]."""

DASHED, CHAIN = [1.8, 0.9], [6.0, 0.9, 0.9, 0.9]
"""Hidden edges; axes [mm]."""

SMALL, NORMAL, LARGE = 2.6, 3.1, 4.2
"""Heights of lettering [mm]; the first is the smallest there is."""

INK, PAPER, SHADE, VEIL = "#000", "#fff", "#aaa", "rgba(0,0,0,.12)"
FONT = "Liberation Sans, Arial, Helvetica, DejaVu Sans, sans-serif"
BALLOON_MM = 2.4
ARROW_MM = 2.2
UPRIGHT_MM = 9.0
"""How far above the lower end of an upright dimension line its text stands [mm]."""

Anchor = Literal["start", "middle", "end"]
Drawn = list[svg.Element]


class Point(NamedTuple):
    """A place on paper [mm], from the upper left corner."""

    x: float
    y: float


class Box(NamedTuple):
    """A part of the paper [mm]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.y + self.height


def mm(value: float) -> float:
    """A length on paper, to a ten-thousandth [mm], never −0.0.

    >>> mm(1 / 3), mm(-1e-9)
    (0.3333, 0.0)
    """
    return round(value, 4) + 0.0


def text(
    at: Point,
    words: str,
    *,
    size: float = NORMAL,
    anchor: Anchor = "start",
    bold: bool = False,
    halo: bool = False,
) -> svg.Text:
    """A text whose baseline begins, ends or is centred at a point; a halo keeps lines out of it."""
    drawn = svg.Text(x=mm(at.x), y=mm(at.y), text=clean(words), font_size=size, text_anchor=anchor)
    if bold:
        drawn.font_weight = "bold"
    if halo:
        drawn.extra = {"paint-order": "stroke"}
        drawn.stroke, drawn.stroke_width, drawn.stroke_linejoin = PAPER, 1.0, "round"
    return drawn


def paragraph(at: Point, words: str, room: float, *, most: int = 20) -> tuple[Drawn, float]:
    """A small text in at most ``most`` lines, downward from a point; and the y [mm] below it."""
    size, step = SMALL, 1.28 * SMALL
    lines = wrapped(words, room, size)
    if len(lines) > most:
        lines = [*lines[: most - 1], fitted(f"{lines[most - 1]} …", room, size)]
    drawn: Drawn = [text(Point(at.x, at.y + step * i), line, size=size) for i, line in enumerate(lines)]
    return drawn, at.y + step * len(lines)


def line(*points: Point, width: float = THIN, dashes: Sequence[float] = ()) -> svg.Path:
    """A line through points."""
    first, *others = points
    d: list[svg.PathData] = [svg.MoveTo(mm(first.x), mm(first.y))]
    d += [svg.LineTo(mm(p.x), mm(p.y)) for p in others]
    return path(d, width=width, dashes=dashes)


def path(
    d: list[svg.PathData], *, width: float = THIN, dashes: Sequence[float] = (), fill: str = "none"
) -> svg.Path:
    """A path."""
    drawn = svg.Path(d=d, fill=fill, stroke=INK, stroke_width=width)
    if dashes:
        drawn.stroke_dasharray = list(dashes)
    return drawn


def circle(
    centre: Point, radius: float, *, width: float = THIN, dashes: Sequence[float] = (), fill: str = "none"
) -> svg.Circle:
    """A circle."""
    drawn = svg.Circle(cx=mm(centre.x), cy=mm(centre.y), r=mm(radius), fill=fill, stroke=INK, stroke_width=width)
    if dashes:
        drawn.stroke_dasharray = list(dashes)
    return drawn


def rectangle(box: Box, *, width: float = THIN, dashes: Sequence[float] = (), fill: str = "none") -> svg.Rect:
    """A rectangle."""
    drawn = svg.Rect(
        x=mm(box.x),
        y=mm(box.y),
        width=mm(box.width),
        height=mm(box.height),
        fill=fill,
        stroke=INK,
        stroke_width=width,
    )
    if dashes:
        drawn.stroke_dasharray = list(dashes)
    return drawn


def cross(at: Point, arm: float = 0.9) -> Drawn:
    """A mass centre."""
    level = line(Point(at.x - arm, at.y), Point(at.x + arm, at.y), width=HAIR)
    return [level, line(Point(at.x, at.y - arm), Point(at.x, at.y + arm), width=HAIR)]


def arrowhead(tip: Point, towards: Point) -> svg.Path:
    """A filled arrowhead at a tip, its back turned towards the other point."""
    angle = math.atan2(towards.y - tip.y, towards.x - tip.x)
    back = [
        Point(tip.x + ARROW_MM * math.cos(angle + a), tip.y + ARROW_MM * math.sin(angle + a))
        for a in (-0.16, 0.16)
    ]
    d: list[svg.PathData] = [
        svg.MoveTo(mm(tip.x), mm(tip.y)),
        *(svg.LineTo(mm(p.x), mm(p.y)) for p in back),
        svg.Z(),
    ]
    return svg.Path(d=d, fill=INK, stroke="none")


def dimension(a: Point, b: Point, words: str) -> Drawn:
    """A dimension line between two points, level or upright, its heads inside if there is room; and its text."""
    length = math.hypot(b.x - a.x, b.y - a.y)
    drawn: Drawn = [line(a, b)]
    if length > 2.5 * ARROW_MM:
        drawn += [arrowhead(a, b), arrowhead(b, a)]
    else:
        drawn += [*cross(a, 0.6), *cross(b, 0.6)]
    middle = Point((a.x + b.x) / 2, (a.y + b.y) / 2)
    if a.x == b.x:
        return [*drawn, text(Point(a.x, max(a.y, b.y) - UPRIGHT_MM), words, anchor="middle", halo=True)]
    if width_mm(words, NORMAL) < length:
        return [*drawn, text(Point(middle.x, middle.y - 0.9), words, anchor="middle", halo=True)]
    return [*drawn, text(Point(max(a.x, b.x) + 1.2, middle.y + 1), words, halo=True)]


def balloon(centre: Point, numbers: str, half_mm: float = BALLOON_MM) -> Drawn:
    """A number in a circle, as in a parts list; several in a ring that is half_mm to each side [mm]."""
    box = Box(centre.x - half_mm, centre.y - BALLOON_MM, 2 * half_mm, 2 * BALLOON_MM)
    ring = rectangle(box, fill=PAPER)
    ring.rx = BALLOON_MM
    return [ring, text(Point(centre.x, centre.y + 0.36 * NORMAL), numbers, anchor="middle", bold=True)]


def hatching(name: str) -> svg.Defs:
    """A pattern of slanting hairlines, to fill with by its name."""
    stroke = line(Point(0, 0), Point(0, 1.4), width=2 * HAIR)
    turned: list[svg.Transform] = [svg.Rotate(45)]
    pattern = svg.Pattern(
        id=name, width=1.4, height=1.4, patternUnits="userSpaceOnUse", patternTransform=turned, elements=[stroke]
    )
    return svg.Defs(elements=[pattern])


def group(name: str, drawn: Iterable[svg.Element], about: str = "") -> svg.G:
    """Elements that belong together; ``about`` describes them to readers who can't see them."""
    title: Drawn = [svg.Title(text=clean(about))] if about else []
    return svg.G(id=name, elements=[*title, *drawn])


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places for labels [mm], in order, a gap apart and as near as possible to where they are wanted.

    >>> spread([0, 1, 20], 5, -10, 21)
    [0, 5, 20]
    """
    places: list[float] = []
    for want in wanted:
        places.append(max(want, places[-1] + gap) if places else max(want, low))
    limit = high
    for i in reversed(range(len(places))):
        places[i] = min(places[i], limit)
        limit = places[i] - gap
    return places


SCALES = (
    1,
    1.25,
    1.5,
    2,
    2.5,
    3,
    4,
    5,
    6,
    7,
    8,
    9,
    10,
    12,
    15,
    20,
    25,
    30,
    40,
    50,
    60,
    80,
    100,
    150,
    200,
    400,
    1000,
)
"""Reductions to choose from: wheel over paper; the last one fits whatever a request may hold."""


def scale_for(length_mm: float, room_mm: float) -> float:
    """The least reduction at which a length [mm] fits into a room on paper [mm].

    >>> scale_for(235.8, 60)
    4
    """
    return next((s for s in SCALES if length_mm <= s * room_mm), SCALES[-1])


def picture(
    width: float, height: float, name: str, title: str, about: str, drawn: Iterable[svg.Element]
) -> svg.SVG:
    """A whole SVG of that size [mm], with its title and description for readers who can't see it."""
    named: Drawn = [
        svg.Title(id=f"{name}-title", text=clean(title)),
        svg.Desc(id=f"{name}-desc", text=clean(about)),
    ]
    return svg.SVG(
        viewBox=svg.ViewBoxSpec(0, 0, mm(width), mm(height)),
        width=svg.Length(mm(width), "mm"),
        height=svg.Length(mm(height), "mm"),
        extra={"role": "img", "aria-labelledby": f"{name}-title {name}-desc", "font-family": FONT},
        elements=[*named, *drawn],
    )
