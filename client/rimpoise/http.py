"""HTTP as data, without a connection: a call, and the reply to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


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
        return next((value for key, value in self.headers.items() if key.lower() == name.lower()), None)

    @property
    def media_type(self) -> str:
        """The media type without its parameters.

        >>> Reply(200, {"Content-Type": "Application/JSON; charset=utf-8"}).media_type
        'application/json'
        """
        return (self.header("Content-Type") or "").partition(";")[0].strip().lower()
