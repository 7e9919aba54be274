"""Plan requests that ask for more or less detail, and what the examples' plans then weigh."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from typing import Any, NamedTuple

from flask.testing import FlaskClient

from rimpoise_service.api.endpoints.document import ENDPOINTS

BRIEF_BYTES = 1_000
"""No plan with brief detail has so many bytes, uncompressed."""

STANDARD_BYTES = 6_000
"""No plan with standard detail has so many bytes as it is sent to a caller that takes gzip."""

GZIP = {"Accept-Encoding": "gzip"}

DETAILS = ("brief", "standard", "full")


class Size(NamedTuple):
    """The bytes of an example's answers, and how many layouts the plan has.

    Uncompressed, but for ``standard_gzip``: standard detail as it is sent to a caller that takes gzip.
    """

    example: str
    layouts: int
    brief: int
    standard: int
    full: int
    standard_gzip: int


def with_detail(body: Any, detail: str) -> Any:
    """The same plan request, to be answered with so much detail."""
    return body | {"preferences": body.get("preferences", {}) | {"detail": detail}}


def sizes(client: FlaskClient) -> Iterator[Size]:
    """Of every worked plan request."""
    (plans,) = (operation for operation in ENDPOINTS if operation.path == "/v1/plans")
    for name, example in plans.examples.items():
        brief, full = (client.post(plans.path, json=with_detail(example.body, d)).data for d in ("brief", "full"))
        whole = json.loads(full)
        layouts = len(whole["alternatives"]) + (whole["recommended"] is not None)
        sent = client.post(plans.path, json=with_detail(example.body, "standard"), headers=GZIP).data
        yield Size(name, layouts, len(brief), len(gzip.decompress(sent)), len(full), len(sent))
