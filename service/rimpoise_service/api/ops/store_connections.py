"""Connections to the store that wait for its address no longer than for anything else; with the extra ``store``.

Its client bounds how long it connects, but before that the system asks for the address as long as it likes: ten
seconds for each request where the name server says nothing.
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
    """In the clear."""

    def _connect(self) -> Any:
        await_address(self.host, self.socket_connect_timeout)
        return super()._connect()  # type: ignore[no-untyped-call]


class InTimeByTls(SSLConnection):
    """By TLS."""

    def _connect(self) -> Any:
        await_address(self.host, self.socket_connect_timeout)
        return super()._connect()  # type: ignore[no-untyped-call]
