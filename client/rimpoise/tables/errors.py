"""What a table can be wrong in."""

from __future__ import annotations


class BadTable(ValueError):
    """A table that can't be used; the message names the row and the column, and what to write instead."""
