"""The words of our own pages: the same keys with the same values in every language."""

from __future__ import annotations

from string import Formatter

import pytest

from rimpoise_service.api.page_words import LANGUAGES, TABLES, PageWords
from rimpoise_service.api.where_to_fit import clock_words


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


@pytest.mark.parametrize(
    ("angle_deg", "said"),
    [
        (0, "at 12 o'clock"),
        (359.4, "at 12 o'clock"),
        (4, "a little after 12 o'clock"),
        (345.5, "between 11 and 12 o'clock"),
        (350, "a little before 12 o'clock"),
        (15, "between 12 and 1 o'clock"),
        (112, "a little before 4 o'clock"),
        (180, "at 6 o'clock"),
    ],
)
def test_the_clock_is_said_roughly(angle_deg: float, said: str) -> None:
    assert clock_words(angle_deg, PageWords("sheet")) == said
