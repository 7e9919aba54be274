"""Connections to the store that wait for its address no longer than for anything else; with the extra ``store``.

Its client bounds how long it connects, but before that the system asks for the address as long as it likes: ten
seconds for each request where the name server says nothing. The client has no setting for that; what is overridden
here is its public ``ConnectionInterface`` alone.
"""

from __future__ import annotations

import socket
from contextlib import suppress
from threading import Thread
from typing import Any

from redis.connection import Connection, SSLConnection


def await_address(host: str, most_s: float | None) -> None:
    """Ask for an address, in a thread that is left alone if that takes longer [s]. Raises TimeoutError.

    That there is none is the client's to find out, at once.
    """

    def ask() -> None:
        with suppress(OSError):
            socket.getaddrinfo(host, None)

    asking = Thread(target=ask, daemon=True)
    asking.start()
    asking.join(most_s)
    if asking.is_alive():
        raise TimeoutError(f"the address of {host} was not found in time")


class InTime(Connection):
    """In the clear. The pool calls ``connect`` before each command, whether there is a connection or not."""

    _is_open = False

    def connect(self) -> None:
        """Connect, unless it is."""
        if not self._is_open:
            await_address(self.host, self.socket_connect_timeout)
        super().connect()  # type: ignore[no-untyped-call]
        self._is_open = True

    def disconnect(self, *args: Any, **more: Any) -> None:
        """By whoever gives it up, the client itself too."""
        self._is_open = False
        super().disconnect(*args, **more)  # type: ignore[no-untyped-call]


class InTimeByTls(InTime, SSLConnection):
    """By TLS."""
