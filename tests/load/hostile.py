"""Callers that mean harm, or have a bad line. Each is bounded in count and time, and returns what it met."""

from __future__ import annotations

import gzip
import http.client
import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

MIB = 1024 * 1024
HEADERS = b"POST /v1/plans HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"

LONG_BODY, HELD = b"Content-Length: 1000000\r\n\r\n", 140_000


def bodies() -> dict[str, tuple[bytes | list[bytes], dict[str, str], int]]:
    """By name: a body (a list is sent in chunks, without a length), more headers, and the status it must get."""
    bomb = gzip.compress(b" " * 200 * MIB)
    keys = json.dumps({f"key {n}": n for n in range(50_000)}).encode()
    return {
        "20 MiB": (b" " * 20 * MIB, {}, 413),
        "3 MiB in chunks": ([b" " * 65536] * 48, {}, 413),
        "nested 100,000 deep": (b"[" * 100_000 + b"]" * 100_000, {}, 400),
        "nested 500,000 deep in an object": (b'{"a":' * 170_000, {}, 400),
        "gzip, 200 MiB in 200 KiB": (bomb, {"Content-Encoding": "gzip"}, 415),
        "a number of a million digits": (b'{"a": ' + b"9" * (MIB - 100) + b"}", {}, 400),
        "500,000 numbers": (b"[" + b"1," * 500_000 + b"1]", {}, 400),
        "50,000 unknown keys": (keys, {}, 400),
        "340,000 empty lists": (b"[" + b"[]," * 340_000 + b"[]]", {}, 400),
        "1e999": (b'{"a": 1e999}', {}, 400),
        "no JSON at all": (bytes(range(256)) * 100, {}, 400),
    }


def send(port: int, body: bytes | list[bytes], headers: dict[str, str]) -> int:
    """The status of one such request, 0 if there is none."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    reported = {"Content-Type": "application/json"} | headers
    try:
        if isinstance(body, list):
            connection.request("POST", "/v1/plans", iter(body), reported, encode_chunked=True)
        else:
            connection.request("POST", "/v1/plans", body, reported)
    except OSError:
        pass  # refused before all was sent; the answer may be there all the same
    try:
        return connection.getresponse().status
    except (OSError, http.client.HTTPException):
        return 0
    finally:
        connection.close()


@contextmanager
def slow_heads(port: int, count: int) -> Iterator[None]:
    """So many callers whose headers trickle in, a byte a second."""
    with _open(port, count) as (sockets, over):

        def trickle() -> None:
            for n in range(len(HEADERS)):
                for each in sockets:
                    _try(lambda each=each, n=n: each.send(HEADERS[n : n + 1]))  # type: ignore[misc]
                if over.wait(1.0):
                    return

        with _meanwhile(trickle, over):
            yield


@contextmanager
def silent(port: int, count: int, address: str = "127.0.0.1") -> Iterator[None]:
    """So many connections from an address that are opened and say nothing."""
    with _open(port, count, address):
        yield


@contextmanager
def kept_alive(port: int, count: int) -> Iterator[None]:
    """So many connections that are kept alive after one request."""
    with _open(port, count) as (sockets, _):
        for each in sockets:
            _try(lambda each=each: each.sendall(b"GET /healthz HTTP/1.1\r\nHost: x\r\n\r\n"))  # type: ignore[misc]
        yield


@contextmanager
def long_lengths(port: int, count: int) -> Iterator[None]:
    """So many callers whose length has forty digits, and whose body does not come."""
    with _open(port, count) as (sockets, _):
        for each in sockets:
            said = HEADERS + b"Content-Length: %040d\r\n\r\n{" % 1000
            _try(lambda each=each, said=said: each.sendall(said))  # type: ignore[misc]
        yield


@contextmanager
def small_chunks(port: int, count: int) -> Iterator[None]:
    """So many bodies, one after the other, in 49,000 chunks of one byte."""
    body, over = [b" "] * 49_000, threading.Event()

    def go() -> None:
        for _ in range(count):
            send(port, body, {})
            if over.is_set():
                return

    with _meanwhile(go, over):
        yield


@contextmanager
def slow_bodies(port: int, count: int) -> Iterator[None]:
    """So many callers who promise a megabyte, send more of it than a usual buffer, then a byte now and then."""
    with _open(port, count) as (sockets, over):
        for each in sockets:
            _try(lambda each=each: each.sendall(HEADERS + LONG_BODY + b" " * HELD))  # type: ignore[misc]

        def trickle() -> None:
            while not over.wait(5.0):
                for each in sockets:
                    _try(lambda each=each: each.send(b" "))  # type: ignore[misc]

        with _meanwhile(trickle, over):
            yield


@contextmanager
def half_sent(port: int, count: int) -> Iterator[None]:
    """So many callers, one after the other, that promise a body, send half of it and are gone."""
    over = threading.Event()

    def go() -> None:
        for _ in range(count):
            _try(lambda: _half(port))
            if over.wait(0.02):
                return

    with _meanwhile(go, over):
        yield


@contextmanager
def _meanwhile(go: Callable[[], None], over: threading.Event) -> Iterator[None]:
    """In a thread, which is told when it is over."""
    thread = threading.Thread(target=go)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def _half(port: int) -> None:
    with socket.create_connection(("127.0.0.1", port), timeout=5) as one:
        one.sendall(HEADERS + b"Content-Length: 1000\r\n\r\n" + b'{"reading":' + b" " * 489)


@contextmanager
def _open(
    port: int, count: int, address: str = "127.0.0.1"
) -> Iterator[tuple[list[socket.socket], threading.Event]]:
    sockets: list[socket.socket] = []
    for _ in range(count):
        _try(lambda: sockets.append(socket.create_connection(("127.0.0.1", port), 5, (address, 0))))
    time.sleep(0.2)
    try:
        yield sockets, threading.Event()
    finally:
        for each in sockets:
            each.close()


def _try(act: Callable[[], object]) -> None:
    try:
        act()
    except OSError:
        return
