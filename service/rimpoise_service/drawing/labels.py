"""The labels of the face: in a column on either side of the wheel, each with a leader to its weights.

A leader leaves the dial clear of the mark's label and ends at its own label's edge. Labels and leaders stand in
the same order, so that none crosses a label; an hour that a leader crosses is left out of the dial.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from .blocks import WeightBlock
from .frame import Frame, depths
from .lettering import fitted, width_mm
from .pen import BALLOON_MM, INK, NORMAL, SMALL, Anchor, Box, Drawn, Point, balloon, circle, line, spread, text

MARK_HALF_MM = 9.0
"""Half the room that the mark and its label take above the dial [mm]."""


class Lettering(NamedTuple):
    """How weights are labelled on both sides of the wheel.

    column_mm and step_mm: width of the column and step between labels; dial_mm: room outside the wheel [mm].
    roomy: mass and angle stand beside the number, the dial has hours, and the wheel a round scale; else they stand
    below it, and the wheel is as large as there is room.
    """

    column_mm: float
    step_mm: float
    dial_mm: float
    roomy: bool


ROOMY, NARROW = Lettering(23.0, 10.5, 9.0, True), Lettering(10.0, 13.0, 4.6, False)


class Leader(NamedTuple):
    """From the foot on the weight over an elbow outside the dial to the label, on one side: 1 right, −1 left."""

    block: WeightBlock
    foot: Point
    elbow: Point
    label: Point
    side: int


def leaders(blocks: Sequence[WeightBlock], frame: Frame, box: Box, lettering: Lettering) -> list[Leader]:
    """One for every block, from the top down on each side."""
    found: list[Leader] = []
    for side, x in ((1, box.right - lettering.column_mm), (-1, box.x + lettering.column_mm)):
        column = [block for block in blocks if (block.angle_deg < 180) == (side == 1)]
        elbows = {block.numbers: _elbow(block, frame, side, lettering) for block in column}
        column = sorted(column, key=lambda block: (elbows[block.numbers].y, block.numbers))
        wanted = [elbows[block.numbers].y for block in column]
        places = spread(wanted, lettering.step_mm, box.y + 13, box.bottom - lettering.step_mm + 1)
        for block, y in zip(column, places, strict=True):
            found.append(Leader(block, _foot(block, frame), elbows[block.numbers], Point(x, y), side))
    return found


def _foot(block: WeightBlock, frame: Frame) -> Point:
    outer = max(depths(part, frame)[1] for part in block.parts)
    return frame.off(outer, block.angle_deg)


def _elbow(block: WeightBlock, frame: Frame, side: int, lettering: Lettering) -> Point:
    """Where the leader leaves the dial: beside the mark's label, not through it."""
    radius = frame.reach + lettering.dial_mm - 1.4
    clear = math.degrees(math.asin(min(MARK_HALF_MM / radius, 1)))
    angle = block.angle_deg if side > 0 else 360 - block.angle_deg
    return frame.off(radius, side * max(angle, clear + angle / 2))


def labels(found: Sequence[Leader], lettering: Lettering) -> Drawn:
    """Every leader with its label."""
    drawn: Drawn = []
    for each in found:
        drawn += [line(each.foot, each.elbow, each.label), circle(each.foot, 0.45, fill=INK)]
        drawn += _label(each, lettering)
    return drawn


def _label(leader: Leader, lettering: Lettering) -> Drawn:
    """The numbers, then mass and angle: away from the wheel, beside the balloon or below it."""
    block, at, side = leader.block, leader.label, leader.side
    anchor: Anchor = "start" if side > 0 else "end"
    half = max(width_mm(block.numbers, NORMAL) / 2 + 0.8, BALLOON_MM)
    ring = balloon(Point(at.x + side * half, at.y), block.numbers, half)
    if lettering.roomy:
        words = Point(at.x + side * (2 * half + 1), at.y - 0.2)
        room = lettering.column_mm - 2 * half - 1
        size = NORMAL
    else:
        words, room, size = Point(at.x, at.y + BALLOON_MM + 1.1 * SMALL), lettering.column_mm, SMALL
    texts = [
        text(
            Point(words.x, words.y + 1.25 * size * i),
            fitted(each, room, size),
            size=size,
            anchor=anchor,
            bold=not i,
        )
        for i, each in enumerate((block.mass, block.angle))
    ]
    return [*ring, *texts]


def crossed(found: Sequence[Leader], at: Point, half_mm: float) -> bool:
    """Whether any leader passes within half_mm [mm] of a point."""
    legs = [leg for each in found for leg in ((each.foot, each.elbow), (each.elbow, each.label))]
    return any(_distance(at, *leg) < half_mm for leg in legs)


def _distance(at: Point, a: Point, b: Point) -> float:
    """From a point to a stretch of a line [mm]."""
    along = (b.x - a.x, b.y - a.y)
    length = along[0] ** 2 + along[1] ** 2
    share = 0.0 if not length else ((at.x - a.x) * along[0] + (at.y - a.y) * along[1]) / length
    share = min(max(share, 0.0), 1.0)
    return math.hypot(at.x - a.x - share * along[0], at.y - a.y - share * along[1])
