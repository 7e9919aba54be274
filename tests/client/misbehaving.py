"""A real server on a loopback port that misbehaves by script, and a question whose answer it knows."""

from __future__ import annotations

import asyncio
import gzip
import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest

from rimpoise import (
    AsyncClient,
    Client,
    CorrectionSet,
    CorrectionsRequest,
    Plane,
    PositionPlane,
    Retry,
    StaticReading,
)
from tests.served import answering

HANG_S = 30.0
"""Far longer than a client takes that gives up in time, on a machine that is busy; nobody waits for its end."""

QUICK = Retry(3, first_wait_s=0.01)
KEY = "invented-key"
Ask = Callable[..., CorrectionSet]


class Handler(BaseHTTPRequestHandler):
    """Does the next act of the server's script, or answers well when there is none left."""

    protocol_version = "HTTP/1.1"
    server: Server

    def do_POST(self) -> None:
        """Read the question, then act."""
        self.body = self.rfile.read(int(self.headers["Content-Length"]))
        with self.server.lock:
            self.server.seen.append((self.command, self.path, dict(self.headers)))
            self.server.ports.add(self.client_address[1])
            act = self.server.script.pop(0) if self.server.script else well
        act(self)

    def answer(self, status: int, content_type: str, body: bytes, **headers: str) -> None:
        """A whole answer."""
        self.send_response(status)
        for name, value in {"Content-Type": content_type, "Content-Length": str(len(body)), **headers}.items():
            self.send_header(name.replace("_", "-"), value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        """Quiet."""


class Server(ThreadingHTTPServer):
    """Keeps its script and what it saw."""

    daemon_threads = True
    request_queue_size = 64
    block_on_close = False

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.script: list[Act] = []
        self.seen: list[tuple[str, str, dict[str, str]]] = []
        self.ports: set[int] = set()
        self.lock = threading.Lock()
        self.over = threading.Event()

    def header(self, name: str) -> str | None:
        """A header of the last call."""
        return {key.lower(): value for key, value in self.seen[-1][2].items()}.get(name.lower())

    @property
    def url(self) -> str:
        """Where it listens."""
        return f"http://127.0.0.1:{self.server_port}"

    def handle_error(self, request: object, client_address: object) -> None:
        """A client that hung up is no news."""


Act = Callable[[Handler], None]


def well(handler: Handler) -> None:
    """As the contract says: the mass and angle that are sent come back as the correction."""
    reading = json.loads(handler.body)["reading"]["plane"]
    correction = {
        "plane": "a",
        "mass_g": reading["mass_g"],
        "angle_deg": reading["angle_deg"],
        "unbalance_gmm": reading["mass_g"] * reading["radius_mm"],
    }
    left = {"static_gmm": 0, "static_angle_deg": 0, "couple_gmm2": 0, "couple_angle_deg": 0}
    answer = {"corrections": [correction], "residual": left, "gain": 1.0, "warnings": []}
    handler.answer(200, "application/json", json.dumps(answer).encode())


def busy(retry_after: str, status: int = 503) -> Act:
    """A problem with a Retry-After."""
    return lambda h: h.answer(status, "application/problem+json", b'{"title": "Busy"}', Retry_After=retry_after)


def html(status: int) -> Act:
    """A page, as proxies send it."""
    return lambda h: h.answer(status, "text/html", b"<html><body>Something in between</body></html>")


def hang_up(handler: Handler) -> None:
    """Close without a word."""
    handler.close_connection = True
    handler.connection.shutdown(socket.SHUT_RDWR)


def promise(handler: Handler, length: int) -> None:
    """Say that so many bytes of JSON follow."""
    handler.send_response(200)
    handler.send_header("Content-Type", "application/json")
    handler.send_header("Content-Length", str(length))
    handler.end_headers()


def break_off(handler: Handler) -> None:
    """Promise more than is sent."""
    promise(handler, 1000)
    handler.wfile.write(b'{"corrections": [')
    hang_up(handler)


def garble(handler: Handler) -> None:
    """Say gzip, and send none."""
    handler.answer(200, "application/json", b"no gzip", Content_Encoding="gzip")


def speak_no_http(handler: Handler) -> None:
    """What a terminal would take for its own, over and over."""
    handler.wfile.write(b"\x1b[31m\r" * 5_000 + b"\n")
    hang_up(handler)


def say_nothing(handler: Handler) -> None:
    """Keep the caller waiting."""
    handler.server.over.wait(HANG_S)
    handler.close_connection = True


def stall(handler: Handler) -> None:
    """Begin to answer and stop."""
    promise(handler, 1000)
    handler.wfile.write(b"{")
    say_nothing(handler)


def trickle(handler: Handler) -> None:
    """A byte now and then, far beyond anyone's patience."""
    promise(handler, 100_000)
    ends = time.monotonic() + HANG_S
    while not handler.server.over.wait(0.02) and time.monotonic() < ends:
        handler.wfile.write(b" ")
    handler.close_connection = True


def trickle_head(handler: Handler) -> None:
    """A byte of the head now and then."""
    handler.wfile.write(b"HTTP/1.1 200 OK\r\nX-Long: ")
    ends = time.monotonic() + HANG_S
    while not handler.server.over.wait(0.02) and time.monotonic() < ends:
        handler.wfile.write(b"x")
    handler.close_connection = True


def stall_late(handler: Handler) -> None:
    """Answer nearly all, shortly before the end of patience, and stop."""
    promise(handler, 1000)
    handler.server.over.wait(0.2)
    handler.wfile.write(b"{")
    say_nothing(handler)


def long(length: int, coding: str = "") -> Act:
    """So many bytes, as they are or as gzip."""
    body = b" " * length
    packed, headers = (gzip.compress(body), {"Content-Encoding": "gzip"}) if coding else (body, {})
    return lambda h: h.answer(200, "application/json", packed, **headers)


def with_threads(url: str, **settings: Any) -> CorrectionSet:
    """One question, by requests."""
    with Client(url, **settings) as client:
        return client.corrections(static())


def with_asyncio(url: str, **settings: Any) -> CorrectionSet:
    """One question, by httpx."""

    async def ask() -> CorrectionSet:
        async with AsyncClient(url, **settings) as client:
            return await client.corrections(static())

    return asyncio.run(ask())


both = pytest.mark.parametrize("ask", [with_threads, with_asyncio])


@contextmanager
def running() -> Iterator[Server]:
    """A server for the length of a block."""
    server = Server()
    with answering(server):
        yield server
        server.over.set()


def static(mass_g: float = 30.0) -> CorrectionsRequest:
    """A question whose answer the server mirrors."""
    return CorrectionsRequest(StaticReading(PositionPlane(0, 200, mass_g, 12)), [Plane("a", 0, 200)])
