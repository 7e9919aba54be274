"""From a question to a body, from a reply to a value or an exception: pure, the same for every way to send."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, TypeVar, cast

from .decoding import from_json, parse
from .encoding import Mismatch, to_json
from .errors import (
    AnswerError,
    BadRequest,
    KeyWanted,
    NotFound,
    ProblemError,
    QuestionError,
    RimpoiseError,
    RuleBroken,
    ServerError,
    TooLarge,
    TooManyRequests,
    Unavailable,
)
from .http import Call, Reply, Text
from .retry import retry_after_s

if TYPE_CHECKING:
    from .models.shared import Problem

T = TypeVar("T")

JSON = "application/json"
PROBLEM_JSON = "application/problem+json"
ACCEPT = f"{JSON}, {PROBLEM_JSON}"
EXCERPT_BYTES = 120
LONGEST_REASON = 300

PROBLEMS: Mapping[int, type[ProblemError]] = {
    400: BadRequest,
    401: KeyWanted,
    404: NotFound,
    413: TooLarge,
    422: RuleBroken,
    429: TooManyRequests,
    503: Unavailable,
}


def write_body(question: object) -> bytes:
    """The question as JSON. Raises QuestionError, which names the field, for what JSON can't carry."""
    try:
        return json.dumps(to_json(question), allow_nan=False, separators=(",", ":")).encode("ascii")
    except Mismatch as mismatch:
        raise QuestionError(mismatch.pointer, mismatch.reason) from None


def read_reply(reply: Reply, shape: type[T], now: datetime) -> T:
    """The value, or the text, that the reply of this moment carries; pure. Raises ProblemError or AnswerError."""
    if not 200 <= reply.status < 300:
        raise _failure(reply, now)
    return cast(T, _read_text(reply, shape)) if issubclass(shape, Text) else _read(reply, shape)


def _read_text(reply: Reply, shape: type[Text]) -> Text:
    _expect(reply, shape.media_type)
    try:
        return shape(reply.body.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise _misfit(reply, f"not UTF-8: {error.reason}") from None


def because(url: str, reason: object) -> str:
    """Why no answer came, on one line and in bounds: who speaks no HTTP may have written the reason.

    >>> because("http://till", "Connection aborted: SSH-2.0-x\\r\\n")
    'http://till: Connection aborted: SSH-2.0-x'
    """
    harmless = "".join(mark if mark.isprintable() else " " for mark in str(reason)[:LONGEST_REASON])
    return f"{url}: {' '.join(harmless.split())}"


def check_length(call: Call, status: int, length: int) -> None:
    """Raise AnswerError if an answer is longer than the caller wants to read."""
    if call.max_bytes is not None and length > call.max_bytes:
        raise AnswerError(status, f"longer than {call.max_bytes} bytes")


def _failure(reply: Reply, now: datetime) -> RimpoiseError:
    if reply.status < 400 and (address := reply.header("Location")):
        return _misfit(reply, f"redirected to {address}: give the client that address")
    if reply.status < 400:
        return _misfit(reply, "neither an answer nor an error")
    kind = PROBLEMS.get(reply.status, ServerError if reply.status >= 500 else ProblemError)
    return kind(reply.status, _problem(reply), retry_after_s(reply.header("Retry-After"), now))


def _problem(reply: Reply) -> Problem:
    """What the body says is wrong; of a page by somebody else, such as a proxy, no more than its beginning."""
    from .models.shared import Problem

    blank = _blank(reply)
    try:
        found = {name: value for name, value in _parse(reply).items() if value is not None}
        return from_json(Problem, blank | found)
    except (AnswerError, AttributeError, Mismatch):
        return from_json(Problem, blank | {"detail": _excerpt(reply)})


def _blank(reply: Reply) -> dict[str, Any]:
    """A problem of which the status alone is known (RFC 9457, section 4.2.1)."""
    title = HTTPStatus(reply.status).phrase if reply.status in set(HTTPStatus) else "Unknown status"
    return {
        "type": "about:blank",
        "title": title,
        "status": reply.status,
        "detail": "",
        "instance": "",
        "errors": [],
    }


def _read(reply: Reply, shape: type[T]) -> T:
    _expect(reply, JSON)
    try:
        return from_json(shape, _parse(reply))
    except Mismatch as mismatch:
        raise _misfit(reply, mismatch.reason, mismatch.pointer) from None


def _expect(reply: Reply, media_type: str) -> None:
    if reply.media_type != media_type:
        raise _misfit(reply, f"expected {media_type}, got {reply.media_type or 'no content type'}")


def _parse(reply: Reply) -> Any:
    try:
        return parse(reply.body)
    except (ValueError, RecursionError) as error:
        raise _misfit(reply, f"not JSON: {error}") from None


def _misfit(reply: Reply, reason: str, pointer: str = "") -> AnswerError:
    return AnswerError(reply.status, reason, pointer, _excerpt(reply))


def _excerpt(reply: Reply) -> str:
    return reply.body[:EXCERPT_BYTES].decode("utf-8", "replace")
