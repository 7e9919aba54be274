"""What a layout is called: a stable English name, which a request gives back, and the same as a message."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, Protocol

from ..messages.message import Message, message

Style = Literal["clip_on", "adhesive"]
Way = Literal["place", "two_planes", "one_plane", "halves"]
"""A style at a place alone; corrected in two planes, in one, or with half the static sum on each of two."""

PREFIX: dict[Way, str] = {
    "place": "",
    "two_planes": "",
    "one_plane": "static only: ",
    "halves": "static, half each: ",
}


@dataclass(frozen=True, slots=True)
class StyleAt:
    """A style of weights at a place; behind_spokes: only there; word: for the style, in sentences."""

    style: Style
    place: str
    behind_spokes: bool = False
    word: Literal["spoke_weight"] | None = None

    @property
    def label(self) -> str:
        """Its part of a layout's name."""
        words = f"{'clip-on' if self.style == 'clip_on' else 'adhesive'} on {self.place.replace('_', ' ')}"
        return f"{words} behind the spokes" if self.behind_spokes else words


@dataclass(frozen=True, slots=True)
class LayoutName:
    """One style at a place or two, and how they correct together."""

    way: Way
    parts: tuple[StyleAt, ...]

    @property
    def text(self) -> str:
        """The stable name; no two layouts of a wheel have the same."""
        return PREFIX[self.way] + " + ".join(part.label for part in self.parts)

    @property
    def in_words(self) -> Message:
        """The same in words, as a message."""
        values: dict[str, object] = {}
        for number, part in enumerate(self.parts, 1):
            values |= {f"style_{number}": part.word or part.style, f"place_{number}": part.place}
            values |= {f"behind_{number}": "behind_spokes"} if part.behind_spokes else {}
        return message(f"layout_{self.way}", **values)


class Named:
    """What is called after a layout: whatever has a ``named``."""

    __slots__ = ()
    named: LayoutName

    @property
    def name(self) -> str:
        """The stable one."""
        return self.named.text

    @property
    def in_words(self) -> Message:
        """What it is called, in words."""
        return self.named.in_words


class Fitted(Protocol):
    """A weight, as far as a layout's name goes."""

    @property
    def place(self) -> str: ...
    @property
    def style(self) -> Style: ...
    @property
    def window(self) -> str | None: ...


def said_of(way: str, pieces: Iterable[Fitted]) -> Message | None:
    """What a layout is called by where its pieces are; None without any. An unknown way is left out."""
    windows: dict[tuple[Style, str], list[bool]] = {}
    for piece in pieces:
        windows.setdefault((piece.style, piece.place), []).append(piece.window is not None)
    parts = tuple(StyleAt(style, place, all(behind)) for (style, place), behind in windows.items())
    if len(parts) > 2:
        return message("layout_places", places=tuple(part.place for part in parts))
    ways: tuple[Way, ...] = ("place", "one_plane") if len(parts) == 1 else ("two_planes", "halves")
    return LayoutName(next((w for w in ways if w == way), ways[0]), parts).in_words if parts else None
