"""How the text of a setting is read: each reader raises ValueError with what to write instead."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from limits import parse_many
from limits.errors import ConfigurationError
from limits.storage import storage_from_string

MOST_REQUESTS = 10**9
"""Of a rate: more is no limit, and a number that no header may have is longer."""

LONGEST_S = 366 * 86_400
"""That a rate counts for [s]."""

EVERYWHERE, HERE = ("0.0.0.0", "[::]"), ("localhost", "127.0.0.1")  # noqa: S104 - to know them
PORTS = {"http": "80", "https": "443"}


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole number in bounds, both included."""

    low: int
    high: int

    def __call__(self, text: str) -> int:
        """Raises ValueError."""
        if not re.fullmatch(r"[0-9]{1,10}", text, re.ASCII) or not self.low <= int(text) <= self.high:
            raise ValueError(f"a whole number from {self.low} to {self.high}")
        return int(text)


def one_of(*words: str) -> Callable[[str], str]:
    """One of some words."""

    def read(text: str) -> str:
        if text not in words:
            raise ValueError(f"one of {', '.join(words)}")
        return text

    return read


def address(text: str) -> str:
    """Host and port."""
    parts = re.fullmatch(r"(\[[0-9a-fA-F:.]+\]|[^\s:/\[\]]+):([0-9]{1,5})", text, re.ASCII)
    if not parts or not 0 <= int(parts[2]) <= 65535:
        raise ValueError("host:port, such as 0.0.0.0:8080 or [::]:8080")
    return text


def address_or_off(text: str) -> str:
    """Host and port, or none."""
    return text if text == "off" else address(text)


def listen_at_the_same(one: str, other: str) -> bool:
    """Whether nobody can listen at both of two addresses, as far as their texts tell.

    >>> listen_at_the_same("127.0.0.1:8080", "0.0.0.0:8080"), listen_at_the_same("127.0.0.1:0", "127.0.0.1:0")
    (True, False)
    """
    hosts, ports = zip(*(text.rpartition(":")[::2] for text in (one, other)), strict=True)
    same = hosts[0] == hosts[1] or any(host in EVERYWHERE for host in hosts) or all(host in HERE for host in hosts)
    return same and "off" not in ports and int(ports[0]) == int(ports[1]) != 0


def readable(text: str) -> Path:
    """A file that is there and can be read."""
    path = Path(text)
    try:
        if path.exists() and not path.is_file():  # a pipe, which could be read once, if it ends
            raise ValueError("a file, not a folder, a pipe or a device")
        path.open("rb").close()
    except OSError as error:
        raise ValueError(f"a file that can be read ({error.strerror})") from error
    return path


def in_a_folder(text: str) -> Path:
    """A file that may be made; a folder would be one that is always there."""
    path = Path(text)
    try:
        if not path.parent.is_dir() or path.is_dir():
            raise ValueError("a path in a folder that exists, and no folder itself")
    except OSError as error:
        raise ValueError(f"a path that can be looked at ({error.strerror})") from error
    return path


def rate(text: str) -> str:
    """One or more rates."""
    like = "a rate or more, such as 600/minute or 20/second;5000/hour"
    try:
        rates = parse_many(text)
    except ValueError as error:
        raise ValueError(like) from error
    if not all(1 <= rate.amount <= MOST_REQUESTS and rate.get_expiry() <= LONGEST_S for rate in rates):
        raise ValueError(f"{like}, each of one request to {MOST_REQUESTS} in a year at the most")
    if len({rate.get_expiry() for rate in rates}) < len(rates):
        raise ValueError(f"{like}, no two for the same time")
    return text


def store(text: str) -> str:
    """The URL of a store whose client would take it; nobody is asked yet."""
    wanted = "memory:// or a redis:// or rediss:// URL, with the extra `store` installed"
    scheme = text.partition("://")[0]
    if scheme not in ("memory", "redis", "rediss"):
        raise ValueError(wanted)
    try:
        storage_from_string(text)
        if scheme != "memory":
            from redis import Redis

            Redis.from_url(text).connection_pool.make_connection()
    except (ConfigurationError, ValueError, TypeError) as error:  # whose words may hold the password
        raise ValueError(wanted) from error
    return text


def origins(text: str) -> tuple[str, ...]:
    """Origins as browsers send them: small letters of ASCII, no port that goes without saying (RFC 6454, 6.1)."""
    found = tuple(part for part in re.split(r"[\s,]+", text) if part)
    for origin in found:
        parts = re.fullmatch(
            r"(https?)://(?:[a-z0-9]([a-z0-9.-]*[a-z0-9])?|\[[0-9a-f:]+\])(?::([1-9][0-9]{0,4}))?",
            origin,
            re.ASCII,
        )
        if not parts or parts[3] == PORTS[parts[1]] or int(parts[3] or 0) > 65535:
            raise ValueError(
                "origins such as https://shop.example or http://localhost:3000, as browsers send them: in small "
                f"letters, without a path or a usual port; {origin!r} is none"
            )
    return found
