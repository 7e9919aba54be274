"""The labels and short phrases of our own pages and drawings, one file a language.

Sentences come from ``messages.catalogue``. American English has only what it says otherwise than British. German
and Spanish are not yet reviewed by a technician who speaks them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files

from ..reader import LANGUAGES, Language, current_reader

Table = Mapping[str, Mapping[str, str]]


def _file(language: str) -> Table:
    name = f"{language.lower().replace('-', '_')}.toml"
    return tomllib.loads(files(__package__).joinpath(name).read_text(encoding="utf-8"))


def _read() -> Mapping[Language, Table]:
    english, american = _file("en"), _file("en-US")
    both = {kind: {**table, **american.get(kind, {})} for kind, table in english.items()}
    tables: dict[Language, Table] = {"en-GB": english, "en-US": both}
    return {language: tables.get(language) or _file(language) for language in LANGUAGES}


TABLES: Mapping[Language, Table] = _read()
"""Language, kind of page, key → text; a text may name values in braces."""


@dataclass(frozen=True, slots=True)
class PageWords:
    """The words of a kind of page, in the language of whoever reads it."""

    kind: str

    @property
    def language(self) -> Language:
        """The reader's."""
        return current_reader().language

    def __call__(self, key: str, **values: object) -> str:
        """A text with its values filled in; of a motorcycle the rider's, if there is one.

        Raises KeyError for a key that the files lack.

        >>> PageWords("sheet")("at_angle", angle="112°")
        'at 112°'
        """
        table = TABLES[self.language][self.kind]
        text = (table.get(f"{key}_rider") if current_reader().rider else None) or table[key]
        return text.format(**values)
