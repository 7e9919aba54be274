"""In which units an answer's texts are written: of interest to the edge alone."""

from __future__ import annotations

from . import words
from .base import RequestSchema
from .request_fields import Choice


def units_field() -> Choice:
    """The field; what an answer's numbers are in never changes."""
    return Choice(
        words.TEXT_UNITS,
        "Units of texts, sheet and drawing; without it, ounces and inches where the balancer shows ounces.",
        dump_default=None,
    )


class UnitsRequestSchema(RequestSchema):
    """A request that has no preferences, and says its units itself, in a last field of its own."""

    edge = frozenset({"units"})
