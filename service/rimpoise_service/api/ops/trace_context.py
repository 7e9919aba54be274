"""The id of a request and the trace it belongs to, taken from the caller if they are valid."""

from __future__ import annotations

import re
from dataclasses import dataclass
from uuid import UUID, uuid4

from werkzeug.datastructures import Headers

REQUEST_ID, TRACEPARENT, TRACESTATE = "X-Request-Id", "traceparent", "tracestate"
_UUID = re.compile(r"[0-9a-fA-F]{8}(-?)[0-9a-fA-F]{4}\1[0-9a-fA-F]{4}\1[0-9a-fA-F]{4}\1[0-9a-fA-F]{12}", re.ASCII)
_PARENT = re.compile(
    r"(?!ff)([0-9a-f]{2})-(?!0{32})([0-9a-f]{32})-(?!0{16})([0-9a-f]{16})-[0-9a-f]{2}(-.*)?", re.ASCII
)
MAX_STATE = 512
"""Characters of a tracestate that are passed on (W3C Trace Context, section 3.3.1.5: at least so many)."""


@dataclass(frozen=True, slots=True)
class Trace:
    """The id of a request, and the W3C trace context it came with, if that was valid."""

    request_id: str
    parent: str | None = None
    state: str | None = None

    @property
    def uuid(self) -> UUID:
        """The id, whatever way it was written."""
        return UUID(self.request_id)

    @property
    def trace_id(self) -> str | None:
        """The trace it is part of."""
        return self.parent.split("-")[1] if self.parent else None

    def headers(self) -> dict[str, str]:
        """The headers that go back to the caller."""
        headers = {REQUEST_ID: self.request_id, TRACEPARENT: self.parent, TRACESTATE: self.state}
        return {name: value for name, value in headers.items() if value}


def trace_of(headers: Headers) -> Trace:
    """The caller's request id if it is a UUID, hyphens or not, else a new one; the trace context if it is sound.

    >>> trace_of(Headers({"X-Request-Id": "0e37df36-f698-11e6-8dd4-cb9ced3df976"})).request_id
    '0e37df36-f698-11e6-8dd4-cb9ced3df976'
    >>> trace_of(Headers({"traceparent": "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"})).trace_id
    '4bf92f3577b34da6a3ce929d0e0e4736'
    """
    sent = headers.get(REQUEST_ID, "")
    request_id = sent if _UUID.fullmatch(sent) else str(uuid4())
    parent, state = headers.get(TRACEPARENT, ""), headers.get(TRACESTATE, "")
    if not _sound(parent):
        return Trace(request_id)
    return Trace(request_id, parent, state if 0 < len(state) <= MAX_STATE and state.isprintable() else None)


def _sound(parent: str) -> bool:
    """Whether it is a traceparent (W3C Trace Context, section 3.2.2); only a version to come may be longer."""
    parts = _PARENT.fullmatch(parent)
    return parts is not None and len(parent) <= MAX_STATE and (parts[1] != "00" or parts[4] is None)
