"""An operation of the API: one view function, and what happens before and after it.

Read the body, load it through the request's schema, call the view, write what it returns through the answer's
schema. The docstring of the view is the operation's description in the document.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple, cast

from flask import Response, request
from marshmallow import Schema
from werkzeug.exceptions import RequestEntityTooLarge, UnsupportedMediaType

from ..ops.instrumentation import computing, note
from ..schemas.base import ResponseSchema
from ..schemas.nested_fields import Variants
from ..schemas.request_fields import show
from ..schemas.said import Said, invalid
from . import strict_json
from .media_types import AN_HOUR_S, JSON, check_accept, headers_of
from .readers import reading_for

MAX_BODY = 1024 * 1024


class Example(NamedTuple):
    """A worked request, and what it shows; ``body`` is a JSON object, or a text where there are lines."""

    summary: str
    body: Any


@dataclass(frozen=True, slots=True)
class Endpoint:
    """A method at a path; calling it answers the current request. A path has one media type and one shape."""

    path: str
    method: str
    operation_id: str
    tag: str
    view: Callable[..., Any]
    asks: Schema | Variants | None
    answers: ResponseSchema | None
    media_type: str = JSON
    examples: Mapping[str, Example] = field(default_factory=dict)
    kept: bool = False
    """Whether the answer may be kept for an hour: it changes with a release alone."""
    by_line: bool = False
    """Whether it takes and gives lines, one request and one answer each, instead of JSON."""
    refuses: tuple[int, ...] = ()
    """Statuses of problems that only this operation has."""
    most_bytes: int = MAX_BODY
    heavy: bool = False
    """Whether it computes for many wheels: a worker answers few such requests at once."""

    @property
    def summary(self) -> str:
        """The first line of the view's docstring."""
        return (inspect.getdoc(self.view) or "").partition("\n")[0]

    @property
    def description(self) -> str:
        """The rest of the view's docstring."""
        return (inspect.getdoc(self.view) or "").partition("\n")[2].strip()

    def __call__(self) -> Response:
        """Answer the current request."""
        refuse_query()
        check_accept(self.media_type)
        value = read_value(self.most_bytes) if self.asks else None
        with reading_for(value):
            answer = self.compute(value) if self.asks else self.view()
            note(answer)
            body = strict_json.dumps(self.answers.to_json(answer)) if self.answers else cast(str, answer)
        response = Response(body, content_type=self.media_type, headers=headers_of(self.media_type))
        if self.kept:
            response.cache_control.max_age = AN_HOUR_S
        return response

    def compute(self, value: object, *shared: Any) -> Any:
        """What the view answers to the request that a JSON value loads to.

        Every value comes through here, whether it is a body, an item of a batch or a line. ``shared`` is what the
        values of one batch have in common; the view gets it after the request. Raises ValidationError.
        """
        loaded = cast(Any, self.asks).load(value)
        with computing():
            return self.view(loaded, *shared)


def post(
    path: str,
    operation_id: str,
    *,
    tag: str,
    asks: type[Schema] | Variants,
    answers: type[ResponseSchema] | None = None,
    examples: Mapping[str, Mapping[str, Example]],
    media_type: str = JSON,
    most_bytes: int = MAX_BODY,
    heavy: bool = False,
) -> Callable[[Callable[..., Any]], Endpoint]:
    """Make an operation of a view, which gets the loaded request; without ``answers`` the view returns a text."""

    def make(view: Callable[..., Any]) -> Endpoint:
        loads = asks if isinstance(asks, Variants) else asks()
        shape, worked = answers() if answers else None, examples[operation_id]
        return Endpoint(
            path,
            "POST",
            operation_id,
            tag,
            view,
            loads,
            shape,
            media_type,
            worked,
            most_bytes=most_bytes,
            heavy=heavy,
        )

    return make


def get(
    path: str,
    operation_id: str,
    *,
    tag: str,
    answers: type[ResponseSchema] | None = None,
    media_type: str = JSON,
    refuses: tuple[int, ...] = (),
    kept: bool = False,
) -> Callable[[Callable[[], Any]], Endpoint]:
    """Make an operation of a view without parameters; without ``answers`` the view returns a text."""

    def make(view: Callable[[], Any]) -> Endpoint:
        shape = answers() if answers else None
        return Endpoint(path, "GET", operation_id, tag, view, None, shape, media_type, refuses=refuses, kept=kept)

    return make


def refuse_query() -> None:
    """No operation has a query parameter; an ignored one would look as if it worked. Raises ValidationError."""
    if request.args:
        names = tuple(map(show, sorted(request.args)))
        raise invalid("no_query_parameter", names=names)


def read_value(most: int) -> Any:
    """The body's JSON value, from up to ``most`` bytes; the schema checks that it is an object.

    Raises UnsupportedMediaType, RequestEntityTooLarge, BadJson.
    """
    check_media_type(JSON)
    request.max_content_length = most
    data = request.get_data(cache=False)
    # Of a chunked body Werkzeug reads up to the limit and silently drops the rest.
    if request.content_length is None and len(data) >= most:
        raise RequestEntityTooLarge(Said("body_too_long", most=most))
    return strict_json.loads(data)


def check_media_type(allowed: str) -> None:
    """Raises UnsupportedMediaType for any other media type, and for an encoded body."""
    if request.mimetype != allowed:
        raise UnsupportedMediaType(Said("content_type_wrong", like=allowed, was=request.mimetype or None))
    if request.headers.get("Content-Encoding", "identity") != "identity":
        raise UnsupportedMediaType(Said("no_encoding"))
