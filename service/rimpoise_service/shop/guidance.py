"""Every sentence the service says to a person: one table, code → text and source.

A text may name values in braces, with Python's format codes; ``text_of`` fills them in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..fitting.remarks import Remark

Kind = Literal["caution", "reason", "next_step", "fitting_step", "warning", "note", "derived"]
PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Guidance:
    """A sentence, what it is for and where it comes from."""

    kind: Kind
    text: str
    source: str = PRACTICE


GUIDANCE: dict[str, Guidance] = {
    "high_gain": Guidance(
        "warning",
        "The planes are so close together, or so far to one side, that {gain:.1f} times the weight read would be "
        "fitted; the reading's own errors grow as much. Choose planes further apart.",
    ),
}


def text_of(remark: Remark) -> str:
    """The sentence of a remark, its values filled in. Raises KeyError for a code the table lacks."""
    return GUIDANCE[remark.code].text.format(**remark.values)
