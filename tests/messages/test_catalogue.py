"""Every sentence is said somewhere, every code that is said has its sentence, and all its values are given.

The source is read with ``ast``: codes stand in calls of ``message``, or in tables from which such calls take them.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

import rimpoise_service
from rimpoise_service.messages.catalogue import CATALOGUE, segments_of, text_of, texts_of, word, words_of
from rimpoise_service.messages.message import Message
from rimpoise_service.messages.quantities import locale
from rimpoise_service.messages.reader import LANGUAGES, UNITS, Language, Reader, Units

SOURCE = Path(rimpoise_service.__file__).parent


@dataclass(frozen=True)
class Said:
    """A call of message: where, its code if it stands there, a pattern if it is put together, the values given."""

    where: str
    code: str | None
    pattern: str | None
    values: frozenset[str]
    all_given: bool


@cache
def trees() -> dict[str, ast.Module]:
    """The source, parsed."""
    paths = sorted(SOURCE.rglob("*.py"))
    return {str(p.relative_to(SOURCE)): ast.parse(p.read_text(encoding="utf-8")) for p in paths}


def codes_of(argument: ast.expr) -> Iterator[tuple[str | None, str | None]]:
    """The code, or the pattern of codes, of a first argument."""
    match argument:
        case ast.Constant(value=str(code)):
            yield code, None
        case ast.IfExp(body=one, orelse=other):
            yield from codes_of(one)
            yield from codes_of(other)
        case ast.JoinedStr(values=parts):
            yield None, "".join(map(_pattern, parts))
        case _:
            yield None, None


def _pattern(part: ast.expr) -> str:
    match part:
        case ast.Constant(value=text):
            return re.escape(str(text))
        case ast.FormattedValue(value=ast.IfExp(body=ast.Constant(value=one), orelse=ast.Constant(value=other))):
            return f"(?:{one!s}|{other!s})"
    return ".+"


MAKERS = ("message", "Said", "invalid")
"""What makes a message; the last two are of the edge."""


@cache
def said() -> tuple[Said, ...]:
    """Every call of message."""
    return tuple(
        Said(
            where=f"{path}:{node.lineno}",
            code=code,
            pattern=pattern,
            values=frozenset(k.arg for k in node.keywords if k.arg),
            all_given=all(k.arg for k in node.keywords),
        )
        for path, tree in trees().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in MAKERS
        for code, pattern in codes_of(node.args[0])
    )


@cache
def words() -> frozenset[str]:
    """Every string of the source."""
    constants = (node for tree in trees().values() for node in ast.walk(tree) if isinstance(node, ast.Constant))
    return frozenset(c.value for c in constants if isinstance(c.value, str))


def values_of(code: str, *, optional: bool = False) -> set[str]:
    """The values that a sentence names; those that it can do without only if wanted."""
    segments = segments_of(code, "en-GB")
    return {part.name for s in segments if optional or not s.optional for part in s.parts if part.name}


def test_the_scan_sees_the_calls() -> None:
    """A scan that finds nothing proves nothing."""
    assert len(said()) > 60
    assert {"flange_unknown", "much_weight", "check_spin"} <= {s.code for s in said()}
    assert any(s.pattern == "repair_.+" for s in said())


def test_every_code_that_is_said_has_its_sentence() -> None:
    assert [s for s in said() if s.code is not None and s.code not in CATALOGUE] == []


def test_every_pattern_has_its_sentences() -> None:
    patterns = [s for s in said() if s.pattern]
    assert [s for s in patterns if not any(re.fullmatch(s.pattern or "", code) for code in CATALOGUE)] == []


def test_every_value_of_a_sentence_is_given() -> None:
    """By the call that names the code; of calls that put it together, by one that can mean it."""
    named = {(s.where, s.code): values_of(s.code) - s.values for s in said() if s.all_given and s.code}
    assert {where: names for where, names in named.items() if names} == {}
    for code in CATALOGUE:
        calls = [s for s in said() if s.pattern and re.fullmatch(s.pattern, code)]
        assert not calls or any(values_of(code) <= s.values or not s.all_given for s in calls), code


@pytest.mark.parametrize("code", CATALOGUE)
def test_every_sentence_is_said_somewhere(code: str) -> None:
    assert code in words() or any(s.pattern and re.fullmatch(s.pattern, code) for s in said())


VALUES: dict[str, object] = {
    "numbers": (1, 2),
    "tools": ("tool_cloth",),
    "skus": ("A", "B"),
    "known": ("a", "b"),
    "words": ("a", "b"),
}
"""Of the values that are lists."""

NUMBERS = re.compile(
    r"_(g|mm|deg|pct|in|min|s|kg|nm|km|c)(_\d)?$|^(count|passes|tries|by|hour|next|angle|segments|gain|factor|share)$"
)


def filled(code: str, number: float) -> Message:
    """A message with a value for each name: a number for those that are one."""
    names = values_of(code, optional=True)
    return Message(code, {n: VALUES.get(n, number if NUMBERS.search(n) else "word") for n in names})


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("units", UNITS)
def test_every_sentence_fills_in(language: Language, units: Units) -> None:
    for code in CATALOGUE:
        for number in (0, 1, 2, 12.5, 1234.0):
            text = text_of(filled(code, number), Reader(language, units))
            assert not re.search(r"[{}\[\]|#]", text), text
            assert text == text.strip()
            assert "  " not in text


@pytest.mark.parametrize("language", ["de", "es"])
def test_every_language_has_the_same_codes_words_and_values(language: Language) -> None:
    assert set(texts_of(language)) == set(CATALOGUE)
    assert set(words_of(language)) == set(words_of("en-GB"))
    for code in CATALOGUE:
        assert named_parts(code, language) == named_parts(code, "en-GB"), code


def named_parts(code: str, language: Language) -> set[tuple[str, str, bool]]:
    """Each value with its format, a plural as none, and whether the sentence can do without it."""
    return {
        (p.name, "" if "|" in p.spec else p.spec, s.optional)
        for s in segments_of(code, language)
        for p in s.parts
        if p.name
    }


def test_american_english_says_only_what_differs() -> None:
    assert set(texts_of("en-US")) < set(CATALOGUE)
    assert [c for c, text in texts_of("en-US").items() if text == CATALOGUE[c].text] == []
    for code in texts_of("en-US"):
        assert named_parts(code, "en-US") == named_parts(code, "en-GB"), code


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_plural_is_missing(language: Language) -> None:
    """Where a text counts something it has a form for one and one for others; Babel says which a number takes."""
    assert set(locale(language).plural_form.tags) <= {"one", "many"}
    counted = [
        (code, p.spec)
        for code in CATALOGUE
        for s in segments_of(code, language)
        for p in s.parts
        if p.name in ("count", "segments", "passes")
    ]
    plain = {"ambiguous", "first_wrong", "passes_instead"}  # never one, or as good as never
    assert [code for code, spec in counted if spec.count("|") != 1 and code not in plain] == []
    for code, name in (("headline_fit", "count"), ("fit_strip", "segments")):
        one, other = (
            text_of(Message(code, {**filled(code, 2).values, name: n}), Reader(language)) for n in (1, 2)
        )
        assert one != other.replace("2", "1")


def test_a_word_that_a_language_lacks_is_english(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delitem(texts_of("de"), "no_strips")
    monkeypatch.delitem(words_of("de"), "clockwise")
    segments_of.cache_clear()
    try:
        assert text_of(Message("no_strips"), Reader("de")) == CATALOGUE["no_strips"].text
        assert word("clockwise", Reader("de")) == "clockwise"
    finally:
        segments_of.cache_clear()


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize(
    ("language", "about", "nothing"),
    [
        ("en-GB", "about", "next to nothing"),
        ("en-US", "about", "next to nothing"),
        ("de", "etwa", "so gut wie nichts"),
        ("es", "cerca de", "casi nada"),
    ],
)
def test_next_to_nothing_is_not_about_zero(language: Language, about: str, nothing: str, units: Units) -> None:
    for code, name in (("check_spin", "left_g"), ("couple_stays", "side_g")):
        for mass_g, words in ((0.0, nothing), (0.04, nothing), (12.0, f"{about} ")):
            message = Message(code, {**filled(code, 9).values, name: mass_g})
            assert words in text_of(message, Reader(language, units))


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize(("left_g", "limit_g"), [(5.02, 5.0), (10.4, 10.0), (10.7, 10.6), (0.51, 0.5)])
def test_what_is_over_a_limit_reads_as_over_it(left_g: float, limit_g: float, units: Units) -> None:
    text = text_of(Message("outside_acceptance", {"left_g": left_g, "limit_g": limit_g}), Reader("en-GB", units))
    left, limit = map(float, re.findall(r"[\d.]+(?= g| oz)", text))
    assert left > limit


def test_a_way_along_the_axis_is_said_by_its_side() -> None:
    """Inwards or outwards by the sign, which no reader has to know; of a motorcycle left or right."""
    said = [Message("flange_position_derived", {"side": s, "position_mm": p, "rim": "7J"}) for s, p in AXIAL]
    assert [text_of(each).partition(" from")[0] for each in said] == [
        "The inner flange is 134 mm inwards",
        "The outer flange is 44 mm outwards",
    ]
    assert text_of(said[0], Reader("de", rider=True)).startswith("Das Felgenhorn links liegt 134 mm nach links")


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_motorcycle_is_seen_from_the_right(language: Language) -> None:
    """Its senses of rotation too; where no wheel is a motorcycle's, from outside."""
    seen = [code for code in CATALOGUE if "seen" in values_of(code)]
    assert {"turn_tyre", "turn_tyre_run_out", "move_one", "move_all_turned", "move_all_mirrored"} <= set(seen)
    outside, right = word("from_outside", Reader(language)), word("from_right", Reader(language))
    for code in CATALOGUE:
        said = Message(code, {**filled(code, 9).values, "seen": "from_outside"})
        assert (outside in text_of(said, Reader(language))) == (code in seen), code
        assert (right in text_of(said, Reader(language, rider=True))) == (code in seen), code


def test_a_place_at_the_head_of_a_sentence_has_a_capital() -> None:
    said = text_of(Message("can_be_seen", {"place": "outboard_flange"}), Reader("es"))
    assert said.startswith("Pestaña exterior: ")


AXIAL = (("inboard", -134.0), ("outboard", 44.0))


def test_no_two_codes_say_the_same() -> None:
    assert [text for text, count in Counter(g.text for g in CATALOGUE.values()).items() if count > 1] == []


def test_no_code_stands_twice() -> None:
    """One flat table is made of all kinds: a code in two of them would hide one."""
    tables = tomllib.loads((SOURCE / "messages" / "en.toml").read_text(encoding="utf-8"))
    assert sum(len(table) for kind, table in tables.items() if kind != "word") == len(CATALOGUE)


def test_every_sentence_has_a_source() -> None:
    assert [code for code, g in CATALOGUE.items() if not g.source.strip()] == []


def test_an_unknown_code_is_an_error() -> None:
    with pytest.raises(KeyError, match="no such code"):
        text_of(Message("no such code"))
