"""A weight's place as a length along the rim, which a tape or a finger's breadth finds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

RimOrigin = Literal["called_spot", "mark"]
RimLine = Literal["lip_edge", "land", "rim"]

ON_THE_SPOT_MM = 2.0
"""Nearer than this a weight is on the spot [mm]; hands err by more."""


@dataclass(frozen=True, slots=True)
class RimWay:
    """rim_mm [mm] from ``origin`` in ``direction``, seen from outboard, along the lip's edge, the land, or the rim
    of a wire wheel."""

    rim_mm: float
    origin: RimOrigin
    direction: Literal["clockwise", "counterclockwise"]
    along: RimLine

    @property
    def values(self) -> dict[str, object]:
        """What a sentence needs: a way, or the word for a weight on the spot itself."""
        if self.rim_mm < ON_THE_SPOT_MM:
            return {"spot": f"on_{self.origin}"}
        return {"rim_mm": self.rim_mm, "from": self.origin, "direction": self.direction, "along": self.along}
