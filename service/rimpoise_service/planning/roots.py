"""What the places of a layout take together: every combination of one with every one of the other, as nodes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..physics.arrays import Floats, Ints
from .candidates import Combinations
from .nodes import Nodes


@dataclass(frozen=True)
class Roots:
    """What whole combinations take, each a row: of the shelves, mass [g], free lip at each place [rad]; boxes."""

    usage: Ints
    mass: Floats
    lips: Floats
    low: Floats
    high: Floats


def together(parts: Sequence[Combinations], towards: Sequence[float]) -> tuple[Nodes, Roots]:
    """Every combination of one place with every one of the other; or those of one place alone.

    towards: direction of each place's exact correction [rad], which the combinations are relative to.
    """
    sizes = [len(part) for part in parts]
    at = (
        [np.repeat(np.arange(sizes[0]), sizes[1]), np.tile(np.arange(sizes[1]), sizes[0])]
        if len(parts) > 1
        else [np.arange(sizes[0])]
    )
    picked = [part[i] for part, i in zip(parts, at, strict=True)]
    low = np.concatenate([part.low + turn for part, turn in zip(picked, towards, strict=True)], axis=1)
    high = np.concatenate([part.high + turn for part, turn in zip(picked, towards, strict=True)], axis=1)
    nodes = Nodes(
        block=np.concatenate([part.block for part in picked], axis=1),
        low=low,
        high=high,
        handling=np.sum([part.handling for part in picked], axis=0),
        penalty=np.zeros(len(low)),
        root=np.arange(len(low)),
        log_bound=np.zeros(len(low)),
    )
    roots = Roots(
        usage=np.sum([part.usage for part in picked], axis=0),
        mass=np.sum([part.mass for part in picked], axis=0),
        lips=np.stack([part.lip for part in picked], axis=1),
        low=low,
        high=high,
    )
    return nodes, roots
