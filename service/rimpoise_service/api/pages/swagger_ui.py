"""The page that shows the document: Swagger UI from a package, served from here without any other host.

The policy allows scripts from this service only. Swagger UI sets styles as it runs, so inline styles are allowed.
"""

from __future__ import annotations

from functools import cache

from flask import Flask, Response, request
from swagger_ui_bundle import swagger_ui_path  # type: ignore[import-untyped]
from werkzeug.exceptions import NotFound

from ..http.media_types import AN_HOUR_S

PAGE = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>rimpoise</title>
<link rel="stylesheet" href="docs/swagger-ui.css">
</head>
<body>
<noscript>This page needs scripts; <a href="openapi.yaml">openapi.yaml</a> is the same as text.</noscript>
<div id="document"></div>
<script src="docs/swagger-ui-bundle.js"></script>
<script src="docs/begin.js"></script>
</body>
</html>
"""
BEGIN = """\
SwaggerUIBundle({
  url: "openapi.yaml", dom_id: "#document", validatorUrl: null, deepLinking: true, docExpansion: "list",
});
"""
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
    "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
JAVASCRIPT = "text/javascript; charset=utf-8"
TYPES = {"swagger-ui.css": "text/css; charset=utf-8", "swagger-ui-bundle.js": JAVASCRIPT}
PAGE_OPERATION, ASSET = "getDocs", "docsAsset"


def install(app: Flask) -> None:
    """Serve the page and its files."""
    app.add_url_rule("/docs/<name>", ASSET, asset)
    app.after_request(_allow)


def asset(name: str) -> Response:
    """A file of the page."""
    if name == "begin.js":
        return Response(BEGIN, content_type=JAVASCRIPT)
    if name not in TYPES:
        raise NotFound
    response = Response(_content(name), content_type=TYPES[name])
    response.cache_control.max_age = AN_HOUR_S
    return response


@cache
def _content(name: str) -> bytes:
    content: bytes = (swagger_ui_path / name).read_bytes()
    return content


def _allow(response: Response) -> Response:
    if request.endpoint == PAGE_OPERATION:
        response.headers["Content-Security-Policy"] = POLICY
    return response
