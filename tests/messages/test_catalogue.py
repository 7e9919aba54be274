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
from string import Formatter

import pytest

import rimpoise_service
from rimpoise_service.messages.catalogue import CATALOGUE, text_of
from rimpoise_service.messages.message import Message

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
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "message"
        for code, pattern in codes_of(node.args[0])
    )


@cache
def words() -> frozenset[str]:
    """Every string of the source."""
    constants = (node for tree in trees().values() for node in ast.walk(tree) if isinstance(node, ast.Constant))
    return frozenset(c.value for c in constants if isinstance(c.value, str))


def values_of(code: str) -> set[str]:
    """The values that a sentence names."""
    return {name.split(".")[0] for _, name, _, _ in Formatter().parse(CATALOGUE[code].text) if name}


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
    missing = {
        (s.where, code): values_of(code) - s.values
        for s in said()
        if s.all_given
        for code in CATALOGUE
        if code == s.code or (s.pattern and re.fullmatch(s.pattern, code))
    }
    assert {where: names for where, names in missing.items() if names} == {}


@pytest.mark.parametrize("code", CATALOGUE)
def test_every_sentence_is_said_somewhere(code: str) -> None:
    assert code in words() or any(s.pattern and re.fullmatch(s.pattern, code) for s in said())


@pytest.mark.parametrize("code", CATALOGUE)
def test_every_sentence_fills_in(code: str) -> None:
    """Numbers where a format asks for them; nothing in braces stays."""
    asked = {name: spec for _, name, spec, _ in Formatter().parse(CATALOGUE[code].text) if name}
    text = text_of(Message(code, {name: 12.5 if spec else "word" for name, spec in asked.items()}))
    assert not re.search(r"[{}]", text)
    assert text == text.strip()
    assert "  " not in text


def test_no_two_codes_say_the_same() -> None:
    assert [text for text, count in Counter(g.text for g in CATALOGUE.values()).items() if count > 1] == []


def test_no_code_stands_twice() -> None:
    """One flat table is made of all kinds: a code in two of them would hide one."""
    tables = tomllib.loads((SOURCE / "messages" / "en.toml").read_text(encoding="utf-8"))
    assert sum(map(len, tables.values())) == len(CATALOGUE)


def test_every_sentence_has_a_source() -> None:
    assert [code for code, g in CATALOGUE.items() if not g.source.strip()] == []


def test_an_unknown_code_is_an_error() -> None:
    with pytest.raises(KeyError, match="no such code"):
        text_of(Message("no such code"))
