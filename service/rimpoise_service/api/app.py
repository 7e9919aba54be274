"""The application: all wiring in one factory."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Flask, request
from werkzeug.exceptions import NotFound

from .endpoints import service
from .endpoints.document import ENDPOINTS
from .http import codings, problems, readers
from .http.endpoint import MAX_BODY
from .ops import instrumentation, security
from .ops.settings import Settings
from .pages import problem_pages, swagger_ui, try_page


class App(Flask):
    """Flask, but for its search for coroutines at each step of each request: there are none."""

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """As it is."""
        return func


def create_app(settings: Settings | None = None) -> Flask:
    """A new application, open to all unless the settings say otherwise. It keeps nothing between requests.

    Raises BadSettings.
    """
    settings = settings or Settings()
    app = App(__name__, static_folder=None)
    app.url_map.merge_slashes = False  # a path has one spelling; nobody is sent to the host that a caller names
    app.config["MAX_CONTENT_LENGTH"] = MAX_BODY
    app.extensions[service.SETTINGS] = settings
    counted = instrumentation.install(app)  # first, so that it sees what all the others answer
    readers.install(app)  # before whatever may refuse, so that a refusal is in the right language
    for operation in ENDPOINTS:
        app.add_url_rule(operation.path, operation.operation_id, operation, methods=[operation.method])
    swagger_ui.install(app)
    try_page.install(app)
    problem_pages.install(app)
    problems.register(app)
    security.install(app, settings, counted)
    app.before_request(refuse_more_slashes)  # after the key, without which nobody learns what is here
    codings.install(app)
    return app


def refuse_more_slashes() -> None:
    """Werkzeug finds ``/v1`` at ``//v1`` too, where a proxy's rules for paths do not look. Raises NotFound."""
    if request.environ.get("PATH_INFO", "").startswith("//"):
        raise NotFound
