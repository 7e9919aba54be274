"""For schemathesis' command line: a check of our own."""

from __future__ import annotations

from typing import Any

import schemathesis
from schemathesis.checks import CheckContext
from schemathesis.core.transport import Response

from rimpoise_service.api.schemas.rules import RULES


@schemathesis.check
def a_422_names_rules(ctx: CheckContext, response: Response, case: schemathesis.Case[Any]) -> None:  # noqa: ARG001
    """Every error of a 422 is about a rule of the table."""
    if response.status_code == 422:
        errors = response.json()["errors"]
        assert errors
        assert {error["rule"] for error in errors} <= set(RULES)
