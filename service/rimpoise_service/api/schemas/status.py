"""GET /healthz, /readyz and /version."""

from __future__ import annotations

from . import words
from .base import ResponseSchema
from .response_fields import StringField, WordField


class HealthSchema(ResponseSchema):
    """A sign that the process answers."""

    status = WordField(words.HEALTH, "Status of the process.")
    version = StringField("Version of the service.")


class ReadinessSchema(ResponseSchema):
    """A sign that requests can be sent here."""

    status = WordField(words.READINESS, "Status of this instance.")


class VersionSchema(ResponseSchema):
    """The service that runs here, and its version."""

    name = StringField("Name of the service.")
    version = StringField("Version of the service and of its OpenAPI document.")
    document_sha256 = StringField("SHA-256 of GET /openapi.yaml, to notice a change of the contract.")
