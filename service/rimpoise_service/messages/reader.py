"""Whom a text is for: a language and a set of units.

Layers below ``api`` only make messages. The reader of a request is set at the edge, once, and read where a message
becomes a sentence: like the context of ``decimal``, it is of one thread's request and changes no result.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Literal, get_args

Language = Literal["en-GB", "en-US", "de", "es"]
Units = Literal["metric", "us"]

LANGUAGES: tuple[Language, ...] = get_args(Language)
UNITS: tuple[Units, ...] = get_args(Units)
FALLBACK: Language = "en-GB"

UNREVIEWED: tuple[Language, ...] = ("de", "es")
"""Not yet reviewed by a technician who speaks it."""


@dataclass(frozen=True, slots=True)
class Reader:
    """Who reads: ``language`` of the sentences; ``units``, metric or ounces and inches.

    rider: the sides of the wheel are called left and right, as a motorcycle's are.
    """

    language: Language = FALLBACK
    units: Units = "metric"
    rider: bool = False


_READER: ContextVar[Reader] = ContextVar("reader", default=Reader())  # noqa: B039 (frozen)


def current_reader() -> Reader:
    """The reader of this request; outside of one, metric and the fallback's English."""
    return _READER.get()


def set_reader(reader: Reader) -> None:
    """Begin a request of this reader."""
    _READER.set(reader)


@contextmanager
def reading_as(reader: Reader) -> Iterator[None]:
    """Within the block texts are for this reader.

    >>> with reading_as(Reader("de")):
    ...     current_reader().language
    'de'
    """
    token = _READER.set(reader)
    try:
        yield
    finally:
        _READER.reset(token)
