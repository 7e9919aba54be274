"""Serving with gunicorn inside this process: no configuration file, no second program."""

from __future__ import annotations

from flask import Flask
from gunicorn.app.base import BaseApplication  # type: ignore[import-untyped]

from .app import create_app

THREADS = 4
"""Per worker; so that one long request does not hold up the short ones."""


class Server(BaseApplication):  # type: ignore[misc]
    """gunicorn at a host and port, with as many worker processes as are asked for."""

    def __init__(self, host: str, port: int, workers: int) -> None:
        self.settings = {
            "bind": f"[{host}]:{port}" if ":" in host else f"{host}:{port}",
            "workers": workers,
            "worker_class": "gthread",
            "threads": THREADS,
            "preload_app": True,
            "control_socket_disable": True,  # gunicorn would put a socket into the user's home
        }
        super().__init__()

    def load_config(self) -> None:
        """Take our settings; gunicorn's own command line and files are not read."""
        for name, value in self.settings.items():
            self.cfg.set(name, value)

    def load(self) -> Flask:
        """The application."""
        return create_app()
