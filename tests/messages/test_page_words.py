"""The words of our own pages and drawings: the same keys with the same values in every language."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files
from string import Formatter

import pytest

from rimpoise_service.messages.catalogue import CATALOGUE, template_of, texts_of, words_of
from rimpoise_service.messages.page_words import TABLES, PageWords
from rimpoise_service.messages.reader import LANGUAGES, Language, Reader, reading_as


def values(text: str) -> set[str]:
    """The names in a text's braces."""
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("language", LANGUAGES[1:])
def test_the_same_keys_and_values(language: Language) -> None:
    english, other = TABLES["en-GB"], TABLES[language]
    assert {kind: set(table) for kind, table in other.items()} == {
        kind: set(table) for kind, table in english.items()
    }
    for kind, table in english.items():
        for key, text in table.items():
            assert values(other[kind][key]) == values(text), (kind, key)
            assert other[kind][key].strip()


def test_american_english_says_only_what_differs() -> None:
    own = tomllib.loads(files("rimpoise_service.messages.page_words").joinpath("en_us.toml").read_text("utf-8"))
    english = TABLES["en-GB"]
    assert [(k, key) for k, table in own.items() for key, text in table.items() if english[k][key] == text] == []
    said = [text for table in TABLES["en-US"].values() for text in table.values()]
    said += [template_of(code, "en-US") for code in CATALOGUE]
    british = re.compile(r"tyre(?!_)|centre\b|labour|dialled|metres?\b")
    assert [text for text in said if british.search(re.sub(r"\{[^}|]*\}", "", text))] == []


def test_a_missing_key_is_an_error() -> None:
    with pytest.raises(KeyError):
        PageWords("sheet")("nothing_of_the_kind")


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_motorcycle_has_words_of_its_own(language: Language) -> None:
    table = TABLES[language]["sheet"]
    with reading_as(Reader(language, rider=True)):
        assert PageWords("sheet")("vehicle_seen") == table["vehicle_seen_rider"] != table["vehicle_seen"]
        assert PageWords("sheet")("title") == table["title"]
    own = [(kind, key) for kind, words in TABLES[language].items() for key in words if key.endswith("_rider")]
    assert [each for each in own if each[1].removesuffix("_rider") not in TABLES[language][each[0]]] == []


def test_words_are_in_the_readers_language() -> None:
    words = PageWords("drawing")
    assert words("axis") == "axis"
    with reading_as(Reader("de")):
        assert words("axis") == "Achse"


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("table", ["marks", "rules"])
def test_no_two_say_the_same(table: str, language: Language) -> None:
    said = list(TABLES[language][table].values())
    assert sorted(set(said)) == sorted(said)


def test_a_rim_is_never_taken_for_a_tyre() -> None:
    """In Latin America "llanta" is the tyre: where no "neumático" stands beside it, "rin" says which is meant."""
    said = [*texts_of("es").items(), *words_of("es").items()]
    said += [item for words in TABLES["es"].values() for item in words.items()]
    bare = [item for item in said if re.search(r"\bllantas?\b", item[1])]
    assert [key for key, text in bare if not re.search(r"neumático|\brin(es)?\b", text)] == []
