"""Callers: for whom requests and work are counted, and whether they still wait for the answer."""

from __future__ import annotations

import ipaddress
import select
from collections.abc import Mapping
from typing import Any


def caller_of(key: str | None, address: str | None) -> str:
    """Who is counted: the name of the key; without keys the address, of IPv6 the network a household gets.

    >>> caller_of("workshop", "192.0.2.7"), caller_of(None, "2001:db8::1:2")
    ('key:workshop', '2001:db8::/64')
    """
    if key is not None:
        return f"key:{key}"
    try:
        parsed = ipaddress.ip_address(address or "")
    except ValueError:
        return "unknown"
    return str(ipaddress.ip_network((parsed, 64), strict=False)) if parsed.version == 6 else str(parsed)


def caller_gone(environ: Mapping[str, Any]) -> bool:
    """Whether the caller has closed its end of the connection; without waiting; False if unknown."""
    sock = environ.get("gunicorn.socket")
    return sock is not None and hung_up(sock)


def hung_up(sock: Any) -> bool:
    """Whether the other end of a socket is closed."""
    poll = select.poll()
    poll.register(sock, select.POLLRDHUP)
    return bool(poll.poll(0))
