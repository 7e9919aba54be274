"""Connections that say nothing hold no thread: asked of a real gunicorn with one thread, on loopback."""

from __future__ import annotations

import socket
from urllib.request import urlopen

from tests.load.service import running


def test_silent_connections_hold_up_nobody() -> None:
    """Ten of them before the question; gunicorn's own worker would wait five seconds for each in turn."""
    with running(workers="1", threads="1") as service:
        silent = [socket.create_connection(("127.0.0.1", service.port)) for _ in range(10)]
        with urlopen(f"http://127.0.0.1:{service.port}/healthz", timeout=20) as answer:
            assert answer.status == 200
        for connection in silent:  # and each is heard when it does say something
            connection.sendall(b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n")
            assert connection.recv(65536).startswith(b"HTTP/1.1 200")
            connection.close()
