"""A connection of the worker's, and how it is read: gunicorn's own, with bounds in time."""

from __future__ import annotations

import resource
import select
import socket
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from selectors import EVENT_READ, BaseSelector
from typing import Any

from gunicorn.http.parser import RequestParser  # type: ignore[import-untyped]
from gunicorn.http.unreader import SocketUnreader  # type: ignore[import-untyped]
from gunicorn.workers.gthread import TConn  # type: ignore[import-untyped]

from .api.ops.arrival import Arrival

RECEIVE = 64 * 1024
"""Taken from a connection at a time [bytes], so that no one of them holds up the others."""

MAX_UNSENT = 1024 * 1024
"""Of an answer that its caller does not take [bytes], so much is kept before a thread waits."""

LEAST_RATE = 16 * 1024
"""Of a body of lines, while a thread waits for it, beyond the time that any body has; and of everything while
others wait at the door [bytes/s]."""

SILENT_S = 1.0
"""How long a connection may say nothing while there is no room for others [s]."""

LINGER_S = 2.0
"""How long what a caller still sends is read after the last answer [s] (RFC 9112, section 9.6)."""

MAX_LINGER = 32 * 1024 * 1024
"""And how much of it [bytes]: whoever sends too large a body reads why only after having sent it."""


DESCRIPTORS = 64
"""What a worker opens besides connections: its own files, the store's connections, a file that is read."""


def room_for(connections: int, least: int) -> int:
    """How many of so many connections a worker may open, each of which may linger beside its successor.

    It raises this process' limit of descriptors as far as it may. Without room a worker could neither let anybody
    in nor read a file, and whatever is idle would stay.
    """
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = 2 * connections + DESCRIPTORS
    if soft == resource.RLIM_INFINITY or soft >= wanted:
        return connections
    most = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
    resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))
    return max(least, min(connections, (most - DESCRIPTORS) // 2))


class Socket(socket.socket):
    """A socket that takes what is to be sent without waiting for it to be taken, up to MAX_UNSENT."""

    def __init__(self, accepted: socket.socket) -> None:
        super().__init__(fileno=accepted.detach())
        self.unsent = bytearray()

    def sendall(self, data: Any, flags: int = 0, /) -> None:
        """Send as much as goes at once, and keep the rest; wait only where that is too much. Raises OSError."""
        self.unsent += data
        self.flush()
        if len(self.unsent) > MAX_UNSENT:
            rest, self.unsent = bytes(self.unsent), bytearray()  # of which a part may go out before it fails
            super().sendall(rest, flags)

    def flush(self) -> None:
        """Send of what is kept as much as goes at once. Raises OSError."""
        patience_s = self.gettimeout()
        self.settimeout(0.0)
        try:
            while self.unsent:
                del self.unsent[: self.send(self.unsent)]
        except BlockingIOError:
            return
        finally:
            self.settimeout(patience_s)

    def receive(self) -> bytes | None:
        """What has come; None if nothing has, no bytes if nothing will. The socket must not block."""
        try:
            return self.recv(RECEIVE)
        except BlockingIOError:
            return None
        except OSError:
            return b""


class PacedUnreader(SocketUnreader):  # type: ignore[misc]
    """What a thread's parser reads from: what was read ahead, then the socket, with patience for so long in all.

    What was read ahead comes in pieces, as from a socket: the parser copies what it holds with every chunk.
    """

    def __init__(self, sock: socket.socket, patience_s: float) -> None:
        super().__init__(sock)
        self.patience_s = self._left_s = self._most_s = patience_s
        self._ahead, self._at = b"", 0

    def begin(self, data: bytes) -> None:
        """The next request, of which so much is here."""
        self._left_s = self._most_s = self.patience_s
        self._ahead, self._at = data, 0

    def hurry(self) -> None:
        """What comes now is not wanted, so nobody waits for it."""
        self._left_s = self._most_s = 0.0

    def take_buffered(self) -> bytes:
        """What is here and was not read, without touching the socket."""
        data: bytes = super().take_buffered() + self._ahead[self._at :]
        self._ahead, self._at = b"", 0
        return data

    def chunk(self, size_hint: int | None = None) -> bytes:
        """What comes next. Each byte that is waited for earns time for more. Raises TimeoutError."""
        if self._at < len(self._ahead):
            began, self._at = self._at, self._at + max(self.mxchunk, min(size_hint or 0, self.max_body_chunk))
            return self._ahead[began : self._at]
        began_s = time.monotonic()
        self.sock.settimeout(max(self._left_s, 0.001))
        try:
            data: bytes = super().chunk(size_hint)
        finally:
            self.sock.settimeout(self.patience_s)
        earned_s = self._left_s - (time.monotonic() - began_s) + len(data) / LEAST_RATE
        self._left_s = min(earned_s, self._most_s)
        return data


def knocked(listeners: Iterable[socket.socket]) -> bool:
    """Whether anybody waits to be let in."""
    poll = select.poll()
    for listener in listeners:
        poll.register(listener, select.POLLIN)
    return bool(poll.poll(0))


def send(sock: socket.socket, data: bytes) -> None:
    """Send, if the connection is still there."""
    with suppress(OSError):
        sock.sendall(data)


Linger = Callable[["Connection"], None]
"""What reads on after the last answer, and closes then."""


class Connection(TConn):  # type: ignore[misc]
    """A connection, with the request that is coming in on it."""

    def __init__(
        self, cfg: Any, sock: Socket, client: Any, server: Any, patience_s: float, linger: Linger
    ) -> None:
        super().__init__(cfg, sock, client, server)
        self._patience_s, self._linger = patience_s, linger
        self.parser = RequestParser(cfg, sock, client)
        self.parser.unreader = PacedUnreader(sock, patience_s)
        self.data_ready = True  # whenever a thread gets it
        self.arrival = Arrival()
        self.began = self.whole_at = self.idle_at = 0.0
        self.held = self.taken = 0  # of it, as the worker counts; of what it is sent [bytes]

    def init(self) -> None:
        """In a thread: hand the parser what has come."""
        super().init()
        self.parser.unreader.begin(bytes(self.arrival.data))
        self.arrival = Arrival()
        self.sock.settimeout(self._patience_s)  # for each piece of the answer

    def set_timeout(self) -> None:
        """It is kept alive, from now on."""
        super().set_timeout()
        self.idle_at = time.monotonic()

    def is_slow(self, now: float, moved: int) -> bool:
        """Whether bytes move at less than LEAST_RATE since it began, beyond the time that anybody has."""
        return now >= self.began + SILENT_S + moved / LEAST_RATE

    def close(self, graceful: bool = False) -> None:
        """Close; gracefully without waiting for it, as gunicorn's only thread that polls would."""
        if graceful:
            self._linger(self)
        else:
            super().close()


class Lingering:
    """Connections after their last answer: what their callers still send is read on, so that they read us."""

    def __init__(self, most: int) -> None:
        self._most, self._read = most, dict[Connection, int]()

    def add(self, poller: BaseSelector, conn: Connection) -> None:
        """Say that nothing more comes, and read on; where there are too many, the oldest goes."""
        try:
            conn.sock.setblocking(False)
            conn.sock.shutdown(socket.SHUT_WR)
            poller.register(conn.sock, EVENT_READ, lambda _: self._receive(poller, conn))
        except (OSError, ValueError, KeyError, RuntimeError):
            TConn.close(conn)
            return
        conn.began = time.monotonic()
        self._read[conn] = 0
        if len(self._read) > self._most:
            self._let_go(poller, next(iter(self._read)))

    def sweep(self, poller: BaseSelector, now: float) -> None:
        """Let go of those that had their time."""
        for conn in [c for c in self._read if now >= c.began + LINGER_S]:
            self._let_go(poller, conn)

    def _receive(self, poller: BaseSelector, conn: Connection) -> None:
        if conn not in self._read or (data := conn.sock.receive()) is None:
            return
        self._read[conn] += len(data)
        if not data or self._read[conn] > MAX_LINGER:
            self._let_go(poller, conn)

    def _let_go(self, poller: BaseSelector, conn: Connection) -> None:
        poller.unregister(conn.sock)
        del self._read[conn]
        TConn.close(conn)
