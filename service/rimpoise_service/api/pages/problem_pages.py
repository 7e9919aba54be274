"""The page of each type of problem, at the path that is the type's name: HTML, or JSON if that is asked for."""

from __future__ import annotations

from flask import Flask, Response, request
from werkzeug.exceptions import NotFound

from ...messages.page_words import PageWords
from ..http import strict_json
from ..http.media_types import AN_HOUR_S, HTML, JSON, headers_of, plain
from ..http.problems import KINDS, Kind
from ..schemas.reference import ProblemTypeSchema
from ..schemas.rules import RULES, rule_text
from ..schemas.said import Said
from .environment import PAGES

PAGE = "problemPage"
_KINDS = {kind.slug: kind for kind in KINDS}
_TYPE = ProblemTypeSchema()


def install(app: Flask) -> None:
    """Serve the pages."""
    app.add_url_rule("/problems/<slug>", PAGE, page)


def page(slug: str) -> Response:
    """The page of a type, or its row of the reference. Raises NotFound."""
    kind = _KINDS.get(slug)
    if kind is None:
        raise NotFound(Said("no_such_problem", known=tuple(_KINDS)))
    as_json = request.accept_mimetypes.best_match([plain(HTML), JSON]) == JSON
    response = Response(_json(kind), content_type=JSON) if as_json else _html(kind)
    response.vary.add("Accept")
    response.cache_control.max_age = AN_HOUR_S
    return response


def _json(kind: Kind) -> bytes:
    return strict_json.dumps(_TYPE.to_json(kind))


def _html(kind: Kind) -> Response:
    rules = {name: rule_text(name) for name in RULES} if kind.slug == "rule-broken" else {}
    text = PAGES.get_template("problem.html").render(words=PageWords("problem_page"), kind=kind, rules=rules)
    return Response(text, content_type=HTML, headers=headers_of(HTML))
