"""The face of the wheel, seen from outboard: angles grow clockwise from the mark, which is at the top.

Every weight is at its own radius and angle and as long as it is; what can't be seen from outboard is dashed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple
from xml.etree.ElementTree import Element

from ..model.arcs import Arc
from .blocks import blocks_of
from .frame import Frame, depths
from .keepouts import KeepOutGroup, keep_out_groups
from .labels import ROOMY, Leader, Lettering, crossed, labels, leaders
from .lettering import fitted, width_mm
from .part import LABELS, Part, scale_words
from .pen import (
    CHAIN,
    CLOSE,
    DASHED,
    HAIR,
    INK,
    SHADE,
    SMALL,
    THIN,
    VEIL,
    WIDE,
    Box,
    Drawn,
    Point,
    arrowhead,
    bend,
    circle,
    group,
    line,
    move,
    path,
    scale_for,
    shape,
    straight,
    text,
)
from .subject import Subject

HOUR_HALF_MM = 2.0
"""Half the room of an hour on the dial [mm on paper]."""

ASIDE_DEG = (0, 20, -20, 40, -40, 60, -60)
"""Where a sign looks for a place beside its keep-out's middle, in this order [deg]."""

HUB = 0.2
"""The hub and the roots of the spokes, as a share of the wheel: schematic."""


def face(subject: Subject, box: Box, lettering: Lettering = ROOMY) -> Drawn:
    """The view, in a box, with a head. It fills with the pattern ``face-hatch``."""
    head = 9.0
    room = min(box.width / 2 - lettering.column_mm - 1, (box.height - head) / 2) - lettering.dial_mm
    scale = scale_for(subject.reach_mm, room) if lettering.roomy else subject.reach_mm / room
    centre = Point(box.x + box.width / 2, box.y + head + (box.height - head) / 2 + 1)
    frame = Frame(centre, scale, subject.reach_mm / scale)
    groups = keep_out_groups(subject.keep_outs)
    placed = _placed_signs(subject, groups, frame)
    found = leaders(blocks_of(subject.parts), frame, box, lettering)
    seen = LABELS("seen_from_outside")
    return [
        text(Point(box.x, box.y + 3.5), seen + f", {scale_words(scale)}" * lettering.roomy, bold=True),
        text(Point(box.x, box.y + 7.2), LABELS("angles_from_mark"), size=SMALL),
        group("face-wheel", [*_outlines(subject, frame), *_spokes(subject.spokes, frame), *_axes(frame, placed)]),
        *_keep_outs(subject, groups, frame),
        *_weights(subject.parts, frame),
        group("face-signs", [*_spoke_names(subject.spokes, frame, placed), *_signs(placed)]),
        group("face-labels", labels(found, lettering)),
        group("face-dial", [*_dial(frame, found, hours=lettering.roomy), *_mark(frame)]),
    ]


def _outlines(subject: Subject, frame: Frame) -> Drawn:
    drawn: Drawn = []
    if subject.rim and subject.outer_mm:
        drawn += [circle(frame.centre, subject.outer_mm / frame.scale, width=WIDE)]
        drawn += [circle(frame.centre, subject.rim.radius_mm / frame.scale)]
    for radius in sorted({land.radius_mm for land in subject.lands}):
        drawn.append(circle(frame.centre, radius / frame.scale, width=HAIR))
    if not drawn:
        drawn = [circle(frame.centre, frame.reach, dashes=CHAIN)]
    return drawn


def _spokes(spokes: Sequence[Arc], frame: Frame) -> Drawn:
    """Each as the sector it covers, from the hub to the barrel."""
    if not spokes:
        return []
    hub, tip = HUB * frame.reach, 0.87 * frame.reach
    drawn: Drawn = [circle(frame.centre, hub)]
    for spoke in spokes:
        drawn.append(sector(frame, (hub, tip), spoke.start_deg, spoke.width_deg, width=THIN))
    return drawn


def _spoke_names(spokes: Sequence[Arc], frame: Frame, placed: Sequence[Sign]) -> Drawn:
    """On each spoke, where it is wide enough and no sign stands."""
    drawn: Drawn = []
    for spoke in spokes:
        for depth in (0.54 * frame.reach, 0.42 * frame.reach):
            at = frame.off(depth, spoke.centre_deg)
            room = 2 * depth * math.sin(math.radians(min(spoke.width_deg, 170) / 2)) - 1
            words = fitted(spoke.name or "", room, SMALL)
            half_mm = width_mm(words, SMALL) / 2
            if words not in ("", "…") and _clear(at, [sign.at for sign in placed], half_mm):
                drawn.append(text(Point(at.x, at.y + 0.9), words, size=SMALL, anchor="middle", halo=True))
                break
    return drawn


def sector(
    frame: Frame,
    radii: tuple[float, float],
    start_deg: float,
    width_deg: float,
    *,
    width: float,
    dashes: Sequence[float] = (),
    fill: str = "none",
) -> Element:
    """A stretch of a ring between two radii [mm on paper], clockwise from its start [deg]; the outer arc first."""
    inner, outer = sorted(radii)
    end_deg, wide = start_deg + min(width_deg, 359.99), width_deg > 180
    a, b = frame.off(outer, start_deg), frame.off(outer, end_deg)
    c, d = frame.off(inner, end_deg), frame.off(inner, start_deg)
    steps = move(a), bend(outer, b, wide=wide), straight(c), bend(inner, d, wide=wide, clockwise=False), CLOSE
    return path(*steps, width=width, dashes=dashes, fill=fill)


def _axes(frame: Frame, placed: Sequence[Sign]) -> Drawn:
    """The two centre lines; inside the hub, where there is room, which way angles grow: the head says it too."""
    drawn: Drawn = [
        line(
            frame.off(frame.reach + 1.5, angle),
            frame.off(frame.reach + 1.5, angle + 180),
            width=HAIR,
            dashes=CHAIN,
        )
        for angle in (0, 90)
    ]
    radius = 0.6 * HUB * frame.reach
    start, end = frame.off(radius, -50), frame.off(radius, 50)
    drawn += [path(move(start), bend(radius, end)), arrowhead(end, frame.off(radius, 20))]
    words = Point(frame.centre.x, frame.centre.y + 0.36 * SMALL)
    sense = LABELS("clockwise")
    width = width_mm(sense, SMALL)
    fits = width < 2 * HUB * frame.reach and _clear(words, [sign.at for sign in placed], width / 2)
    return [*drawn, *([text(words, sense, size=SMALL, anchor="middle", halo=True)] if fits else [])]


def _dial(frame: Frame, found: Sequence[Leader], *, hours: bool) -> Drawn:
    """Ticks every 10 degrees, and the hours that no leader crosses."""
    drawn: Drawn = []
    for angle in range(0, 360, 10):
        inner, outer = frame.reach + 1.5, frame.reach + (3.2 if angle % 30 == 0 else 2.4)
        drawn.append(line(frame.off(inner, angle), frame.off(outer, angle), width=HAIR))
    for hour in range(1, 12) if hours else ():
        at = frame.off(frame.reach + 4.9, 30 * hour)
        if not crossed(found, at, HOUR_HALF_MM):
            drawn.append(text(Point(at.x, at.y + 0.36 * SMALL), str(hour), size=SMALL, anchor="middle", halo=True))
    return drawn


def _mark(frame: Frame) -> Drawn:
    """The caller's mark, where angles begin: a filled triangle that points at it."""
    tip = frame.off(frame.reach + 1.2, 0)
    corners = [Point(tip.x - 1.7, tip.y - 3.2), Point(tip.x + 1.7, tip.y - 3.2)]
    mark = shape(tip, *corners, fill=INK)
    return [mark, text(Point(tip.x, tip.y - 4.4), LABELS("mark"), anchor="middle", bold=True)]


def _keep_outs(subject: Subject, groups: Sequence[KeepOutGroup], frame: Frame) -> Drawn:
    """Hatched bands over their places."""
    drawn: Drawn = []
    for found in groups:
        radii, arc = _band(subject, found, frame), found.arc
        band = sector(frame, radii, arc.start_deg, arc.width_deg, width=THIN, fill="url(#face-hatch)")
        drawn.append(group(f"face-{found.sign}", [band], found.about))
    return drawn


def _band(subject: Subject, found: KeepOutGroup, frame: Frame) -> tuple[float, float]:
    radii = [subject.radius_of(place) / frame.scale for place in found.places]
    return min(radii) - 1.6, max(radii) + 1.6


class Sign(NamedTuple):
    """The sign of a keep-out, where it stands, and the leader from its band to it."""

    words: str
    at: Point
    leader: tuple[Point, Point]


def _placed_signs(subject: Subject, groups: Sequence[KeepOutGroup], frame: Frame) -> list[Sign]:
    """The sign of each keep-out, as in the legend; further in than all bands and weights."""
    inner = min(
        [_band(subject, found, frame)[0] for found in groups] + [depths(part, frame)[0] for part in subject.parts],
        default=0.0,
    )
    placed: list[Sign] = []
    for found in groups:
        at, end = _free(frame, inner - 4, found.arc.centre_deg, [sign.at for sign in placed])
        edge = frame.off(_band(subject, found, frame)[0], found.arc.centre_deg)
        placed.append(Sign(found.sign, at, (edge, end)))
    return placed


def _signs(placed: Sequence[Sign]) -> Drawn:
    drawn: Drawn = []
    for sign in placed:
        drawn.append(line(*sign.leader, width=HAIR))
        words = Point(sign.at.x, sign.at.y + 0.36 * SMALL)
        drawn.append(text(words, sign.words, size=SMALL, anchor="middle", halo=True))
    return drawn


def _free(frame: Frame, radius: float, angle_deg: float, taken: Sequence[Point]) -> tuple[Point, Point]:
    """The first free place for a sign, from a radius inwards, then to the sides; and where its leader ends."""
    for aside_deg in ASIDE_DEG:
        for depth in (max(radius - 3.4 * step, 0.0) for step in range(8)):
            at = frame.off(depth, angle_deg + aside_deg)
            if _clear(at, taken):
                return at, frame.off(depth + 1.6, angle_deg + aside_deg)
    return frame.off(radius, angle_deg), frame.off(radius + 1.6, angle_deg)


def _clear(at: Point, taken: Sequence[Point], half_mm: float = 2.5) -> bool:
    """Whether a word of so much to each side [mm] stands clear of signs."""
    return all(abs(at.x - t.x) > half_mm + 2.5 or abs(at.y - t.y) > 3.2 for t in taken)


def _weights(parts: Sequence[Part], frame: Frame) -> Drawn:
    """All weights; the hidden ones last, so that their dashes are seen where two lie behind each other."""
    in_order = sorted(parts, key=lambda part: part.piece.hidden)
    return [group(f"face-weight-{part.number}", [_weight(part, frame)], part.about) for part in in_order]


def _weight(part: Part, frame: Frame) -> Element:
    piece = part.piece
    dashes, fill = (DASHED, VEIL) if piece.hidden else ((), SHADE)
    if not piece.arc_deg:
        return circle(frame.at(piece.radius_mm, piece.angle_deg), 1.3, width=WIDE, dashes=dashes[:2], fill=fill)
    inner, outer = depths(part, frame)
    start = piece.angle_deg - piece.arc_deg / 2
    return sector(frame, (inner, outer), start, piece.arc_deg, width=WIDE, dashes=dashes, fill=fill)
