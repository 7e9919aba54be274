"""GET /try: a page for whoever has no software yet that calls us: a form, the sheet as the answer, the check spin.

Served by the service itself: no build step, nothing from elsewhere, scripts and styles of this service only. What
is entered stays in the browser and goes to the operations of the API; the page has no way in of its own.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import files

from flask import Flask, Response, request
from werkzeug.exceptions import NotFound

from .. import __version__
from ..messages.page_words import TABLES, PageWords
from .http.media_types import STYLE
from .plan_sheet import PAGES

PLAN_PATH, SHEET_PATH, CHECK_PATH = "v1/plans", "v1/plans/sheet", "v1/check-spins"

CLASSES = ("car", "light_truck", "van", "motorcycle", "trailer", "heavy_truck", "bus")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
HTML, CSS, JAVASCRIPT = "text/html; charset=utf-8", "text/css; charset=utf-8", "text/javascript; charset=utf-8"
AN_HOUR_S = 3600


def _own(name: str) -> str:
    return files(__package__).joinpath("templates", name).read_text(encoding="utf-8")


_WORDS = json.dumps({language: table["try"] for language, table in TABLES.items()}, ensure_ascii=False)

ASSETS: Mapping[str, tuple[str, str]] = {
    "sheet.css": (STYLE, CSS),
    "try.css": (_own("try.css"), CSS),
    "try.js": (f"const WORDS = {_WORDS};\n{_own('try.js')}", JAVASCRIPT),
}
"""The page's files by name: text and media type."""


def install(app: Flask) -> None:
    """Serve the page and its files."""
    app.add_url_rule("/try", "tryPage", page)
    app.add_url_rule("/try/<name>", "tryAsset", asset)


def page() -> Response:
    """The page, in English as it comes; its script puts it into the reader's language."""
    text = PAGES.get_template("try.html").render(
        words=PageWords("try"),
        version=__version__,
        classes=[(each, each) for each in CLASSES],
        sheet_path=SHEET_PATH,
        plan_path=PLAN_PATH,
        check_path=CHECK_PATH,
    )
    return Response(text, content_type=HTML, headers={"Content-Security-Policy": POLICY})


def asset(name: str) -> Response:
    """A file of the page. Raises NotFound."""
    if name not in ASSETS:
        raise NotFound
    text, media_type = ASSETS[name]
    response = Response(text, content_type=media_type)
    response.headers["Cache-Control"] = f"max-age={AN_HOUR_S}"
    response.add_etag()
    response.make_conditional(request)
    return response
