"""About the service itself: its tables, and the operations for whoever runs it."""

from __future__ import annotations

from flask import current_app
from werkzeug.exceptions import ServiceUnavailable

from ... import __version__
from .. import reference
from ..http.endpoint import get
from ..http.media_types import HTML
from ..ops.settings import Settings
from ..pages import swagger_ui
from ..schemas.reference import ReferenceSchema
from ..schemas.said import Said
from ..schemas.status import HealthSchema, ReadinessSchema
from .tags import SERVICE

SETTINGS = "rimpoise.settings"
"""Where an application keeps its settings."""


@get("/v1/reference", "getReference", tag=SERVICE, answers=ReferenceSchema, kept=True)
def get_reference() -> reference.Reference:
    """Every table the service works with, each with its source.

    Built-in stock, rim diameters, flange heights, defaults; all codes with their texts, problem types and rules.
    """
    return reference.REFERENCE


@get("/healthz", "getHealth", tag=SERVICE, answers=HealthSchema)
def get_health() -> dict[str, str]:
    """Whether the process answers.

    Needs no key and counts against no limit; no answer means that the process should be started again.
    """
    return {"status": "ok", "version": __version__}


@get("/readyz", "getReadiness", tag=SERVICE, answers=ReadinessSchema, refuses=(503,))
def get_readiness() -> dict[str, str]:
    """Whether requests should be sent here.

    The status is 200 while they should, and 503, with a `Retry-After`, while the operator drains this instance; it
    goes on answering what comes all the same. Needs no key and counts against no limit.
    """
    drain = _settings().drain_file
    if drain and drain.exists():
        raise ServiceUnavailable(Said("being_drained"), retry_after=1)
    return {"status": "ready"}


@get("/docs", "getDocs", tag=SERVICE, media_type=HTML, kept=True)
def get_docs() -> str:
    """This document as a page, to read and to try out.

    All that the page loads comes from this service, so it needs no other network.
    """
    return swagger_ui.PAGE


ENDPOINTS = (get_reference, get_health, get_readiness, get_docs)


def _settings() -> Settings:
    found: Settings = current_app.extensions[SETTINGS]
    return found
