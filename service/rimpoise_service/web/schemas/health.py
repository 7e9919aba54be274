"""GET /healthz."""

from __future__ import annotations

from .answers import Word
from .base import Answer


class HealthSchema(Answer):
    """The process answers."""

    status = Word("it is", ("ok",))
    version = Word("of the service")
