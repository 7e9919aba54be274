"""Where round the wheel a piece may be: spokes, less the places it must keep off.

An arc is a start and a width, clockwise, so that crossing 0° needs no special case.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ..physics.unbalance import wrap_deg

FULL_TURN_DEG = 360.0

ROUNDING_DEG = 1e-6
"""A piece that reaches its window's end to the sixth decimal is inside [deg]."""


@dataclass(frozen=True, slots=True)
class Arc:
    """A stretch of the circle: start_deg in [0, 360), width_deg up to 360 [deg], clockwise; name if it has one.

    An ``endless`` arc is the whole circle; one of 360° that is not has two ends, which meet.
    """

    start_deg: float
    width_deg: float
    name: str | None = None
    endless: bool = False

    @classmethod
    def between(cls, from_deg: float, to_deg: float, name: str | None = None) -> Arc:
        """Clockwise from → to [deg], may cross 0; 0 → 360 is the whole circle, 90 → 90 the one direction.

        >>> Arc.between(350, 10).width_deg
        20.0
        """
        width = to_deg - from_deg
        return cls(wrap_deg(from_deg), width if width >= 0 else width + FULL_TURN_DEG, name)

    @classmethod
    def centred(cls, centre_deg: float, width_deg: float, name: str | None = None) -> Arc:
        """The arc that wide about a centre [deg].

        >>> Arc.centred(0, 40).start_deg
        340.0
        """
        return cls(wrap_deg(centre_deg - width_deg / 2), width_deg, name)

    @property
    def centre_deg(self) -> float:
        """The middle [deg]."""
        return wrap_deg(self.start_deg + self.width_deg / 2)

    def overlaps(self, other: Arc) -> bool:
        """Whether the two share more than an end."""
        ahead = wrap_deg(other.start_deg - self.start_deg + ROUNDING_DEG) - ROUNDING_DEG
        begins_inside = ahead < self.width_deg - ROUNDING_DEG
        return begins_inside or ahead + other.width_deg > FULL_TURN_DEG + ROUNDING_DEG

    def contains(self, other: Arc) -> bool:
        """Whether the other lies wholly inside, ends included.

        >>> Arc.centred(0, 40).contains(Arc.centred(355, 20))
        True
        """
        ahead = wrap_deg(other.start_deg - self.start_deg + ROUNDING_DEG) - ROUNDING_DEG
        return self.endless or ahead + other.width_deg <= self.width_deg + ROUNDING_DEG


WHOLE_CIRCLE = Arc(0.0, FULL_TURN_DEG, endless=True)


def subtract(arc: Arc, taken: Iterable[Arc]) -> tuple[Arc, ...]:
    """What is left of an arc when others are taken out: the free stretches, clockwise, with the arc's name.

    >>> [(a.start_deg, a.width_deg) for a in subtract(Arc.between(340, 40), [Arc.between(355, 5)])]
    [(340.0, 15.0), (5.0, 35.0)]
    """
    free: tuple[Arc, ...] = (arc,)
    for out in taken:
        free = tuple(piece for stretch in free for piece in _subtract_one(stretch, out))
    return free


def _subtract_one(arc: Arc, out: Arc) -> tuple[Arc, ...]:
    if arc.endless:
        opened = Arc(wrap_deg(out.start_deg + out.width_deg), FULL_TURN_DEG - out.width_deg, arc.name)
        return (opened,) if opened.width_deg > 0 else ()
    # In the arc's own measure, [0, width], the other lies at `ahead` and, one turn back, at `ahead − 360`.
    ahead = wrap_deg(out.start_deg - arc.start_deg)
    cuts = [(ahead - FULL_TURN_DEG, ahead - FULL_TURN_DEG + out.width_deg), (ahead, ahead + out.width_deg)]
    free, begin = [], 0.0
    for cut_from, cut_to in cuts:
        if cut_to < 0 or cut_from > arc.width_deg:
            continue
        free.append((begin, max(begin, cut_from)))
        begin = max(begin, cut_to)
    free.append((begin, arc.width_deg))
    return tuple(
        replace(arc, start_deg=wrap_deg(arc.start_deg + lo), width_deg=hi - lo) for lo, hi in free if hi > lo
    )
