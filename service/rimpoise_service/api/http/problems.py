"""Every error as an RFC 9457 problem: one table of kinds, and one function for each exception.

400: the bytes are not strict JSON, or the value does not match the published schema. 422: it does, but breaks
a rule of the table in ``rules``. All errors of a request come at once, each with a JSON pointer (RFC 6901) in
its URI fragment form. That no good answer exists is no problem: it is a 200 with a decision.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any
from urllib.parse import quote
from uuid import uuid4

from flask import Flask, Response, g, has_request_context
from marshmallow import ValidationError
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from ...messages.catalogue import text_of
from ...messages.message import message
from ..schemas.problems import ProblemSchema
from ..schemas.rules import Path, RuleBreak
from ..schemas.said import Said
from . import strict_json
from .media_types import PROBLEM as MEDIA_TYPE
from .strict_json import BadJson

MAX_ERRORS = 100
"""Errors in one answer; more would not help, and an answer should not outgrow its request."""

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Kind:
    """A type of problem: its stable name and its status; the catalogue has its words."""

    slug: str
    status: int

    @property
    def title(self) -> str:
        """What is wrong, in the reader's language."""
        return text_of(message(f"problem_{self._code}"))

    @property
    def advice(self) -> str:
        """What to do about it, in the reader's language."""
        return text_of(message(f"advice_{self._code}"))

    @property
    def _code(self) -> str:
        return self.slug.replace("-", "_")

    @property
    def type(self) -> str:
        """The path that names the type, at which its page is."""
        return f"/problems/{self.slug}"


KINDS: tuple[Kind, ...] = (
    Kind("malformed-request", 400),
    Kind("malformed-json", 400),
    Kind("invalid-request", 400),
    Kind("key-wanted", 401),
    Kind("not-found", 404),
    Kind("method-not-allowed", 405),
    Kind("not-acceptable", 406),
    Kind("too-slow", 408),
    Kind("body-too-large", 413),
    Kind("batch-too-heavy", 413),
    Kind("address-too-long", 414),
    Kind("unsupported-media-type", 415),
    Kind("rule-broken", 422),
    Kind("expectation-failed", 417),
    Kind("too-many-requests", 429),
    Kind("headers-too-large", 431),
    Kind("internal-error", 500),
    Kind("not-implemented", 501),
    Kind("bad-gateway", 502),  # this and the last are said by a proxy before the service
    Kind("not-ready", 503),
    Kind("gateway-timeout", 504),
)
_BY_SLUG = {kind.slug: kind for kind in KINDS}
_OF_BODIES = ("malformed-json", "invalid-request", "batch-too-heavy")
_BY_STATUS = {kind.status: kind for kind in KINDS if kind.slug not in _OF_BODIES}
_PROBLEM = ProblemSchema()


class BatchTooHeavy(Exception):
    """The earlier plans of a batch have used up the work of the whole batch."""


def register(app: Flask) -> None:
    """Make every error of an app a problem."""
    app.register_error_handler(HTTPException, refused)
    app.register_error_handler(Exception, lambda error: _respond(problem_of(error)))


def problem_of(error: Exception) -> dict[str, Any]:
    """The problem of an error, as it is sent."""
    match error:
        case BadJson():
            return _malformed(error)
        case ValidationError():
            return _invalid(error)
        case BatchTooHeavy():
            kind = _BY_SLUG["batch-too-heavy"]
            return _of_kind(kind, kind.advice)
        case HTTPException():
            return _http(error)
    return _crashed(error)


def _malformed(error: BadJson) -> dict[str, Any]:
    fault = {"pointer": "#", "detail": error.said, "rule": None, **_message(error.said)}
    return _of_kind(_BY_SLUG["malformed-json"], error.said, [fault])


def _invalid(error: ValidationError) -> dict[str, Any]:
    found = sorted(_flat(error.messages), key=lambda pair: _order(pair[0]))
    errors = [
        {"pointer": pointer(path), "detail": text, "rule": getattr(text, "rule", None), **_message(text)}
        for path, text in found[:MAX_ERRORS]
    ]
    only_rules = all(isinstance(text, RuleBreak) for _, text in found)
    said = message(
        "things_wrong" if len(found) <= MAX_ERRORS else "first_wrong", count=len(found), most=MAX_ERRORS
    )
    kind = _BY_SLUG["rule-broken" if only_rules else "invalid-request"]
    return _of_kind(kind, text_of(said), errors)


def _message(text: str) -> dict[str, object]:
    """Code and values of an error's text; marshmallow's own texts have none."""
    if isinstance(text, Said):
        return {"code": text.message.code, "values": text.message.values}
    return {"code": None}


def refused(error: HTTPException) -> Response | HTTPException:
    """The answer to what HTTP itself has an error for."""
    if error.code is None or error.code < HTTPStatus.BAD_REQUEST:
        return error
    response = _respond(_http(error))
    kept = ((k, v) for k, v in error.get_headers() if k.lower() not in ("content-type", "content-length"))
    response.headers.extend(list(kept))  # Allow, above all
    return response


def _http(error: HTTPException) -> dict[str, Any]:
    status = HTTPStatus(error.code or HTTPStatus.INTERNAL_SERVER_ERROR)
    kind = _BY_STATUS.get(status)
    own_words = error.description if error.description != type(error).description else None
    if isinstance(error, MethodNotAllowed) and error.valid_methods:
        own_words = Said("use_method", known=tuple(sorted(error.valid_methods)))
    if kind is None:
        return _problem("about:blank", status.phrase, status, own_words or status.description)
    return _of_kind(kind, own_words or kind.advice)


def _crashed(error: Exception) -> dict[str, Any]:
    instance = _new_instance()
    log.error("unhandled, %s", instance, exc_info=error)
    return _of_kind(_BY_SLUG["internal-error"], text_of(message("not_your_fault")), instance=instance)


def _new_instance() -> str:
    """The request's id, which matches problem and log line; in a batch each problem has an id of its own."""
    return f"urn:uuid:{g.trace.uuid if has_request_context() and 'trace' in g else uuid4()}"


def _of_kind(
    kind: Kind, detail: str, errors: Sequence[dict[str, Any]] = (), instance: str | None = None
) -> dict[str, Any]:
    return _problem(kind.type, kind.title, kind.status, detail, errors, instance)


def _problem(
    name: str,
    title: str,
    status: int,
    detail: str,
    errors: Sequence[dict[str, Any]] = (),
    instance: str | None = None,
) -> dict[str, Any]:
    written = {
        "type": name,
        "title": title,
        "status": int(status),
        "detail": f"{detail[:1].upper()}{detail[1:]}{'' if detail.endswith('.') else '.'}",
        "instance": instance or _new_instance(),
        "errors": errors,
    }
    return _PROBLEM.to_json(written)


def _respond(problem: dict[str, Any]) -> Response:
    return Response(strict_json.dumps(problem), problem["status"], content_type=MEDIA_TYPE)


def _flat(messages: Any, path: Path = ()) -> Iterator[tuple[Path, str]]:
    """marshmallow's nested messages as pairs of path and text."""
    if isinstance(messages, dict):
        for key, inner in messages.items():
            yield from _flat(inner, path if key == "_schema" else (*path, key))
    elif isinstance(messages, str):
        yield path, messages
    else:
        for inner in messages:
            yield from _flat(inner, path)


def _order(path: Path) -> list[tuple[int, str]]:
    """Parents before children and lists by number: an order that does not depend on hash seeds."""
    return [(part, "") if isinstance(part, int) else (-1, part) for part in path]


def pointer(path: Iterable[str | int]) -> str:
    """A JSON pointer in its URI fragment form (RFC 6901, section 6).

    >>> pointer(["planes", 0, "a/b c"])
    '#/planes/0/a~1b%20c'
    """
    steps = (str(part).replace("~", "~0").replace("/", "~1") for part in path)
    return "#" + "".join(f"/{quote(step, safe='~')}" for step in steps)
