"""The application: all wiring in one factory."""

from __future__ import annotations

from flask import Flask

from . import problems
from .operation import MAX_BODY
from .routes import OPERATIONS


def create_app() -> Flask:
    """A fresh application. It keeps nothing between requests."""
    app = Flask(__name__, static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = MAX_BODY
    for operation in OPERATIONS:
        app.add_url_rule(operation.path, operation.operation_id, operation, methods=[operation.method])
    problems.register(app)
    return app
