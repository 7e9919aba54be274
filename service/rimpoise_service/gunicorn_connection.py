"""A connection of the worker's, and how it is read: gunicorn's own, with bounds in time."""

from __future__ import annotations

import socket
import time
from collections.abc import Callable
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
"""Of a body of lines, while a thread waits for it, beyond the time that any body has [bytes/s]."""

DRAIN_S = 1.0
"""How long a thread waits for the rest of a body that was not wanted [s]."""


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
            super().sendall(bytes(self.unsent), flags)
            self.unsent.clear()

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
    """Reads for a thread what comes after the part that was read ahead, with patience for so long in all."""

    def __init__(self, sock: socket.socket, patience_s: float) -> None:
        super().__init__(sock)
        self.patience_s = self._left_s = patience_s

    def begin(self, data: bytes) -> None:
        """The next request, of which so much is here."""
        self._left_s = self.patience_s
        self.unread(data)

    def hurry(self) -> None:
        """What comes now is not wanted."""
        self._left_s = min(self._left_s, DRAIN_S)

    def chunk(self, size_hint: int | None = None) -> bytes:
        """What comes next. Each byte earns time for more. Raises TimeoutError."""
        began = time.monotonic()
        self.sock.settimeout(max(self._left_s, 0.001))
        try:
            data: bytes = super().chunk(size_hint)
        finally:
            self.sock.settimeout(self.patience_s)
        earned_s = self._left_s - (time.monotonic() - began) + len(data) / LEAST_RATE
        self._left_s = min(earned_s, self.patience_s)
        return data


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
        self.began = self.whole_at = 0.0

    def init(self) -> None:
        """In a thread: hand the parser what has come."""
        super().init()
        self.parser.unreader.begin(bytes(self.arrival.data))
        self.arrival = Arrival()
        self.sock.settimeout(self._patience_s)  # for each piece of the answer

    def close(self, graceful: bool = False) -> None:
        """Close; gracefully without waiting for it, as gunicorn's only thread that polls would."""
        if graceful:
            self._linger(self)
        else:
            super().close()
