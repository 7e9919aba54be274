"""Callers of a real gunicorn on loopback that write the bytes themselves."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from http.client import HTTPConnection

from tests.load.service import Service

GET = b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n"
HEAD = b"POST /v1/plans HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
LINES = HEAD.replace(b"/v1/plans", b"/v1/plans/stream").replace(b"json", b"x-ndjson")
MANY = 12
"""Six times as many as there are threads."""

SOON_S = 8.0
"""Far beyond what an undisturbed answer takes on a busy machine, below every time-out that could free a thread."""


@contextmanager
def callers(
    service: Service, data: bytes, count: int = MANY, window: int = 100_000
) -> Iterator[list[socket.socket]]:
    """So many who have sent so much, and wait."""
    with ExitStack() as stack:
        sockets = []
        for _ in range(count):
            one = stack.enter_context(socket.socket())
            one.settimeout(30)
            one.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, window)
            one.connect(("127.0.0.1", service.port))
            one.sendall(data)
            sockets.append(one)
        yield sockets


def status_of(service: Service, path: str = "/healthz", timeout: float = SOON_S) -> int:
    with closing(HTTPConnection("127.0.0.1", service.port, timeout=timeout)) as connection:
        connection.request("GET", path)
        return connection.getresponse().status


def answer(one: socket.socket) -> tuple[int, dict[str, str], bytes]:
    """The next answer on a connection."""
    with one.makefile("rb") as file:
        status = int(file.readline().split()[1])
        headers = dict[str, str]()
        while (line := file.readline().decode().strip()) != "":
            name, _, value = line.partition(":")
            headers[name.lower()] = value.strip()
        return status, headers, file.read(int(headers.get("content-length", 0)))
