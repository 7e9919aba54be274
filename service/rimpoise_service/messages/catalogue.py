"""Every sentence that people read: one file a language, code → text, in ``en.toml`` also its source.

A text names its values in braces; the end of a value's name is its unit, and ``quantities`` writes it. What stands
in square brackets is left out where one of its values is missing. After a colon:

- ``{count:# weight|# weights}``: the form for the number, ``#`` the number itself;
- ``{angle_deg:clock}``: about where an hour hand would stand;
- ``{mass_g:weight}``: as printed on a weight; ``{mass_g:total}``: the same of weights in all, but grams to the
  tenth; ``{total_mm:fine}``: to the hundredth, a mass to the tenth;
- ``{static_g:about}``: about how much, or next to nothing; ``{left_g:up}``, ``{limit_g:down}``: rounded so;
- ``{position_mm:axis}``: how far inwards or outwards;
- ``{angle:whole}``: whole degrees, below 360; ``{low_km:bare}``: without its unit;
- ``{place:head}``: with a capital, at the head of a sentence;
- ``{words:or}``, ``{numbers:and}``: several as alternatives, or all of them;
- ``{low:plain}``: as a program writes it.

A value that is a word of the table ``word`` is given in that language; other texts stay as they are.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from string import Formatter
from typing import Any

from .message import Message
from .quantities import plural, quantity
from .reader import FALLBACK, Language, Reader, current_reader

PRACTICE = "common practice, no source"

FILES: Mapping[Language, str] = {"en-GB": "en.toml", "en-US": "en_us.toml", "de": "de.toml", "es": "es.toml"}


@dataclass(frozen=True, slots=True)
class CatalogueEntry:
    """A sentence, its kind and its source."""

    kind: str
    text: str
    source: str = PRACTICE


AS_IT_IS = frozenset(
    {"sku", "skus", "window", "rim", "tyre", "profile", "law", "valve", "step"}
    | {"like", "known", "called", "fields", "key", "given", "was", "instead"}
)
"""Values that are the caller's own texts, or numbers with their unit."""
OF_TYPES = frozenset({"an object", "a list"})
"""What is said of a value that is too long to be shown; no text of a caller's, which has quotation marks."""


RIDER_WORDS = {
    "inboard": "left",
    "outboard": "right",
    "inboard_flange": "left_flange",
    "outboard_flange": "right_flange",
    "inwards": "leftwards",
    "outwards": "rightwards",
    "from_outside": "from_right",
}
"""A motorcycle's sides as the rider sits: its outboard side is taken as the right one."""

OR, AND, PLAIN, ABOUT, AXIS, HEAD = "or", "and", "plain", "about", "axis", "head"
"""Alternatives; all of several; as a program writes it; about how much; a way along the axis; with a capital."""


@cache
def _tables(language: Language) -> dict[str, dict[str, Any]]:
    return tomllib.loads(files(__package__).joinpath(FILES[language]).read_text(encoding="utf-8"))


@cache
def words_of(language: Language) -> dict[str, str]:
    """The names that values can be, by the word that stands for them."""
    return _tables(language).get("word", {})


@cache
def texts_of(language: Language) -> dict[str, str]:
    """The sentences that a language has, by code."""
    tables = (table for kind, table in _tables(language).items() if kind != "word")
    return {
        code: said if isinstance(said, str) else said["text"] for table in tables for code, said in table.items()
    }


def _read() -> dict[str, CatalogueEntry]:
    return {
        code: CatalogueEntry(kind, said) if isinstance(said, str) else CatalogueEntry(kind, **said)
        for kind, table in _tables(FALLBACK).items()
        if kind != "word"
        for code, said in table.items()
    }


CATALOGUE: dict[str, CatalogueEntry] = _read()
"""All sentences by code, in the fallback's language."""


@dataclass(frozen=True, slots=True)
class Part:
    """A literal and the value after it: its name (None: none) and its format."""

    literal: str
    name: str | None
    spec: str


@dataclass(frozen=True, slots=True)
class Segment:
    """Parts in a row; an optional one is left out where a value is missing."""

    parts: tuple[Part, ...]
    optional: bool


def template_of(code: str, language: Language) -> str:
    """The text of a code with its braces, English where the language lacks it. Raises KeyError."""
    return texts_of(language).get(code) or CATALOGUE[code].text


@cache
def segments_of(code: str, language: Language) -> tuple[Segment, ...]:
    """A text, parsed. Raises KeyError for a code that the tables lack."""
    pieces = re.split(r"\[([^\]]*)\]", template_of(code, language))
    return tuple(
        Segment(tuple(Part(t, n, s or "") for t, n, s, _ in Formatter().parse(piece)), bool(k % 2))
        for k, piece in enumerate(pieces)
        if piece
    )


def text_of(message: Message, reader: Reader | None = None) -> str:
    """The sentence of a message, its values filled in, for the current reader unless another one is given.

    Raises KeyError for a code the tables lack, or a value the sentence needs.

    >>> text_of(Message("no_strips"))
    'No adhesive weights in stock.'
    """
    reader = reader or current_reader()
    values, parts = message.values, list[str]()
    for segment in segments_of(message.code, reader.language):
        if segment.optional and not all(p.name in values for p in segment.parts if p.name):
            continue
        for part in segment.parts:
            parts.append(part.literal)
            if part.name:
                parts.append(_value(part.name, values[part.name], part.spec, reader))
    return "".join(parts)


def _value(name: str, value: object, spec: str, reader: Reader) -> str:
    if isinstance(value, str):
        said = value if name in AS_IT_IS and value not in OF_TYPES else word(value, reader)
        return said[:1].upper() + said[1:] if spec == HEAD else said
    if isinstance(value, tuple):
        listed = [_value(name, each, spec, reader) for each in value]
        if spec in (OR, AND) and len(listed) > 1:
            listed[-2:] = [f"{listed[-2]} {word(spec, reader)} {listed[-1]}"]
        return ", ".join(listed)
    if spec == PLAIN:
        return f"{value:.10g}" if isinstance(value, float) else str(value)
    if not isinstance(value, int | float):
        return str(value)
    if "|" in spec:
        return _counted(value, spec, reader)
    if spec == "clock":
        return _near_clock(value, reader)
    if spec == ABOUT:
        return about(name, value, reader)
    if spec == AXIS:
        return f"{quantity(name, abs(value), '', reader)} {word('inwards' if value < 0 else 'outwards', reader)}"
    return quantity(name, value, spec, reader)


def word(value: str, reader: Reader | None = None) -> str:
    """A word of ours for the current reader or another one, English where it lacks; other texts as they are.

    >>> word("inboard_flange"), word("inboard", Reader("es", rider=True)), word("a_b")
    ('inner flange', 'izquierda', 'a_b')
    """
    reader = reader or current_reader()
    value = RIDER_WORDS.get(value, value) if reader.rider else value
    found = words_of(reader.language).get(value) or words_of(FALLBACK).get(value)
    if found is None and value.startswith("axle_"):
        return " ".join(word(part, reader) for part in value.split("_"))
    return found or value


def about(name: str, value: float, reader: Reader | None = None) -> str:
    """About how much, by the unit that ends the name; in words where that would be read as 0.

    >>> about("left_g", 0.52), about("left_g", 0.04), about("left_g", 0.1, Reader("de", "us"))
    ('about 0.5 g', 'next to nothing', 'so gut wie nichts')
    """
    reader = reader or current_reader()
    text = quantity(name, value, "", reader)
    return word("next_to_nothing", reader) if text.startswith("0 ") else f"{word('about', reader)} {text}"


def _counted(value: float, spec: str, reader: Reader) -> str:
    one, other = spec.split("|")
    chosen = one if plural(value, reader.language) == "one" else other
    return chosen.replace("#", quantity("", value, "", reader))


def _near_clock(angle_deg: float, reader: Reader) -> str:
    """About where an hour hand stands: a help to find the spot, never what places a weight.

    Within 3° of an hour it is that hour's, up to 12° a little before or after, else between two.
    """
    hours = angle_deg / 30 % 12
    hour = round(hours)
    off = 30 * (hours - hour)
    if abs(off) <= 3:
        code = "clock_at"
    elif abs(off) > 12:
        code, hour = "clock_between", int(hours)
    else:
        code = "clock_after" if off > 0 else "clock_before"
    return text_of(Message(code, {"hour": hour % 12 or 12, "next": (hour + 1) % 12 or 12}), reader)
