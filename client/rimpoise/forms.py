"""What an answer may hold that this client was not written for: unknown words, and forms of unknown kind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar


class Word(str):
    """A word of an answer. It is the text; ``known`` says whether it is one that this version has heard of.

    >>> from rimpoise import Decision
    >>> Decision("fit") == "fit", Decision("fit").known, Decision("wait").known
    (True, True, False)
    """

    __slots__ = ()
    words: ClassVar[frozenset[str]] = frozenset()

    @property
    def known(self) -> bool:
        """Whether this version knows the word."""
        return str(self) in self.words


@dataclass(frozen=True, slots=True)
class UnknownForm:
    """A form of a union whose ``kind`` this version doesn't know, as it came in ``fields``."""

    kind: str
    fields: Mapping[str, Any] = field(default_factory=dict, hash=False)
