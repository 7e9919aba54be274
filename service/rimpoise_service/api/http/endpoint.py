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
from ..schemas.said import invalid
from . import strict_json
from .media_types import JSON, headers_of, wanted
from .readers import reading_units_of

MAX_BODY = 1024 * 1024


class Example(NamedTuple):
    """A worked request, and what it shows."""

    summary: str
    body: dict[str, Any]


Rendering = Callable[[Any, Any], str]
"""Makes a text of another media type from the request and the view's result."""


@dataclass(frozen=True, slots=True)
class Endpoint:
    """A method at a path; calling it answers the current request.

    ``also``: further media types of the answer, for callers that accept them.
    """

    path: str
    method: str
    operation_id: str
    tag: str
    view: Callable[..., Any]
    asks: Schema | Variants | None
    answers: ResponseSchema | None
    media_type: str = JSON
    examples: Mapping[str, Example] = field(default_factory=dict)
    by_line: bool = False
    """Whether it also takes and gives lines, one request and one answer each."""
    refuses: tuple[int, ...] = ()
    """Statuses of problems that only this operation has."""
    also: Mapping[str, Rendering] = field(default_factory=dict)
    most_bytes: int = MAX_BODY
    heavy: bool = False
    """Whether it computes for many wheels: a worker answers few such requests at once."""

    @property
    def summary(self) -> str:
        """The first line of the view's docstring."""
        return inspect.getdoc(self.view).partition("\n")[0]  # type: ignore[union-attr]

    @property
    def description(self) -> str:
        """The rest of the view's docstring."""
        return inspect.getdoc(self.view).partition("\n")[2].strip()  # type: ignore[union-attr]

    def __call__(self) -> Response:
        """Answer the current request."""
        refuse_query()
        media_type = wanted(self.media_type, *self.also)
        value = read_value(self.most_bytes) if self.asks else None
        with reading_units_of(value):
            asked, answer = self.compute(value) if self.asks else (None, self.view())
            note(answer)
            body = self._body(media_type, asked, answer)
        response = Response(body, content_type=media_type, headers=headers_of(media_type))
        if self.also:
            response.vary.add("Accept")
        return response

    def compute(self, value: object, *shared: Any) -> tuple[Any, Any]:
        """The request that a JSON value loads to, and what the view answers to it.

        Every value comes through here, whether it is a body, an item of a batch or a line. ``shared`` is what the
        values of one batch have in common; the view gets it after the request. Raises ValidationError.
        """
        asked = cast(Any, self.asks).load(value)
        with computing():
            return asked, self.view(asked, *shared)

    def _body(self, media_type: str, asked: Any, answer: Any) -> str | bytes:
        if media_type in self.also:
            return self.also[media_type](asked, answer)
        return strict_json.dumps(self.answers.to_json(answer)) if self.answers else cast(str, answer)


def post(
    path: str,
    operation_id: str,
    *,
    tag: str,
    asks: type[Schema] | Variants,
    answers: type[ResponseSchema] | None = None,
    examples: Mapping[str, Mapping[str, Example]],
    media_type: str = JSON,
    also: Mapping[str, Rendering] | None = None,
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
            also=also or {},
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
) -> Callable[[Callable[[], Any]], Endpoint]:
    """Make an operation of a view without parameters; without ``answers`` the view returns a text."""

    def make(view: Callable[[], Any]) -> Endpoint:
        shape = answers() if answers else None
        return Endpoint(path, "GET", operation_id, tag, view, None, shape, media_type, refuses=refuses)

    return make


def refuse_query() -> None:
    """No operation has a query parameter; an ignored one would look as if it worked. Raises ValidationError."""
    if request.args:
        names = tuple(map(show, sorted(request.args)))
        raise invalid("no_query_parameter", names=names)


def read_value(most: int = MAX_BODY) -> Any:
    """The body's JSON value, from up to ``most`` bytes; the schema checks that it is an object.

    Raises UnsupportedMediaType, RequestEntityTooLarge, BadJson.
    """
    check_media_type(JSON)
    request.max_content_length = most
    data = request.get_data(cache=False)
    # Of a chunked body Werkzeug reads up to the limit and silently drops the rest.
    if request.content_length is None and len(data) >= most:
        raise RequestEntityTooLarge(f"the body has {most} bytes or more; send less at once")
    return strict_json.loads(data)


def check_media_type(*allowed: str) -> None:
    """Raises UnsupportedMediaType for any other media type, and for an encoded body."""
    if request.mimetype not in allowed:
        was = request.mimetype or "missing"
        raise UnsupportedMediaType(f"send {' or '.join(allowed)}; the Content-Type was {was}")
    if request.headers.get("Content-Encoding", "identity") != "identity":
        raise UnsupportedMediaType("send the body as it is, without a Content-Encoding")
