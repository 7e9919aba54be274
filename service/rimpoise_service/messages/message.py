"""A message to a person, as data: a stable code and the values its sentence needs.

The sentences are in ``messages.catalogue``; the layers that make messages know no wording.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Message:
    """A stable ``code`` from ``messages.catalogue`` and the values of its sentence."""

    code: str
    values: Mapping[str, object] = field(default_factory=dict)


def message(code: str, **values: object) -> Message:
    """Shorthand for a Message.

    >>> message("high_gain", gain=4.0).values["gain"]
    4.0
    """
    return Message(code, values)
