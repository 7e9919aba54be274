"""A proxy that answers as next year's service may: a field more in every object, words that nobody knows yet."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import urlsplit

from tests.served import answering

WORDS = {"decision", "verdict", "style", "material", "side", "cause", "line_type", "reports", "size_unit", "code"}
"""Names of fields whose words may grow."""


def changed(value: Any) -> Any:
    """An answer of next year's."""
    if isinstance(value, dict):
        reported = {name: "of_next_year" if _grows(name, each) else changed(each) for name, each in value.items()}
        return reported | {"of_next_year": {"deep": [1, None]}}
    return [changed(each) for each in value] if isinstance(value, list) else value


def _grows(name: str, value: Any) -> bool:
    return name in WORDS and isinstance(value, str)


@contextmanager
def next_year(url: str) -> Iterator[str]:
    """The address of a proxy to that service."""

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            connection = HTTPConnection(urlsplit(url).netloc, timeout=60)
            kept = {name: value for name, value in self.headers.items() if name in ("Content-Type", "Accept")}
            connection.request("POST", self.path, body, kept)
            answer = connection.getresponse()
            reported, kind = answer.read(), answer.headers["Content-Type"]
            if kind == "application/json":
                reported = json.dumps(changed(json.loads(reported))).encode()
            self.send_response(answer.status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(reported)))
            self.end_headers()
            self.wfile.write(reported)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    with answering(server):
        yield f"http://127.0.0.1:{server.server_port}"
