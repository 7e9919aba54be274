"""The labels and short phrases of our own pages, one file a language; sentences come from ``messages.catalogue``.

German and Spanish are not yet reviewed by a technician who speaks them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files

from ...messages.reader import current_reader

LANGUAGES = ("en", "de", "es")
TABLES: Mapping[str, Mapping[str, Mapping[str, str]]] = {
    language: tomllib.loads(files(__package__).joinpath(f"{language}.toml").read_text(encoding="utf-8"))
    for language in LANGUAGES
}
"""Language, kind of page, key → text; a text may name values in braces."""


def page_language() -> str:
    """The language of the current request's reader, as far as pages have it."""
    return current_reader().language.partition("-")[0]


@dataclass(frozen=True, slots=True)
class PageWords:
    """The words of a kind of page in one language."""

    kind: str
    language: str = "en"

    def __call__(self, key: str, **values: object) -> str:
        """A text with its values filled in. Raises KeyError for a key that the files lack.

        >>> PageWords("sheet", "de")("at_angle", angle="112°")
        'bei 112°'
        """
        return TABLES[self.language][self.kind][key].format(**values)
