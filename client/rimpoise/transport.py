"""From a question to a call, from a reply to a value or an exception (both pure), and the one exchange between."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from http import HTTPStatus
from typing import Any, NoReturn, TypeVar

import requests
import urllib3

from .decoding import from_json
from .encoding import Mismatch, to_json
from .errors import (
    AnswerError,
    BadRequest,
    ConnectionFailed,
    KeyWanted,
    NotFound,
    ProblemError,
    QuestionError,
    RimpoiseError,
    RuleBroken,
    ServerError,
    TimedOut,
    TooLarge,
    TooManyRequests,
    TransportError,
    Unavailable,
)
from .http import Call, Reply
from .models.shared import Problem
from .retry import retry_after_s
from .version import __version__

T = TypeVar("T")

JSON = "application/json"
HTML, SVG = "text/html", "image/svg+xml"
PROBLEM_JSON = "application/problem+json"
ACCEPT = f"{JSON}, {PROBLEM_JSON}"
USER_AGENT = f"rimpoise-python/{__version__}"
EXCERPT_BYTES = 120

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
    """The value that the reply of this moment carries; pure. Raises ProblemError or AnswerError."""
    if 200 <= reply.status < 300:
        return _read(reply, JSON, shape)
    raise _failure(reply, now)


def read_text(reply: Reply, media_type: str, now: datetime) -> str:
    """The text, in UTF-8, that the reply of this moment carries; pure. Raises ProblemError or AnswerError."""
    if not 200 <= reply.status < 300:
        raise _failure(reply, now)
    _expect(reply, media_type)
    try:
        return reply.body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _misfit(reply, f"not UTF-8: {error.reason}") from None


def _failure(reply: Reply, now: datetime) -> RimpoiseError:
    if reply.status < 400:
        return _misfit(reply, f"redirected to {reply.header('Location')}: give the client that address")
    kind = PROBLEMS.get(reply.status, ServerError if reply.status >= 500 else ProblemError)
    return kind(reply.status, _problem(reply), retry_after_s(reply.header("Retry-After"), now))


def _problem(reply: Reply) -> Problem:
    """What the body says is wrong; of a page by somebody else, such as a proxy, no more than its beginning."""
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


def _read(reply: Reply, media_type: str, shape: type[T]) -> T:
    _expect(reply, media_type)
    try:
        return from_json(shape, _parse(reply))
    except Mismatch as mismatch:
        raise _misfit(reply, mismatch.reason, mismatch.pointer) from None


def _expect(reply: Reply, media_type: str) -> None:
    if reply.media_type != media_type:
        raise _misfit(reply, f"expected {media_type}, got {reply.media_type or 'no content type'}")


def _parse(reply: Reply) -> Any:
    try:
        return json.loads(reply.body, parse_constant=_refuse)
    except (ValueError, RecursionError) as error:
        raise _misfit(reply, f"not JSON: {error}") from None


def _refuse(constant: str) -> NoReturn:
    raise ValueError(f"{constant} is not JSON")


def _misfit(reply: Reply, reason: str, pointer: str = "") -> AnswerError:
    return AnswerError(reply.status, reason, pointer, _excerpt(reply))


def _excerpt(reply: Reply) -> str:
    return reply.body[:EXCERPT_BYTES].decode("utf-8", "replace")


def exchange(session: requests.Session, call: Call, timeout_s: float) -> Reply:
    """Send the call and read the whole reply; timeout_s [s] holds for connecting and for each wait for bytes.

    Redirects are not followed: they would turn a POST into a GET. Raises TransportError.
    """
    try:
        answer = session.request(
            call.method,
            call.url,
            headers=_headers(session, call),
            data=call.body,
            timeout=timeout_s,
            allow_redirects=False,
            # What the caller's session trusts; left to itself, requests would prefer REQUESTS_CA_BUNDLE to it.
            verify=None if session.verify is True else session.verify,
        )
    except requests.RequestException as error:
        raise transport_error(error, call.url) from error
    return Reply(answer.status_code, answer.headers, answer.content)


def _headers(session: requests.Session, call: Call) -> dict[str, str]:
    # A session of the caller's may have a name of its own, which stays; the library's default name is no name.
    unnamed = session.headers.get("User-Agent") == requests.utils.default_user_agent()
    return {"User-Agent": USER_AGENT, **call.headers} if unnamed else dict(call.headers)


def transport_error(error: requests.RequestException, url: str) -> TransportError:
    """Why no answer came. A body that stalls is a timeout too, though requests calls it a lost connection."""
    inner = error.args[0] if error.args else error
    text = f"{url}: {getattr(inner, 'reason', error)}"  # the outer text speaks of retries that there were none of
    if isinstance(error, requests.Timeout) or isinstance(inner, urllib3.exceptions.ReadTimeoutError):
        return TimedOut(text)
    broken = requests.ConnectionError, requests.exceptions.ChunkedEncodingError
    return (ConnectionFailed if isinstance(error, broken) else TransportError)(text)
