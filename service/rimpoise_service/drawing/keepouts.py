"""Keep-outs grouped for the drawing: one sign for each arc and reason, whatever places it holds for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..model.arcs import Arc
from ..model.wheel import KeepOut
from .part import LABELS, place_in_words, whole_degrees


@dataclass(frozen=True, slots=True)
class KeepOutGroup:
    """A sign, the places it holds for, the arc and the reason."""

    sign: str
    places: tuple[str, ...]
    arc: Arc
    reason: str

    @property
    def about(self) -> str:
        """In words, for the legend."""
        where = ", ".join(place_in_words(place) for place in self.places)
        start, end = self.arc.start_deg, self.arc.start_deg + self.arc.width_deg
        ends = {"start": whole_degrees(start), "end": whole_degrees(end)}
        return LABELS("keep_out", sign=self.sign, places=where, reason=self.reason, **ends)


def keep_out_groups(keep_outs: Sequence[KeepOut]) -> tuple[KeepOutGroup, ...]:
    """Numbered K1, K2 and so on, in the order of the request."""
    places: dict[tuple[float, float, str], list[str]] = {}
    for k in keep_outs:
        places.setdefault((k.arc.start_deg, k.arc.width_deg, k.reason), []).append(k.place)
    return tuple(
        KeepOutGroup(f"K{number}", tuple(dict.fromkeys(found)), Arc(start, width), reason)
        for number, ((start, width, reason), found) in enumerate(places.items(), 1)
    )
