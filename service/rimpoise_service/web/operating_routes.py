"""The operations for whoever runs the service."""

from __future__ import annotations

from pathlib import Path

from flask import current_app
from werkzeug.exceptions import ServiceUnavailable

from . import docs_page, observing
from .metrics import MEDIA_TYPE
from .operation import get
from .schemas.operating import ReadinessSchema
from .settings import Settings

SERVICE, SETTINGS = "service", "rimpoise.settings"
"""The tag of these operations, and where an application keeps its settings."""


@get("/readyz", "getReadiness", tag=SERVICE, answers=ReadinessSchema, refuses=(503,))
def get_readiness() -> dict[str, str]:
    """Whether requests should be sent here: 503 while the operator drains this instance."""
    drain: Path | None = _settings().drain_file
    if drain and drain.exists():
        raise ServiceUnavailable("this instance is being drained; ask another", retry_after=1)
    return {"status": "ready"}


@get("/metrics", "getMetrics", tag=SERVICE, media_type=MEDIA_TYPE)
def get_metrics() -> str:
    """Counts and latencies of all workers, in Prometheus's text format."""
    return observing.metrics().text()


@get("/docs", "getDocs", tag=SERVICE, media_type="text/html; charset=utf-8")
def get_docs() -> str:
    """This document as a page to read and to try out; it needs no network."""
    return docs_page.PAGE


OPERATIONS = (get_readiness, get_metrics, get_docs)


def _settings() -> Settings:
    found: Settings = current_app.extensions[SETTINGS]
    return found
