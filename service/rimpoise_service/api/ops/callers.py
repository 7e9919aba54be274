"""Callers: for whom requests and work are counted, and whether they still wait for the answer."""

from __future__ import annotations

import ipaddress
import re
import select
from collections.abc import Mapping
from typing import Any

_WITH_PORT = re.compile(r"\[(.+)\](?::[0-9]+)?|([0-9.]+):[0-9]+", re.ASCII)


def caller_of(key: str | None, address: str | None) -> str:
    """Who is counted: the name of the key; without keys the address, of IPv6 the network a household gets.

    At a port for both, addresses of IPv4 come as those of IPv6 (RFC 4291, section 2.5.5.2), all in one network;
    and some proxies write the port behind an address.

    >>> caller_of("workshop", "192.0.2.7"), caller_of(None, "2001:db8::1:2")
    ('key:workshop', '2001:db8::/64')
    >>> caller_of(None, "::ffff:192.0.2.7"), caller_of(None, "192.0.2.7:50"), caller_of(None, "[2001:db8::1]:50")
    ('192.0.2.7', '192.0.2.7', '2001:db8::/64')
    """
    if key is not None:
        return f"key:{key}"
    with_port = _WITH_PORT.fullmatch(address or "")
    try:
        parsed = ipaddress.ip_address((with_port[1] or with_port[2]) if with_port else address or "")
    except ValueError:
        return "unknown"
    if parsed.version == 4:
        return str(parsed)
    return str(parsed.ipv4_mapped or ipaddress.ip_network((parsed, 64), strict=False))


def caller_gone(environ: Mapping[str, Any]) -> bool:
    """Whether the caller has closed its end of the connection; without waiting; False if unknown."""
    sock = environ.get("gunicorn.socket")
    return sock is not None and hung_up(sock)


def hung_up(sock: Any) -> bool:
    """Whether the other end of a socket is closed."""
    poll = select.poll()
    poll.register(sock, select.POLLRDHUP)
    return bool(poll.poll(0))
