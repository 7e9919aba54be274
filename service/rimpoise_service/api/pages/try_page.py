"""GET /try: a page for whoever has no software yet that calls us: a form, the sheet as the answer, the check spin.

Served by the service itself: no build step, nothing from elsewhere, scripts and styles of this service only. What
is entered stays in the browser and goes to the operations of the API; the page has no way in of its own.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import files
from typing import get_args

from flask import Flask, Response
from werkzeug.exceptions import NotFound

from ...messages.page_words import TABLES, PageWords
from ...model.wheel import VehicleClass
from ..http.media_types import AN_HOUR_S, HTML, STYLE
from .environment import PAGES

PLAN_PATH, SHEET_PATH, CHECK_PATH = "v1/plans", "v1/plans/sheet", "v1/check-spins"

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
CSS, JAVASCRIPT = "text/css; charset=utf-8", "text/javascript; charset=utf-8"


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
    """The page, in the language that the request asks for; its script can put it into another."""
    text = PAGES.get_template("try.html").render(
        words=PageWords("try"),
        classes=[(each, each) for each in get_args(VehicleClass)],
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
    response.cache_control.max_age = AN_HOUR_S
    return response
