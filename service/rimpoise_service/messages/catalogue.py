"""Every sentence that people read: ``en.toml``, one table a kind, code → text and source.

A text may name values in braces, with Python's format codes; ``text_of`` fills them in.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files

from .message import Message

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class CatalogueEntry:
    """A sentence, its kind and its source."""

    kind: str
    text: str
    source: str = PRACTICE


def _read() -> dict[str, CatalogueEntry]:
    tables = tomllib.loads(files(__package__).joinpath("en.toml").read_text(encoding="utf-8"))
    return {
        code: CatalogueEntry(kind, said) if isinstance(said, str) else CatalogueEntry(kind, **said)
        for kind, table in tables.items()
        for code, said in table.items()
    }


CATALOGUE: dict[str, CatalogueEntry] = _read()
"""All sentences by code."""


def text_of(message: Message) -> str:
    """The sentence of a message, its values filled in. Raises KeyError for a code the tables lack.

    >>> text_of(Message("no_strips"))
    'There are no adhesive strips in stock.'
    """
    return CATALOGUE[message.code].text.format(**message.values)
