"""Logs: one line each, JSON or plain, on standard error, with the request it belongs to."""

from __future__ import annotations

import json
import logging
import sys
from datetime import UTC, datetime
from typing import Any

from flask import g, has_request_context

from .log_pipe import without_waiting
from .settings import Settings

PLAIN, STDERR = "%(asctime)s %(levelname)s %(name)s: %(message)s", 2

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
        line |= _fields(record)
        if record.exc_info:
            line["exception"] = self.formatException(record.exc_info)
        return json.dumps(line, default=str)


class PlainLines(logging.Formatter):
    """The same for people: the message, then ``name=value`` for each field; control characters are escaped."""

    def format(self, record: logging.LogRecord) -> str:
        """The line, and the lines of an exception."""
        fields = (f" {name}={json.dumps(value, default=str)}" for name, value in _fields(record).items())
        line, *rest = super().format(record).split("\n", 1)
        return "\n".join([line + "".join(fields), *rest])


def _fields(record: logging.LogRecord) -> dict[str, Any]:
    """The fields of a record besides its message."""
    of_request = {"request_id": g.trace.request_id} if has_request_context() and "trace" in g else {}
    return of_request | getattr(record, FIELDS, {})


def _lost(count: int, log_format: str) -> str:
    """The line that says that lines were lost."""
    said = f"{count} lines of the log were lost: nobody read them"
    record = logging.LogRecord(__name__, logging.WARNING, __file__, 0, said, None, None)
    return (JsonLines() if log_format == "json" else PlainLines(PLAIN)).format(record)


def configuration(settings: Settings) -> dict[str, Any]:
    """For ``logging.config.dictConfig``: everything, gunicorn's own lines too, goes the same way."""
    level = settings.log_level.upper()
    plain = {"()": PlainLines, "format": PLAIN}
    stream = without_waiting(sys.stderr, STDERR, lambda count: _lost(count, settings.log_format))
    to_root = {"level": level, "handlers": [], "propagate": True}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json": {"()": JsonLines}, "plain": plain},
        "handlers": {
            "stderr": {"class": "logging.StreamHandler", "formatter": settings.log_format, "stream": stream}
        },
        "root": {"level": level, "handlers": ["stderr"]},
        "loggers": {"gunicorn.error": to_root},
    }
