"""A message to a person, as data: a stable code and the values its sentence needs.

The sentences are in ``messages.catalogue``; the layers that make messages know no wording, language or unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Message:
    """A stable ``code`` and the values of its sentence; the unit ends a value's name."""

    code: str
    values: Mapping[str, object] = field(default_factory=dict)


def message(code: str, **values: object) -> Message:
    """Shorthand for a Message; what is None is left out, as if it had not been given.

    >>> message("high_gain", gain=4.0, place=None).values
    {'gain': 4.0}
    """
    return Message(code, {name: value for name, value in values.items() if value is not None})
