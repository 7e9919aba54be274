"""What the worker answers itself, before the application or beside it: a problem like any other."""

from __future__ import annotations

import json
import re
from http import HTTPStatus
from typing import Any

from gunicorn.http import errors  # type: ignore[import-untyped]
from werkzeug.exceptions import default_exceptions

from .api.http.media_types import LANGUAGE
from .api.http.media_types import PROBLEM as MEDIA_TYPE
from .api.http.problems import problem_of
from .api.ops.security import HEADERS
from .messages.reader import Reader, reading_as

STATUSES: dict[type[Exception], HTTPStatus] = {
    errors.LimitRequestLine: HTTPStatus.REQUEST_URI_TOO_LONG,
    errors.LimitRequestHeaders: HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE,
    errors.ExpectationFailed: HTTPStatus.EXPECTATION_FAILED,
    errors.UnsupportedTransferCoding: HTTPStatus.NOT_IMPLEMENTED,
}
"""Of what gunicorn's parser refuses; all else that it refuses is a bad request."""


def status_of(error: Exception) -> HTTPStatus:
    """Of what gunicorn's parser refuses, and of what went wrong outside the application."""
    if not isinstance(error, errors.ParseException):
        return HTTPStatus.INTERNAL_SERVER_ERROR
    return STATUSES.get(type(error), HTTPStatus.BAD_REQUEST)


HOST = re.compile(r"(?:[\w.~!$&'()*+,;=%-]*|\[[0-9a-fv.:]+\])(?::[0-9]*)?", re.IGNORECASE | re.ASCII)
"""A host, which may be empty, and its port (RFC 3986, section 3.2.2)."""


def refuse_head(request: Any) -> None:
    """What gunicorn's parser lets by (RFC 9112): HTTP/1.1 without one host (3.2), what is none, and a coding
    other than chunks (6.1), which nobody would undo. Raises ParseException.
    """
    hosts = [value for name, value in request.headers if name == "HOST"]
    if (request.version >= (1, 1) and len(hosts) != 1) or not all(map(HOST.fullmatch, hosts)):
        raise errors.InvalidHeader("Host", req=request)
    for name, value in request.headers:
        if name == "TRANSFER-ENCODING" and value.lower() != "chunked":
            raise errors.UnsupportedTransferCoding(value)


def refusal(status: HTTPStatus) -> tuple[bytes, str]:
    """A whole answer, after which the connection is closed, and its request id.

    In English, whoever the last reader was of the thread that writes it.
    """
    with reading_as(Reader()):
        problem = problem_of(default_exceptions[status]())
    request_id = problem["instance"].removeprefix("urn:uuid:")
    body = json.dumps(problem).encode()
    headers = HEADERS | {"Content-Type": MEDIA_TYPE, "Content-Length": len(body), "X-Request-Id": request_id}
    headers |= {"Content-Language": LANGUAGE, "Connection": "close"}
    headers |= {"Retry-After": 1} if status == HTTPStatus.SERVICE_UNAVAILABLE else {}
    head = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
    return f"HTTP/1.1 {status.value} {status.phrase}\r\n{head}\r\n".encode() + body, request_id
