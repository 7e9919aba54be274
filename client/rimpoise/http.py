"""HTTP as data, without a connection: a call, and the reply to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from html import escape
from ipaddress import ip_address
from typing import ClassVar
from urllib.parse import urlsplit


@dataclass(frozen=True, slots=True)
class Call:
    """What is to be sent, and for how long and how much to listen.

    timeout_s: for connecting, and for each wait for bytes [s]
    ends_s: when the whole call is over, by ``time.monotonic`` [s]; None for never
    max_bytes: the longest answer to be read; None for any
    """

    method: str
    url: str
    headers: Mapping[str, str] = field(default_factory=dict, repr=False)  # among them the key
    body: bytes | None = None
    timeout_s: float = 10.0
    ends_s: float | None = None
    max_bytes: int | None = None

    def patience_s(self, now_s: float) -> float:
        """How long a wait for bytes may be now [s]; 0 if the call is over.

        >>> Call("GET", "/", ends_s=105.0).patience_s(now_s=98.0), Call("GET", "/", ends_s=105.0).patience_s(110.0)
        (7.0, 0.0)
        """
        return self.timeout_s if self.ends_s is None else max(0.0, min(self.timeout_s, self.ends_s - now_s))

    @property
    def request_id(self) -> str:
        """The id that is sent."""
        return self.headers.get("X-Request-Id", "")


@dataclass(frozen=True, slots=True)
class Reply:
    """The reply to a call, whatever its status."""

    status: int
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes = b""

    def header(self, name: str) -> str | None:
        """The header of that name in any case.

        >>> Reply(503, {"retry-after": "2"}).header("Retry-After")
        '2'
        """
        return _header(self.headers, name)

    @property
    def media_type(self) -> str:
        """The media type without its parameters.

        >>> Reply(200, {"Content-Type": "Application/JSON; charset=utf-8"}).media_type
        'application/json'
        """
        return (self.header("Content-Type") or "").partition(";")[0].strip().lower()


@dataclass(frozen=True, slots=True)
class Response:
    """What an answer came with.

    request_id: finds it in the service's log
    elapsed_s: all tries and waits [s]
    """

    status: int
    headers: Mapping[str, str] = field(default_factory=dict, repr=False, hash=False)
    request_id: str = ""
    tries: int = 1
    elapsed_s: float = 0.0

    def header(self, name: str) -> str | None:
        """The header of that name in any case."""
        return _header(self.headers, name)


class Text(str):
    """A text that was answered. It is the text, but for its ``repr``; ``response`` is what it came with."""

    media_type: ClassVar[str]
    response: Response | None = None

    def __repr__(self) -> str:
        return f"<{type(self).__name__}: {len(self):,} characters of {self.media_type}>"


class Drawing(Text):
    """A drawing, SVG; a notebook shows it."""

    media_type = "image/svg+xml"

    def _repr_svg_(self) -> str:
        return str(self)


class Sheet(Text):
    """A page of HTML to print; a notebook shows it, in a frame of its own, for the page brings its own style."""

    media_type = "text/html"

    def _repr_html_(self) -> str:
        return f'<iframe srcdoc="{escape(self)}" width="100%" height="600" sandbox></iframe>'


def is_loopback(url: str) -> bool:
    """Whether an address is this machine's own: never through a proxy, whatever the environment says.

    >>> is_loopback("http://localhost:8080"), is_loopback("http://[::1]/v1"), is_loopback("http://10.0.0.1")
    (True, True, False)
    >>> is_loopback("http://shop.localhost"), is_loopback("http://notlocalhost")
    (True, False)
    """
    host = urlsplit(url).hostname or ""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost" or host.endswith(".localhost")


def _header(headers: Mapping[str, str], name: str) -> str | None:
    return next((value for key, value in headers.items() if key.lower() == name.lower()), None)
