"""The circle of a flange or a land that weights sit on, and the blocks that they can make there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..model.arcs import Arc
from ..model.stock import ClipOn, Strip
from ..physics.arrays import Ints
from ..search.block_catalogue import ASSUMED_CLIP_MM, ClipOptions, StripOptions
from ..search.blocks import Blocks, FittedWeight


@dataclass(frozen=True)
class BlockSet:
    """Blocks of several options in one row: which option each is of, which of its blocks, in which free arc."""

    options: Sequence[ClipOptions | StripOptions]
    blocks: Blocks
    option: Ints
    index: Ints
    window: Ints

    @classmethod
    def of(cls, options: Sequence[ClipOptions | StripOptions]) -> BlockSet:
        """All of their blocks, which are large and kept once: each option has its part of them."""
        counts = [len(o.blocks) for o in options]
        first, *others = (o.blocks for o in options)
        blocks = first.and_more(*others)
        parts = [slice(end - count, end) for end, count in zip(np.cumsum(counts), counts, strict=True)]
        return cls(
            options=[replace(o, blocks=blocks[part]) for o, part in zip(options, parts, strict=True)],
            blocks=blocks,
            option=np.arange(len(options)).repeat(counts),
            index=np.concatenate([np.arange(count) for count in counts]),
            window=np.concatenate([o.window for o in options]),
        )

    def units(self, block: int, angle: float) -> list[FittedWeight]:
        """The weights of a block whose vector points in a direction [rad], clockwise."""
        return self.options[int(self.option[block])].units(int(self.index[block]), angle)

    def usage(self, skus: Sequence[str]) -> Ints:
        """What each block takes from each of the shelves, (n, shelves)."""
        return np.concatenate([option.usage(skus) for option in self.options])


@dataclass(frozen=True)
class Circle:
    """A circle's radius_mm [mm], its free arcs, the weights of one style that fit, and how many may go there."""

    radius_mm: float
    arcs: tuple[Arc, ...]
    items: tuple[ClipOn, ...] | tuple[Strip, ...]
    max_pieces: int

    @property
    def has_room(self) -> bool:
        """Whether the shortest weight finds a free arc that is long enough."""
        lengths = [
            (i.length_mm or ASSUMED_CLIP_MM) if isinstance(i, ClipOn) else i.segment_length_mm for i in self.items
        ]
        widest = math.radians(max((arc.width_deg for arc in self.arcs), default=0.0))
        return bool(self.arcs) and min(lengths) <= widest * self.radius_mm

    @cached_property
    def single_blocks(self) -> BlockSet:
        """The blocks of one weight each."""
        return BlockSet.of(self._options(1))

    @cached_property
    def all_blocks(self) -> BlockSet:
        """The blocks of up to as many weights as may go there: seldom needed, for they are large."""
        return BlockSet.of(self._options(self.max_pieces))

    def _options(self, pieces: int) -> Sequence[ClipOptions | StripOptions]:
        """The blocks of so many weights and fewer: all clip-ons together, each strip for itself."""
        clips = [i for i in self.items if isinstance(i, ClipOn)]
        strips = [i for i in self.items if isinstance(i, Strip)]
        if clips:
            return [ClipOptions.on_flange(clips, self.radius_mm, self.arcs, pieces)]
        return [StripOptions.on_land(s, self.radius_mm, self.arcs, pieces) for s in strips]
