"""A set of words of the contract: a named component of the document, each word with what it means."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WordSet:
    """A noun of the document: what the words are about, and each with its meaning."""

    noun: str
    about: str
    meanings: Mapping[str, str]

    def __iter__(self) -> Iterator[str]:
        return iter(self.meanings)

    def __len__(self) -> int:
        return len(self.meanings)


def word_set(noun: str, of: Iterable[str], about: str, **meanings: str) -> WordSet:
    """A set that has exactly the words ``of``; one that is a keyword of Python ends in _. Raises ValueError.

    >>> list(word_set("Answer", ["pass"], "How it went.", pass_="well"))
    ['pass']
    """
    named = {word.removesuffix("_"): meaning for word, meaning in meanings.items()}
    if set(named) != set(map(str, of)):
        raise ValueError(f"the words of {noun} are {', '.join(map(str, of))}, described are {', '.join(named)}")
    return WordSet(noun, about, named)
