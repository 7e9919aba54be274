"""Where round the wheel a piece may be: spokes, less the places it must keep off. Spokes that touch are one cover.

An arc is a start and a width, clockwise, so that crossing 0° needs no special case.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
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
        ahead = _ahead(self, other)
        begins_inside = ahead < self.width_deg - ROUNDING_DEG
        return begins_inside or ahead + other.width_deg > FULL_TURN_DEG + ROUNDING_DEG

    def contains(self, other: Arc) -> bool:
        """Whether the other lies wholly inside, ends included.

        >>> Arc.centred(0, 40).contains(Arc.centred(355, 20))
        True
        """
        ahead = _ahead(self, other)
        return self.endless or ahead + other.width_deg <= self.width_deg + ROUNDING_DEG


WHOLE_CIRCLE = Arc(0.0, FULL_TURN_DEG, endless=True)


def merged(arcs: Sequence[Arc]) -> tuple[Arc, ...]:
    """Arcs that touch or overlap as one, clockwise; where they close the circle, the whole, which has no seam.

    The name of a merged arc is made of those of the first and the last, clockwise.

    >>> spokes = [Arc(350.0, 20.0, "1"), Arc(10.0, 5.0, "2"), Arc(90.0, 9.0, "3")]
    >>> [(a.start_deg, a.width_deg, a.name) for a in merged(spokes)]
    [(350.0, 25.0, '1 and 2'), (90.0, 9.0, '3')]
    """
    first = next((a for a in arcs if not any(_runs_into(b, a) for b in arcs)), None)
    if first is None:  # every start is covered, and so is the circle
        in_order = sorted(arcs, key=lambda a: _ahead(arcs[0], a))
        return tuple(Arc(a.start_deg, FULL_TURN_DEG, joined_name(in_order), endless=True) for a in arcs[:1])
    return tuple(_chained(first, arcs))


def joined_name(chain: Sequence[Arc]) -> str | None:
    """What arcs that touch are called together, clockwise: "1", "1 and 2", "1 to 3"; None if any has no name."""
    names = [arc.name for arc in chain if arc.name is not None]
    if len(names) < len(chain) or not names:
        return None
    return names[0] if len(names) == 1 else f"{names[0]} {'and' if len(names) == 2 else 'to'} {names[-1]}"


def _chained(first: Arc, arcs: Sequence[Arc]) -> Iterator[Arc]:
    """Arcs that touch one after the other as one each, from one on that no other runs into."""
    chain, begin, end = [first], 0.0, first.width_deg
    for arc in sorted(arcs, key=lambda a: (_ahead(first, a), -a.width_deg)):
        ahead = _ahead(first, arc)
        if ahead > end + ROUNDING_DEG:
            yield _joined(chain, end - begin)
            chain, begin, end = [arc], ahead, ahead + arc.width_deg
        elif arc is not first:
            chain, end = [*chain, arc], max(end, ahead + arc.width_deg)
    yield _joined(chain, end - begin)


def _joined(chain: Sequence[Arc], width_deg: float) -> Arc:
    return chain[0] if len(chain) == 1 else Arc(chain[0].start_deg, width_deg, joined_name(chain))


def _ahead(one: Arc, other: Arc) -> float:
    """How far the other begins after this one, clockwise [deg]."""
    return wrap_deg(other.start_deg - one.start_deg + ROUNDING_DEG) - ROUNDING_DEG


def _runs_into(one: Arc, other: Arc) -> bool:
    """Whether an arc that begins before the other reaches it; one of a full turn reaches itself."""
    if one.width_deg >= FULL_TURN_DEG - ROUNDING_DEG:
        return True
    ahead = _ahead(one, other)
    return ROUNDING_DEG < ahead <= one.width_deg + ROUNDING_DEG


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
