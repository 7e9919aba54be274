"""Logs: one JSON object a line, on standard error, each with the request it belongs to."""

from __future__ import annotations

import json
import logging
from datetime import UTC, datetime
from typing import Any

from flask import g, has_request_context

from .settings import Settings

FIELDS = "fields"
"""The attribute of a record, and so the key of ``extra``, whose pairs become keys of the line."""


class JsonLines(logging.Formatter):
    """Time, level, logger, message, then the record's own fields and its exception."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        line: dict[str, Any] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
        }
        if has_request_context() and "trace" in g:
            line["request_id"] = g.trace.request_id
        line |= getattr(record, FIELDS, {})
        if record.exc_info:
            line["exception"] = self.formatException(record.exc_info)
        return json.dumps(line, default=str)


def configuration(settings: Settings) -> dict[str, Any]:
    """For ``logging.config.dictConfig``: everything, gunicorn's own lines too, goes the same way."""
    level = settings.log_level.upper()
    plain = {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}
    to_root = {"level": level, "handlers": [], "propagate": True}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json": {"()": JsonLines}, "plain": plain},
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": settings.log_format}},
        "root": {"level": level, "handlers": ["stderr"]},
        "loggers": {"gunicorn.error": to_root, "gunicorn.access": to_root},
    }
