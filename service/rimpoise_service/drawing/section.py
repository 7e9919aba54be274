"""The half cross-section: axis below, outboard to the right; the weights turned into its plane.

Flanges and bead seats are where the marking puts them, lands where they were measured. The well and the barrel's
wall, which no marking defines, are schematic, and a note says so. Heights and widths are in scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from ..messages.reader import current_reader
from ..model.wheel import SIDES
from .clip import CLIP_WIDTH_MM, hooked_clip
from .frame import CLIP_DEPTH_MM, LEAST_DEPTH_MM
from .lettering import width_mm
from .part import LABELS, Part, drawn_length, scale_words
from .pen import (
    BALLOON_MM,
    CHAIN,
    HAIR,
    SHADE,
    SMALL,
    THIN,
    WIDE,
    Box,
    Drawn,
    Point,
    balloon,
    cross,
    dimension,
    group,
    line,
    rectangle,
    scale_for,
    shape,
    text,
)
from .rim import WELL_MM, Profile, profile
from .subject import Subject

STRIP_WIDTH_MM, STRIP_DEPTH_MM = 19.0, 4.0
"""Width and thickness of a strip from unknown stock: schematic [mm]."""

NEAR_MM = 60.0
"""The datum is drawn if it lies within this distance of the rest of the drawing [mm]."""

SIDE_MM, TOP_MM, FOOT_MM, BREAK_MM = 13.0, 13.0, 6.5, 21.0
"""On paper: for the radii, for the head and the rim's width, for each dimension below the axis, for the break."""


@dataclass(frozen=True, slots=True)
class SectionFrame:
    """Where the section is on paper: position_mm and floor_mm [mm] at origin, the axis at axis_y; the scale.

    Between the floor, the least radius drawn, and the axis the view is broken, because nothing is there.
    """

    origin: Point
    position_mm: float
    floor_mm: float
    axis_y: float
    scale: float

    def at(self, position_mm: float, radius_mm: float) -> Point:
        """A place of the section, given by position and radius [mm], on paper."""
        return Point(self.along(position_mm), self.origin.y - (radius_mm - self.floor_mm) / self.scale)

    def along(self, position_mm: float) -> float:
        """A position along the axis on paper."""
        return self.origin.x + (position_mm - self.position_mm) / self.scale


@dataclass(frozen=True, slots=True)
class Spot:
    """The weights that share a position and a radius [mm]: one plane in the section."""

    parts: tuple[Part, ...]

    @property
    def position_mm(self) -> float:
        """Along the axis."""
        return self.parts[0].piece.position_mm

    @property
    def radius_mm(self) -> float:
        """Of the mass centre; the outermost, where strips of two thicknesses have two."""
        return max(part.piece.radius_mm for part in self.parts)


def spots(parts: Sequence[Part]) -> list[Spot]:
    """Weights by plane, inboard first."""
    planes = sorted({part.piece.position_mm for part in parts})
    return [Spot(tuple(p for p in parts if p.piece.position_mm == plane)) for plane in planes]


def section(subject: Subject, box: Box) -> Drawn:
    """The view, in a box. It fills with the pattern ``section-hatch``."""
    found, rim = spots(subject.parts), profile(subject)
    frame = _frame(subject, box, len(found))
    inner, outer = ("left", "right") if current_reader().rider else SIDES
    drawn: Drawn = [
        text(Point(box.x, box.y + 3.5), f"{_head()}, {scale_words(frame.scale)}", bold=True),
        text(Point(box.x, box.y + 8), LABELS(inner), size=SMALL),
        text(Point(box.right, box.y + 8), LABELS(outer), size=SMALL, anchor="end"),
        group("section-wheel", [*_rim(rim, frame), *_lands(subject, frame), *_axis(frame, box)]),
    ]
    for spot in found:
        drawn += [
            group(f"section-weight-{part.number}", _weight(part, subject, frame), part.about)
            for part in spot.parts
        ]
    return [*drawn, group("section-dimensions", _dimensions(subject, found, frame, box))]


def _head() -> str:
    """What the view is, and the unit of its lengths."""
    return LABELS("section_in" if current_reader().units == "us" else "section_mm")


def extent_mm(subject: Subject) -> tuple[float, float]:
    """The least and the largest position that is drawn [mm]; the datum too if it is near."""
    ends = [0.0] if not subject.parts and not subject.lands and subject.rim_centre_mm is None else []
    for part in subject.parts:
        half = _width_mm(part) / 2
        ends += [part.piece.position_mm - half, part.piece.position_mm + half]
    for land in subject.lands:
        ends += [land.position_mm - land.width_mm / 2, land.position_mm + land.width_mm / 2]
    if subject.rim and subject.rim_centre_mm is not None:
        half = subject.rim.width_mm / 2 + 12
        ends += [subject.rim_centre_mm - half, subject.rim_centre_mm + half]
    low, high = min(ends), max(ends)
    return (min(low, 0.0), max(high, 0.0)) if low - NEAR_MM <= 0 <= high + NEAR_MM else (low, high)


def _frame(subject: Subject, box: Box, count: int) -> SectionFrame:
    low, high = extent_mm(subject)
    axis_y = box.bottom - FOOT_MM * max(count, 1) - 2
    room = axis_y - BREAK_MM - box.y - TOP_MM
    floor = _floor_mm(subject)
    scale = max(scale_for(high - low, box.width - 2 * SIDE_MM), scale_for(subject.reach_mm - floor, room))
    return SectionFrame(Point(box.x + box.width / 2, axis_y - BREAK_MM), (low + high) / 2, floor, axis_y, scale)


def _floor_mm(subject: Subject) -> float:
    """The least radius that is drawn [mm]."""
    radii = [land.radius_mm for land in subject.lands]
    radii += [part.piece.radius_mm - (part.depth_mm or CLIP_DEPTH_MM) / 2 for part in subject.parts]
    radii += [subject.rim.radius_mm - WELL_MM] if subject.rim else []
    return max(min(radii, default=subject.reach_mm) - 6, 0.0)


def _rim(rim: Profile | None, frame: SectionFrame) -> Drawn:
    if rim is None:
        return []
    wall = [frame.at(*p) for p in (*rim.outer, *reversed(rim.inner))]
    metal = shape(*wall, fill="url(#section-hatch)")
    return [metal, *(line(*(frame.at(*p) for p in known), width=WIDE) for known in rim.known)]


def _lands(subject: Subject, frame: SectionFrame) -> Drawn:
    drawn: Drawn = []
    for land in subject.lands:
        a = frame.at(land.position_mm - land.width_mm / 2, land.radius_mm)
        b = frame.at(land.position_mm + land.width_mm / 2, land.radius_mm)
        ends = [line(Point(p.x, p.y - 0.9), Point(p.x, p.y + 0.9), width=WIDE) for p in (a, b)]
        drawn += [line(a, b, width=WIDE), *ends]
    for side in SIDES:
        flange = subject.wheel.flange(side) if subject.wheel else None
        if flange and subject.rim_centre_mm is None and flange.position_mm is not None:
            foot = frame.at(flange.position_mm, subject.radius_of(f"{side}_flange"))
            drawn.append(line(Point(foot.x, foot.y - 2.5), Point(foot.x, foot.y + 2.5), width=WIDE))
    return drawn


def _axis(frame: SectionFrame, box: Box) -> Drawn:
    y = frame.axis_y
    axis = line(Point(box.x + 1, y), Point(box.right - 1, y), dashes=CHAIN)
    return [axis, text(Point(box.x + 12, y - 1), LABELS("axis"), size=SMALL), _broken(y - 6.5, box)]


def _broken(y: float, box: Box) -> Element:
    """A thin line with zigzags: the view is cut short here."""
    points = [Point(box.x + 12, y)]
    for share in (0.3, 0.7):
        x = box.x + share * box.width
        points += [Point(x - 1, y), Point(x - 0.4, y - 1.6), Point(x + 0.4, y + 1.6), Point(x + 1, y)]
    return line(*points, Point(box.right - 12, y), width=HAIR)


def _width_mm(part: Part) -> float:
    if part.width_mm is not None:
        return part.width_mm
    return CLIP_WIDTH_MM if part.piece.style == "clip_on" else STRIP_WIDTH_MM


def _weight(part: Part, subject: Subject, frame: SectionFrame) -> Drawn:
    """Its outline, and a cross at its mass centre; a clip-on hangs on the lip where the flange is drawn."""
    piece = part.piece
    centre = frame.at(piece.position_mm, piece.radius_mm)
    hung = hooked_clip(part, subject)
    if hung:
        (a, top), (b, low) = (
            frame.at(z, r) for z, r in zip(hung.positions_mm, reversed(hung.radii_mm), strict=True)
        )
        body = rectangle(Box(a, top, b - a, low - top), width=THIN, fill=SHADE)
        return [body, line(*(frame.at(*corner) for corner in hung.hook), width=WIDE), *cross(centre)]
    schematic = CLIP_DEPTH_MM if piece.style == "clip_on" else STRIP_DEPTH_MM
    depth = max((part.depth_mm or schematic) / frame.scale, LEAST_DEPTH_MM)
    width = max(_width_mm(part) / frame.scale, LEAST_DEPTH_MM)
    outline = Box(centre.x - width / 2, centre.y - depth / 2, width, depth)
    return [rectangle(outline, width=THIN, fill=SHADE), *cross(centre)]


def _dimensions(subject: Subject, found: Sequence[Spot], frame: SectionFrame, box: Box) -> Drawn:
    """Width of the rim above; below the axis, from the datum to each plane; at the sides, the radii."""
    low, high = extent_mm(subject)
    drawn = [*_datum(frame, box)] if low <= 0 <= high else []
    drawn += _rim_width(subject, frame)
    for level, spot in enumerate(found):
        y = frame.axis_y + FOOT_MM * (level + 1)
        inner = level == 0 and len(found) > 1
        drawn += _position(spot, frame, y, datum=low <= 0 <= high)
        x = box.x + 6 if inner else box.right - 6
        drawn += _radius(spot, frame, x if level in (0, len(found) - 1) else box.right - 6)
        drawn += _balloons(spot, frame, -1 if inner else 1)
    return drawn


def _datum(frame: SectionFrame, box: Box) -> Drawn:
    """Where lengths begin; its name keeps clear of the radii at the sides."""
    foot = Point(frame.along(0), frame.axis_y)
    top = Point(foot.x, foot.y - 8.5)
    drawn: Drawn = [line(Point(foot.x, foot.y + 2), top, dashes=CHAIN)]
    name, room = LABELS("datum"), SIDE_MM + width_mm(LABELS("datum"), SMALL) / 2
    x = min(max(foot.x, box.x + room), box.right - room)
    return [*drawn, text(Point(x, top.y - 1), name, size=SMALL, anchor="middle", halo=True)]


def _rim_width(subject: Subject, frame: SectionFrame) -> Drawn:
    rim, centre, outer = subject.rim, subject.rim_centre_mm, subject.outer_mm
    if rim is None or centre is None or outer is None:
        return []
    a, b = (frame.at(centre + side * rim.width_mm / 2, outer) for side in (-1, 1))
    y = a.y - 4
    drawn = [line(Point(p.x, p.y - 1), Point(p.x, y - 1), width=HAIR) for p in (a, b)]
    return [*drawn, *dimension(Point(a.x, y), Point(b.x, y), drawn_length(rim.width_mm))]


def _position(spot: Spot, frame: SectionFrame, y: float, *, datum: bool) -> Drawn:
    """From the datum to the plane of a spot; the number alone where the datum is not drawn."""
    at = frame.at(spot.position_mm, spot.radius_mm)
    words = drawn_length(spot.position_mm)
    drawn: Drawn = [line(Point(at.x, at.y + 1.5), Point(at.x, y + 1), width=HAIR)]
    zero = Point(frame.along(0), frame.axis_y)
    if datum and abs(zero.x - at.x) > 0.5:
        drawn.append(line(Point(zero.x, zero.y + 2), Point(zero.x, y + 1), width=HAIR))
        return [*drawn, *dimension(Point(zero.x, y), Point(at.x, y), words)]
    return [*drawn, text(Point(at.x + 1, y), words if datum else LABELS("from_datum", length=words), halo=True)]


def _radius(spot: Spot, frame: SectionFrame, x: float) -> Drawn:
    at = frame.at(spot.position_mm, spot.radius_mm)
    across: Drawn = [line(at, Point(x + (1 if x > at.x else -1), at.y), width=HAIR)]
    words = LABELS("radius", length=drawn_length(spot.radius_mm))
    return [*across, *dimension(Point(x, at.y), Point(x, frame.axis_y), words)]


def _balloons(spot: Spot, frame: SectionFrame, side: int) -> Drawn:
    """The numbers of a spot's weights, below them, on one side of the line down to the axis."""
    at = frame.at(spot.position_mm, spot.radius_mm)
    y = frame.origin.y + 5
    drawn: Drawn = []
    ordered = spot.parts if side > 0 else tuple(reversed(spot.parts))
    for i, part in enumerate(ordered):
        x = at.x + side * (BALLOON_MM + 1 + 2.2 * BALLOON_MM * i)
        drawn += balloon(Point(x, y), str(part.number))
    joint = Point(at.x + side * 1, y)
    return [line(Point(at.x, y - 2.5), joint), *drawn]
