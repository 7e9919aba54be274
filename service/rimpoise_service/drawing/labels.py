"""The labels of the face: in a column on either side of the wheel, each with a leader to its weight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from .frame import Frame, depths
from .pen import BALLOON_MM, INK, NORMAL, Anchor, Box, Drawn, Point, balloon, circle, line, spread, text
from .subject import Part


class Lettering(NamedTuple):
    """How weights are labelled on both sides of the wheel: width of the column and step between labels [mm].

    Mass, angle and clock stand beside the number; where there is less room, mass and clock stand below it.
    """

    column_mm: float
    step_mm: float
    beside: bool


BESIDE, BELOW = Lettering(21.0, 11.5, True), Lettering(15.0, 13.5, False)


def labels(parts: Sequence[Part], frame: Frame, box: Box, lettering: Lettering) -> Drawn:
    """The label of every weight, in the column on its side, with a leader to the weight."""
    drawn: Drawn = []
    right = [p for p in parts if p.piece.angle_deg < 180]
    left = [p for p in parts if p.piece.angle_deg >= 180]
    for column, x, sign in ((right, box.right - lettering.column_mm, 1), (left, box.x + lettering.column_mm, -1)):
        out = sorted(column, key=lambda p: (_elbow(p, frame).y, p.number))
        wanted = [_elbow(p, frame).y for p in out]
        for part, y in zip(
            out, spread(wanted, lettering.step_mm, box.y + 13, box.bottom - lettering.step_mm + 1), strict=True
        ):
            drawn += [*_leader(part, frame, Point(x, y)), *_label(part, Point(x, y), sign, lettering)]
    return drawn


def _elbow(part: Part, frame: Frame) -> Point:
    """Where the leader leaves the dial."""
    return frame.off(frame.reach + 7.6, part.piece.angle_deg)


def _leader(part: Part, frame: Frame, to: Point) -> Drawn:
    foot = frame.off(depths(part, frame)[1], part.piece.angle_deg)
    return [line(foot, _elbow(part, frame), to), circle(foot, 0.45, fill=INK)]


def _label(part: Part, at: Point, sign: int, lettering: Lettering) -> Drawn:
    """The number, then the lines: away from the wheel on the right (sign 1) and on the left (-1)."""
    anchor: Anchor = "start" if sign > 0 else "end"
    step, words = 1.2 * NORMAL, Point(at.x + sign * (2 * BALLOON_MM + 1), at.y + 0.36 * NORMAL)
    lines = [part.mass, part.angle, part.piece.clock]
    if not lettering.beside:
        words, lines = Point(at.x, at.y + BALLOON_MM + step), [part.mass, part.piece.clock]
    texts = [
        text(Point(words.x, words.y + step * i), each, anchor=anchor, bold=i == 0) for i, each in enumerate(lines)
    ]
    return [*balloon(Point(at.x + sign * BALLOON_MM, at.y), part.number), *texts]
