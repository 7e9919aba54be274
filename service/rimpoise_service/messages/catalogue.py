"""Every sentence the service says to a person: ``en.toml``, one table a kind, code → text and source.

A text may name values in braces, with Python's format codes; ``text_of`` fills them in.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files

from .message import Remark

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Guidance:
    """A sentence, what it is for and where it comes from."""

    kind: str
    text: str
    source: str = PRACTICE


def _read() -> dict[str, Guidance]:
    tables = tomllib.loads(files(__package__).joinpath("en.toml").read_text(encoding="utf-8"))
    return {
        code: Guidance(kind, said) if isinstance(said, str) else Guidance(kind, **said)
        for kind, table in tables.items()
        for code, said in table.items()
    }


GUIDANCE: dict[str, Guidance] = _read()
"""All of them by code."""


def text_of(remark: Remark) -> str:
    """The sentence of a remark, its values filled in. Raises KeyError for a code the tables lack.

    >>> text_of(Remark("no_strips"))
    'There are no adhesive strips in stock.'
    """
    return GUIDANCE[remark.code].text.format(**remark.values)
