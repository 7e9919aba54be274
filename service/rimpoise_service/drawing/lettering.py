"""How wide a text is on paper, and what of it a page or a drawing can carry."""

from __future__ import annotations

import unicodedata

_BIDI_CONTROLS = {*range(0x202A, 0x202F), *range(0x2066, 0x206A)}


def clean(words: str) -> str:
    """A text as XML and HTML can carry it: control characters, also of direction, made visible.

    >>> clean("a < b & c"), clean("up\\u202edown")
    ('a < b & c', 'up\\ufffddown')
    """
    return "".join("\ufffd" if _unfit(c) else c for c in words)


def _unfit(char: str) -> bool:
    code = ord(char)
    unfit = code in _BIDI_CONTROLS or code & 0xFFFE == 0xFFFE or unicodedata.category(char) in ("Cc", "Cs")
    return unfit and char != "\n"


def width_mm(words: str, size: float) -> float:
    """An estimate, on the safe side, of the width [mm] of a text of that size [mm] in a sans serif."""
    return size * sum(map(_em, words))


def _em(char: str) -> float:
    if unicodedata.east_asian_width(char) in "WF":
        return 1.0
    if char in "il|.,:;'!()[] jtfrI·":
        return 0.36
    if char in "mwMW@%—…":
        return 1.0
    return 0.73 if char.isupper() else 0.57


def fitted(words: str, room: float, size: float) -> str:
    """A text, cut with an ellipsis if it is wider than the room [mm].

    >>> fitted("behind spoke 3", 100, 3), fitted("behind spoke 3", 12, 3)
    ('behind spoke 3', 'behin…')
    """
    if width_mm(words, size) <= room:
        return words
    kept = words
    while kept and width_mm(kept + "…", size) > room:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"


def wrapped(words: str, room: float, size: float) -> list[str]:
    """A text in lines that are no wider than the room [mm]; a word too long for one is cut."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if width_mm(longer, size) <= room:
            lines[-1] = longer
        else:
            lines.append(fitted(word, room, size))
    return [line for line in lines if line]
