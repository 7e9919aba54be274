"""A deadline over a connection of requests: its own timeouts begin again with every byte that comes."""

from __future__ import annotations

import socket
from contextlib import suppress
from contextvars import ContextVar
from threading import Timer
from types import TracebackType
from typing import Any, Self

from requests.adapters import HTTPAdapter
from urllib3 import HTTPConnectionPool, HTTPSConnectionPool
from urllib3.connection import HTTPConnection, HTTPSConnection
from urllib3.response import HTTPResponse


class Deadline:
    """Ends what a connection waits for after so long [s]: ``over`` says that it did. None for never."""

    def __init__(self, left_s: float | None) -> None:
        self.over = False
        self._sock: socket.socket | None = None
        self._timer = None if left_s is None else Timer(left_s, self._end)

    def watch(self, sock: socket.socket | None) -> None:
        """This is what the call waits at from now on."""
        self._sock = sock
        if self.over:
            self._end()

    def _end(self) -> None:
        self.over = True
        if self._sock:
            with suppress(OSError):  # it is closed already
                socket.socket.shutdown(self._sock, socket.SHUT_RDWR)  # under TLS, too, without its farewell

    def __enter__(self) -> Self:
        self._before = _CURRENT.set(self)
        if self._timer:
            self._timer.daemon = True
            self._timer.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        _CURRENT.reset(self._before)
        if self._timer:
            self._timer.cancel()


_CURRENT: ContextVar[Deadline | None] = ContextVar("deadline", default=None)


class _Connection(HTTPConnection):
    def getresponse(self) -> HTTPResponse:  # type: ignore[override]
        if deadline := _CURRENT.get():
            deadline.watch(self.sock)
        return super().getresponse()


class _TlsConnection(HTTPSConnection):
    def getresponse(self) -> HTTPResponse:  # type: ignore[override]
        if deadline := _CURRENT.get():
            deadline.watch(self.sock)
        return super().getresponse()


class _Pool(HTTPConnectionPool):
    ConnectionCls = _Connection


class _TlsPool(HTTPSConnectionPool):
    ConnectionCls = _TlsConnection


class WatchedAdapter(HTTPAdapter):
    """An adapter whose connections the current deadline ends; those through a proxy wait as ever."""

    def init_poolmanager(self, *args: Any, **options: Any) -> None:
        """As it is made, with our kinds of pool."""
        super().init_poolmanager(*args, **options)
        self.poolmanager.pool_classes_by_scheme = {"http": _Pool, "https": _TlsPool}
