"""The media types of answers, and the headers that go with each of them."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from hashlib import sha256
from importlib.resources import files

from flask import request
from werkzeug.exceptions import NotAcceptable

from ..schemas.said import Said

PROBLEM = "application/problem+json"
JSON, NDJSON = "application/json", "application/x-ndjson"
HTML, SVG = "text/html; charset=utf-8", "image/svg+xml"

LANGUAGE = "en"
"""Of what no application answers: gunicorn's own refusals (RFC 5646)."""

AN_HOUR_S = 3600
"""How long what changes with a release alone may be kept [s]; after that its tag says whether it is still good."""

ALONE = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
"""A content security policy: the page loads nothing, runs nothing, sends nothing and can't be framed."""

STYLE = files("rimpoise_service.api.pages").joinpath("templates/sheet.css").read_text(encoding="utf-8")
"""The style sheet inside our pages."""

POLICIES: Mapping[str, str] = {
    SVG: ALONE,
    HTML: f"{ALONE}; style-src 'sha256-{b64encode(sha256(STYLE.encode()).digest()).decode()}'",
}
"""By media type that a browser shows; the one style sheet is allowed by its hash."""


def check_accept(offered: str) -> None:
    """Refuse a request that doesn't take the path's media type; whoever lists problems alone means errors by it.

    All that is answered is UTF-8, so whoever asks for that by name gets it, too. Raises NotAcceptable.
    """
    accepted = request.accept_mimetypes
    lists_problems = any(name == PROBLEM and quality > 0 for name, quality in accepted)
    spellings = plain(offered), f"{plain(offered)}; charset=utf-8"
    if accepted and not lists_problems and not any(accepted[spelling] > 0 for spelling in spellings):
        raise NotAcceptable(Said("accept_wrong", like=plain(offered)))


def plain(media_type: str) -> str:
    """The media type without its parameters.

    >>> plain("text/html; charset=utf-8")
    'text/html'
    """
    return media_type.partition(";")[0]


def headers_of(media_type: str) -> Mapping[str, str]:
    """The headers that protect a media type that browsers show."""
    policy = POLICIES.get(media_type)
    return {"Content-Security-Policy": policy, "X-Content-Type-Options": "nosniff"} if policy else {}
