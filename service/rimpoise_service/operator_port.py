"""The operator's port: metrics, health, readiness and draining, in a process that answers under any load.

Workers send what they counted once a second, as datagrams; so there is no folder that can be full, nobody waits
for anybody, and a worker that is silent for long is known to be stuck. gunicorn's first process starts it, hears
nothing from it, and it ends when that process and all workers have.
"""

from __future__ import annotations

import io
import json
import os
import socket
import subprocess
import sys
import threading
import time
import zlib
from contextlib import suppress
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from .worker_reports import MAX_REPORT, Totals

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
REQUEST_S = 5.0
"""For a whole request to come in, and for each piece of an answer to be taken [s]."""

MAX_OPEN = 64
"""Connections, each with a thread; who comes after them takes the place of the oldest."""


class Timed(io.RawIOBase):
    """What comes in on a socket until REQUEST_S after the first look. Raises TimeoutError."""

    def __init__(self, sock: socket.socket) -> None:
        self._sock, self._end = sock, time.monotonic() + REQUEST_S

    def readable(self) -> bool:
        """It is."""
        return True

    def readinto(self, buffer: Any, /) -> int:
        """Read what is there, or wait for it."""
        self._sock.settimeout(max(self._end - time.monotonic(), 0.001))
        try:
            return self._sock.recv_into(buffer)
        finally:
            self._sock.settimeout(REQUEST_S)


class Handler(BaseHTTPRequestHandler):
    """Answers on the operator's port."""

    server: OperatorServer
    timeout = REQUEST_S
    server_version, sys_version = "rimpoise", ""

    def setup(self) -> None:
        """Read in time, however slowly it comes."""
        super().setup()
        self.rfile = io.BufferedReader(Timed(self.connection))

    def parse_request(self) -> bool:
        """A query says nothing here."""
        good = super().parse_request()
        self.path = self.path.partition("?")[0] if good else ""
        return good

    def do_GET(self) -> None:
        """Metrics, health, readiness."""
        server = self.server
        if self.path == "/metrics":
            self._answer(HTTPStatus.OK, server.totals.text(), MEDIA_TYPE)
        elif self.path == "/healthz":
            self._state(server.totals.alive() > 0, "ok", "no worker reports")
        elif self.path == "/readyz" and server.draining():
            self._state(False, "", "draining")
        elif self.path == "/readyz":
            self._state(server.totals.alive() > 0, "ready", "no worker reports")
        else:
            self.send_error(HTTPStatus.NOT_FOUND)

    def do_POST(self) -> None:
        """Drain: from now on nothing new should be sent here."""
        self._drain(True)

    def do_DELETE(self) -> None:
        """The end of draining."""
        self._drain(False)

    def _drain(self, wanted: bool) -> None:
        drain = self.server.drain_file
        if self.path != "/drain" or drain is None:
            self.send_error(HTTPStatus.NOT_FOUND)
            return
        try:
            drain.touch() if wanted else drain.unlink(missing_ok=True)
        except OSError as error:
            self._state(False, "", f"the drain file can't be changed: {error.strerror}")
            return
        self._state(True, "draining" if wanted else "ready", "")

    def _state(
        self, good: bool, word: str, otherwise: str, bad: HTTPStatus = HTTPStatus.SERVICE_UNAVAILABLE
    ) -> None:
        status = HTTPStatus.OK if good else bad
        body = json.dumps({"status": word if good else otherwise}).encode()
        self._answer(status, body, "application/json")

    def _answer(self, status: HTTPStatus, body: bytes, media_type: str) -> None:
        self.send_response(status)
        headers = {"Content-Type": media_type, "Content-Length": len(body)}
        for name, value in (headers | {"Cache-Control": "no-store", "X-Content-Type-Options": "nosniff"}).items():
            self.send_header(name, str(value))
        self.end_headers()
        self.wfile.write(body)

    def send_error(self, code: int, *_: object) -> None:
        """What is no request of this port's."""
        self.close_connection = True
        self._state(False, "", HTTPStatus(code).phrase.lower(), HTTPStatus(code))

    def log_message(self, format: str, *args: object) -> None:
        """Probes and scrapes are no news."""


class OperatorServer(ThreadingHTTPServer):
    """The port, at a socket that listens already; ``totals`` is filled from ``reports``."""

    daemon_threads = True

    def __init__(self, listener: socket.socket, drain_file: Path | None) -> None:
        super().__init__(listener.getsockname()[:2], Handler, bind_and_activate=False)
        self.socket.close()
        self.socket = listener
        self.totals, self.drain_file = Totals(), drain_file
        self._lock, self._open = threading.Lock(), dict[Any, None]()

    def process_request(self, request: Any, client_address: Any) -> None:
        """Give it a thread; where there are too many, the oldest must go."""
        with self._lock:
            self._open[request] = None
            if len(self._open) > MAX_OPEN:
                oldest = next(iter(self._open))
                del self._open[oldest]
                with suppress(OSError):
                    oldest.shutdown(socket.SHUT_RDWR)
        super().process_request(request, client_address)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """That a caller is gone is no news; all else is."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)

    def shutdown_request(self, request: Any) -> None:
        """It is done."""
        with self._lock:
            self._open.pop(request, None)
        super().shutdown_request(request)

    def draining(self) -> bool:
        """Whether the operator wants nothing new sent here."""
        return self.drain_file is not None and self.drain_file.exists()

    def read(self, reports: socket.socket) -> None:
        """Take every report, for ever; one that is broken is left out."""
        while True:
            try:
                self.totals.take(reports.recv(MAX_REPORT))
            except (ValueError, KeyError, TypeError, zlib.error):
                continue


class OperatorPort:
    """The other side, in gunicorn's processes: starts the port's own process, and sends it reports."""

    def __init__(self, bind: str, drain_file: Path | None) -> None:
        """Raises OSError if nobody can listen there."""
        host, _, port = bind.rpartition(":")
        host = host.strip("[]")
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        self._ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._ours.setblocking(False)
        self._ours.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, MAX_REPORT)
        with socket.create_server((host, int(port)), family=family) as listener, theirs:
            self.port: int = listener.getsockname()[1]
            fds = listener.fileno(), theirs.fileno()
            command = [sys.executable, "-m", __name__, *map(str, fds), str(drain_file or "")]
            self._process = subprocess.Popen(command, stdin=subprocess.PIPE, pass_fds=fds)  # noqa: S603 - ours

    def send(self, report: bytes) -> None:
        """Send, or lose it: counting must never hold up answering."""
        try:
            self._ours.send(report)
        except OSError:
            return


def main(argv: list[str]) -> None:
    """Serve at inherited sockets until all who could report are gone: standard input ends with them."""
    listener, reports = (socket.socket(fileno=int(fd)) for fd in argv[:2])
    server = OperatorServer(listener, Path(argv[2]) if argv[2] else None)
    for work in (server.serve_forever, lambda: server.read(reports)):
        threading.Thread(target=work, daemon=True).start()
    while os.read(sys.stdin.fileno(), 1):
        pass


if __name__ == "__main__":
    main(sys.argv[1:])
