"""The application: all wiring in one factory."""

from __future__ import annotations

from flask import Flask

from . import docs_page, guarding, observing, operating_routes, problems
from .operation import MAX_BODY
from .routes import OPERATIONS
from .settings import Settings


def create_app(settings: Settings | None = None) -> Flask:
    """A fresh application, open to all unless the settings say otherwise. It keeps nothing between requests.

    Raises keys.BadKeys.
    """
    settings = settings or Settings()
    app = Flask(__name__, static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = MAX_BODY
    app.extensions[operating_routes.SETTINGS] = settings
    observing.install(app)  # first, so that it sees what all the others answer
    for operation in OPERATIONS:
        app.add_url_rule(operation.path, operation.operation_id, operation, methods=[operation.method])
    docs_page.install(app)
    problems.register(app)
    guarding.install(app, settings)
    return app
