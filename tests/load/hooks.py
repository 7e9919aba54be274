"""For schemathesis' command line: lines, and checks of our own."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import schemathesis
from schemathesis.checks import CheckContext
from schemathesis.core.parameters import ParameterLocation
from schemathesis.core.transport import Response

from rimpoise_service.api.schemas.rules import RULES

IN_PLACE = ("/v1/plans/batch", "/v1/plans/stream", "/v1/demand")
"""Where a plan that is none gets its problem in its own place of a 200."""


DOCUMENT = (Path(__file__).parents[2] / "openapi.yaml").read_text("utf-8")


@schemathesis.serializer("application/x-ndjson")
def by_line(ctx: object, value: object) -> bytes:  # noqa: ARG001
    """A text is what it is; anything else may stand on a line, too."""
    return value.encode("utf-8", "surrogatepass") if isinstance(value, str) else json.dumps(value).encode()


@schemathesis.check
def a_422_names_rules(ctx: CheckContext, response: Response, case: schemathesis.Case[Any]) -> None:  # noqa: ARG001
    """Every error of a 422 is about a rule of the table."""
    if response.status_code == 422:
        errors = response.json()["errors"]
        assert errors
        assert {error["rule"] for error in errors} <= set(RULES)


@schemathesis.check
def refused_in_its_place(ctx: CheckContext, response: Response, case: schemathesis.Case[Any]) -> None:  # noqa: ARG001
    """A body that breaks the schema is refused: as a whole, or what breaks it in its place."""
    if case.path not in IN_PLACE or response.status_code != 200 or case.meta is None:
        return
    body = case.meta.components.get(ParameterLocation.BODY)
    if body is not None and body.mode.is_negative:
        assert b'"problem":{' in response.content


@schemathesis.check
def the_document_is_the_contract(ctx: CheckContext, response: Response, case: schemathesis.Case[Any]) -> None:  # noqa: ARG001
    """What is handed out, as text, is the file."""
    if case.path == "/openapi.yaml" and case.method == "GET" and response.status_code == 200:
        assert response.text == DOCUMENT
