"""The pen: lines, texts, dimensions and balloons, after the habits of ISO 128 and ISO 129 (from memory).

Wide lines are what is known and visible, dashed ones what is hidden, chain lines axes. Black on white only, grey
where a shape is filled, so that it prints anywhere. Text stays text, which passes through ``clean`` and is escaped
where the drawing is written; no text of a caller's ever gets into an attribute.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple
from xml.etree.ElementTree import Element, tostring

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
Drawn = list[Element]


class Point(NamedTuple):
    """A place on paper [mm], from the upper left corner."""

    x: float
    y: float

    def off(self, distance: float, angle_deg: float) -> Point:
        """The point so far [mm] from here, at an angle [deg] clockwise from the top."""
        angle = math.radians(angle_deg)
        return Point(self.x + distance * math.sin(angle), self.y - distance * math.cos(angle))


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


Attributes = dict[str, str | float]


def element(tag: str, attributes: Attributes, *inside: Element, words: str = "") -> Element:
    """An element of SVG: its attributes, what is inside, its text."""
    made = Element(tag, {name: _written(value) for name, value in attributes.items()})
    made.text = clean(words) or None
    made.extend(inside)
    return made


def _written(value: str | float) -> str:
    return str(value).removesuffix(".0")


def text(
    at: Point,
    words: str,
    *,
    size: float = NORMAL,
    anchor: Anchor = "start",
    bold: bool = False,
    halo: bool = False,
) -> Element:
    """A text whose baseline begins, ends or is centred at a point; a halo keeps lines out of it."""
    style: Attributes = {"x": mm(at.x), "y": mm(at.y), "font-size": size, "text-anchor": anchor}
    if bold:
        style["font-weight"] = "bold"
    if halo:
        style |= {"paint-order": "stroke", "stroke": PAPER, "stroke-width": 1.0, "stroke-linejoin": "round"}
    return element("text", style, words=words)


def paragraph(at: Point, words: str, room: float, *, most: int = 20) -> tuple[Drawn, float]:
    """A small text in at most ``most`` lines, downward from a point; and the y [mm] below it."""
    size, step = SMALL, 1.28 * SMALL
    lines = wrapped(words, room, size)
    if len(lines) > most:
        lines = [*lines[: most - 1], fitted(f"{lines[most - 1]} …", room, size)]
    drawn: Drawn = [text(Point(at.x, at.y + step * i), line, size=size) for i, line in enumerate(lines)]
    return drawn, at.y + step * len(lines)


CLOSE = "Z"
"""The step of a path back to where it began."""


def move(to: Point) -> str:
    """The step of a path that begins it.

    >>> move(Point(1, 2.5))
    'M1 2.5'
    """
    return f"M{_written(mm(to.x))} {_written(mm(to.y))}"


def straight(to: Point) -> str:
    """A straight step of a path."""
    return f"L{move(to)[1:]}"


def bend(radius: float, to: Point, *, wide: bool = False, clockwise: bool = True) -> str:
    """A step of a path along a circle; wide: more than half of it.

    >>> bend(5, Point(3, 4))
    'A5 5 0 0 1 3 4'
    """
    r = _written(mm(radius))
    return f"A{r} {r} 0 {wide:d} {clockwise:d} {move(to)[1:]}"


def line(*points: Point, width: float = THIN, dashes: Sequence[float] = ()) -> Element:
    """A line through points."""
    return path(move(points[0]), *map(straight, points[1:]), width=width, dashes=dashes)


def shape(*corners: Point, width: float = THIN, fill: str) -> Element:
    """A filled shape with straight edges."""
    return path(move(corners[0]), *map(straight, corners[1:]), CLOSE, width=width, fill=fill)


def path(*steps: str, width: float = THIN, dashes: Sequence[float] = (), fill: str = "none") -> Element:
    """A path."""
    return element("path", {"d": " ".join(steps), **_stroke(width, dashes, fill)})


def _stroke(width: float, dashes: Sequence[float], fill: str) -> Attributes:
    drawn: Attributes = {"fill": fill, "stroke": INK, "stroke-width": width}
    return drawn | ({"stroke-dasharray": " ".join(map(_written, dashes))} if dashes else {})


def circle(
    centre: Point, radius: float, *, width: float = THIN, dashes: Sequence[float] = (), fill: str = "none"
) -> Element:
    """A circle."""
    centred: Attributes = {"cx": mm(centre.x), "cy": mm(centre.y), "r": mm(radius)}
    return element("circle", centred | _stroke(width, dashes, fill))


def rectangle(box: Box, *, width: float = THIN, fill: str = "none", rounded: float = 0.0) -> Element:
    """A rectangle; the radius of its corners [mm]."""
    sides: Attributes = {"x": mm(box.x), "y": mm(box.y), "width": mm(box.width), "height": mm(box.height)}
    return element("rect", sides | ({"rx": rounded} if rounded else {}) | _stroke(width, (), fill))


def cross(at: Point, arm: float = 0.9) -> Drawn:
    """A mass centre."""
    level = line(Point(at.x - arm, at.y), Point(at.x + arm, at.y), width=HAIR)
    return [level, line(Point(at.x, at.y - arm), Point(at.x, at.y + arm), width=HAIR)]


def arrowhead(tip: Point, towards: Point) -> Element:
    """A filled arrowhead at a tip, its back turned towards the other point."""
    angle = math.atan2(towards.y - tip.y, towards.x - tip.x)
    back = [
        Point(tip.x + ARROW_MM * math.cos(angle + a), tip.y + ARROW_MM * math.sin(angle + a))
        for a in (-0.16, 0.16)
    ]
    return element(
        "path", {"d": " ".join([move(tip), *map(straight, back), CLOSE]), "fill": INK, "stroke": "none"}
    )


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
    ring = rectangle(box, fill=PAPER, rounded=BALLOON_MM)
    return [ring, text(Point(centre.x, centre.y + 0.36 * NORMAL), numbers, anchor="middle", bold=True)]


def hatching(name: str) -> Element:
    """A pattern of slanting hairlines, to fill with by its name."""
    stroke = line(Point(0, 0), Point(0, 1.4), width=2 * HAIR)
    turned = {"patternUnits": "userSpaceOnUse", "patternTransform": "rotate(45)"}
    return element("defs", {}, element("pattern", {"id": name, "width": 1.4, "height": 1.4, **turned}, stroke))


def group(name: str, drawn: Iterable[Element], about: str = "") -> Element:
    """Elements that belong together; ``about`` describes them to readers who can't see them."""
    title = [element("title", {}, words=about)] if about else []
    return element("g", {"id": name}, *title, *drawn)


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


SCALES = (1, 1.25, 1.5, 2, 2.5, *range(3, 11), 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200, 400, 1000)
"""Reductions to choose from: wheel over paper; the last one fits whatever a request may hold."""


def scale_for(length_mm: float, room_mm: float) -> float:
    """The least reduction at which a length [mm] fits into a room on paper [mm].

    >>> scale_for(235.8, 60)
    4
    """
    scale: float = next((s for s in SCALES if length_mm <= s * room_mm), SCALES[-1])
    return scale


def picture(width: float, height: float, name: str, title: str, about: str, drawn: Iterable[Element]) -> str:
    """A whole SVG of that size [mm], with its title and description for readers who can't see it."""
    size = [_written(mm(length)) for length in (width, height)]
    root: Attributes = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": " ".join(["0 0", *size]),
        "width": f"{size[0]}mm",
        "height": f"{size[1]}mm",
        "role": "img",
        "aria-labelledby": f"{name}-title {name}-desc",
        "font-family": FONT,
    }
    titled = [
        element("title", {"id": f"{name}-title"}, words=title),
        element("desc", {"id": f"{name}-desc"}, words=about),
    ]
    return tostring(element("svg", root, *titled, *drawn), encoding="unicode")
