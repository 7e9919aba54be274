"""A WSGI application that answers on the loopback, for as long as a test needs it."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from socketserver import BaseServer
from typing import TYPE_CHECKING, Any

from werkzeug.serving import WSGIRequestHandler, make_server

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIApplication


class Quiet(WSGIRequestHandler):
    """Logs nothing."""

    def log(self, type: str, message: str, *args: Any) -> None:
        """Nothing."""


@contextmanager
def serving(app: WSGIApplication) -> Iterator[str]:
    """The URL of an application on a free port, until the block ends."""
    server = make_server("127.0.0.1", 0, app, threaded=True, request_handler=Quiet)
    with answering(server):
        yield f"http://127.0.0.1:{server.server_port}"


@contextmanager
def answering(server: BaseServer) -> Iterator[None]:
    """A server in a thread of its own, until the block ends."""
    with server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        try:
            yield
        finally:
            server.shutdown()
            thread.join()
