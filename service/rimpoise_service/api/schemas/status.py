"""GET /healthz, /readyz and /version."""

from __future__ import annotations

from . import words
from .base import ResponseSchema
from .response_fields import StringField, WordField


class HealthSchema(ResponseSchema):
    """The process answers."""

    status = WordField(words.HEALTH, "of the process")
    version = StringField("of the service")


class ReadinessSchema(ResponseSchema):
    """Requests can be sent here."""

    status = WordField(words.READINESS, "of the instance")


class VersionSchema(ResponseSchema):
    """What runs here."""

    name = StringField("of the service")
    version = StringField("of the service, and of the document")
    document_sha256 = StringField("of GET /openapi.yaml, to notice a change of the contract")
