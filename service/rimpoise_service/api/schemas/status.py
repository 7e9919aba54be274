"""GET /healthz, /readyz and /version."""

from __future__ import annotations

from .base import Answer
from .response_fields import Word


class HealthSchema(Answer):
    """The process answers."""

    status = Word("it is", ("ok",))
    version = Word("of the service")


class ReadinessSchema(Answer):
    """Requests can be sent here."""

    status = Word("it is", ("ready",))


class VersionSchema(Answer):
    """What runs here."""

    name = Word("of the service")
    version = Word("of the service, and of the document")
    document_sha256 = Word("of GET /openapi.yaml, to notice a change of the contract")
