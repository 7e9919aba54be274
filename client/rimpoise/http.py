"""HTTP as data, without a connection: a call, and the reply to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from html import escape


@dataclass(frozen=True, slots=True)
class Call:
    """What is to be sent."""

    method: str
    url: str
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes | None = None


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
    """A text that was answered. It is the text; ``response`` is what it came with."""

    response: Response | None = None


class Drawing(Text):
    """A drawing, SVG; a notebook shows it."""

    def _repr_svg_(self) -> str:
        return str(self)


class Sheet(Text):
    """A page of HTML to print; a notebook shows it, in a frame of its own, for the page brings its own style."""

    def _repr_html_(self) -> str:
        return f'<iframe srcdoc="{escape(self)}" width="100%" height="600" sandbox></iframe>'


def _header(headers: Mapping[str, str], name: str) -> str | None:
    return next((value for key, value in headers.items() if key.lower() == name.lower()), None)
