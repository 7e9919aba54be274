"""Weights that touch, end to end on one place, as one block: one label and one leader for all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..physics.unbalance import wrap_deg
from ..planning.touching import follows, in_blocks
from .part import Drawable, Part, stamped, whole_degrees


@dataclass(frozen=True, slots=True)
class WeightBlock:
    """One weight, or several end to end, in their order clockwise."""

    parts: tuple[Part, ...]

    @property
    def numbers(self) -> str:
        """Its weights by number.

        A block of weights 2, 3 and 4 is "2–4"; one of 1 and 3 is "1, 3".
        """
        found = sorted(part.number for part in self.parts)
        if len(found) > 1 and found[-1] - found[0] == len(found) - 1:
            return f"{found[0]}–{found[-1]}"
        return ", ".join(map(str, found))

    @property
    def mass_g(self) -> float:
        """Of all its weights [g]."""
        return sum(part.piece.mass_g for part in self.parts)

    @property
    def mass(self) -> str:
        """As the fitter reads it."""
        return stamped(self.mass_g)

    @property
    def angle_deg(self) -> float:
        """Of its middle, half way between its ends [deg]."""
        first, last = self.parts[0].piece, self.parts[-1].piece
        start = first.angle_deg - first.arc_deg / 2
        width = wrap_deg(last.angle_deg + last.arc_deg / 2 - start) if len(self.parts) > 1 else first.arc_deg
        return wrap_deg(start + width / 2)

    @property
    def angle(self) -> str:
        """The same in whole degrees."""
        return whole_degrees(self.angle_deg)


def blocks_of(parts: Sequence[Part]) -> tuple[WeightBlock, ...]:
    """Every weight in one block, in the order of their first numbers."""
    blocks = in_blocks([part.piece for part in parts], _share_a_label)
    return tuple(WeightBlock(tuple(parts[k] for k in block)) for block in blocks)


def _share_a_label(first: Drawable, second: Drawable) -> bool:
    """Whether the second is a strip that begins where the first, behind the same spoke, ends."""
    strips = "clip_on" not in (first.style, second.style)
    return strips and first.window == second.window and follows(first, second)
