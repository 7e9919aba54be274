"""The words of our own pages: the same keys with the same values in every language."""

from __future__ import annotations

from string import Formatter

import pytest

from rimpoise_service.api.page_words import LANGUAGES, TABLES, PageWords


def values(text: str) -> set[str]:
    """The names in a text's braces."""
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("language", LANGUAGES[1:])
def test_the_same_keys_and_values(language: str) -> None:
    english, other = TABLES["en"], TABLES[language]
    assert {kind: set(table) for kind, table in other.items()} == {
        kind: set(table) for kind, table in english.items()
    }
    for kind, table in english.items():
        for key, text in table.items():
            assert values(other[kind][key]) == values(text), (kind, key)
            assert other[kind][key].strip()


def test_a_missing_key_is_an_error() -> None:
    with pytest.raises(KeyError):
        PageWords("sheet")("nothing_of_the_kind")
