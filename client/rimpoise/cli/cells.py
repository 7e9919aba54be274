"""What is written and printed, made harmless: control characters, and cells that a spreadsheet would compute."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import click

from ..tables.cells import DecimalMark

_CONTROLS = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]")
_FORMULA, _NUMBER = re.compile(r"[=+\-@]"), re.compile(r"[+-]?[0-9][0-9.,]*([eE][+-]?[0-9]+)?")


def printable(text: str) -> str:
    """The text without what would steer a terminal: control characters, and marks that turn its direction.

    >>> printable("front\\x1b[31m left")
    'front [31m left'
    """
    return _CONTROLS.sub(" ", text)


def printable_json(text: str) -> str:
    """JSON in which these characters are escaped, which changes no value.

    >>> printable_json('"a\\u202eb"')
    '"a\\\\u202eb"'
    """
    return "\n".join(_CONTROLS.sub(lambda found: f"\\u{ord(found[0]):04x}", line) for line in text.split("\n"))


def say(lines: str | Iterable[str], *, err: bool = False) -> None:
    """Print lines, each harmless."""
    for line in [lines] if isinstance(lines, str) else lines:
        click.echo(printable(line), err=err)


def cell(value: Any, decimal: DecimalMark = ".", *, formulas: bool = False) -> str:
    """A cell of a CSV, on one line. Text that a spreadsheet would take for a formula gets an apostrophe before it,
    unless ``formulas`` may stay.

    >>> [cell(value) for value in (None, True, 12.5, "-12.5", "=1+1", "two\\nlines")]
    ['', 'yes', '12.5', '-12.5', "'=1+1", 'two lines']
    """
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case int():
            return str(value)
        case float():
            return f"{value:.10g}".replace(".", decimal)
    text = " ".join(printable(str(value)).split())
    return f"'{text}" if not formulas and _FORMULA.match(text) and not _NUMBER.fullmatch(text) else text
