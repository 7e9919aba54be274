"""One HTTP/1.1 request as its bytes come in: is all of it here, and may it be so large?

It says only when a thread is worth its while; what the bytes mean is gunicorn's parser's to say, which reads them
again and has the last word.
"""

from __future__ import annotations

import re
from http import HTTPStatus

MAX_HEAD = 32 * 1024
"""Of request line and headers together [bytes]."""

MAX_BODY = 4 * 1024 * 1024
"""Of any body that is not lines [bytes], as it comes, so the framing of chunks counts."""

READ_AHEAD = 1024 * 1024
"""Of a body of lines so much comes in before a thread begins with it [bytes]."""

MAX_SIZE_LINE = 256
"""Of the line before a chunk [bytes]: its size, and an extension that nobody uses."""

MAX_CHUNKS = 50_000
"""Of a body that is not lines: each costs some microseconds, however small it is."""

TLS = b"\x16"
"""The first byte of whoever speaks TLS to a port that does not (RFC 8446, section 5.1); of no request of HTTP."""

MAX_DIGITS = 18
"""Of a length that is looked at: longer ones are too large, whatever they are."""

_LENGTH = re.compile(rb"\r\ncontent-length[ \t]*+:[ \t]*+0*+([0-9]*+)[ \t]*+\r\n", re.IGNORECASE)
_CHUNKED = re.compile(rb"\r\ntransfer-encoding[ \t]*:[^\r]*chunked", re.IGNORECASE)  # without it a 400, at once
_LINES = re.compile(rb"\r\ncontent-type[ \t]*:[ \t]*application/x-ndjson[ \t;\r]", re.IGNORECASE)
_SIZE = re.compile(rb"([0-9a-f]{1,8})[ \t]*(?:;|\Z)", re.IGNORECASE)
_EXPECT = re.compile(rb"\r\nexpect[ \t]*:[ \t]*100-continue[ \t]*(?=\r\n)", re.IGNORECASE)


class Arrival:
    """What has come of a request; ``data`` may hold the beginning of the next one too.

    >>> arrival = Arrival(b"POST / HTTP/1.1\\r\\nContent-Length: 2\\r\\n\\r\\n{")
    >>> arrival.whole
    False
    >>> arrival.add(b"}")
    >>> arrival.whole
    True
    """

    def __init__(self, data: bytes = b"") -> None:
        self.data = bytearray()
        self.whole = False
        self.refusal: HTTPStatus | None = None
        self.wants_continue = False
        self._body_at = 0  # where the body begins; 0 while the head is not all here
        self._chunk_at: int | None = None  # where the next chunk's size stands; None unless it is in chunks
        self._chunks = 0
        self._trailers_at = 0  # behind the last chunk's size; 0 before that
        self._end = 0  # where the body ends, if it has a length
        self._lines = False
        self.add(data)

    def __len__(self) -> int:
        return len(self.data)

    @property
    def head_here(self) -> bool:
        """Whether request line and headers are."""
        return self._body_at > 0

    def add(self, data: bytes) -> None:
        """Take the bytes that came next."""
        searched = max(0, len(self.data) - 3)
        self.data += data
        if not self.head_here:
            self._read_head(searched)
        if self.head_here and not self.refusal:
            self._judge()

    def _read_head(self, searched: int) -> None:
        end = self.data.find(b"\r\n\r\n", searched)
        if max(end, len(self.data) if end < 0 else 0) > MAX_HEAD:
            self.refusal = HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE
        if self.data.startswith(TLS):
            self.refusal = HTTPStatus.BAD_REQUEST
        if end < 0 or self.refusal:
            return
        head = bytes(self.data[: end + 4])
        without = _EXPECT.sub(b"", head)  # it is answered as soon as the head is here, and so not once more
        self.data[: end + 4] = without
        self._body_at = len(without)
        self._lines = _LINES.search(without) is not None
        length = _LENGTH.search(without)
        self._end = self._body_at + (int(length[1][: MAX_DIGITS + 1] or b"0") if length else 0)
        if _CHUNKED.search(without):
            self._chunk_at = self._body_at
        elif self._end - self._body_at > MAX_BODY and not self._lines:
            self.refusal = HTTPStatus.REQUEST_ENTITY_TOO_LARGE
        modern = without.partition(b"\r\n")[0].endswith(b" HTTP/1.1")  # others know of no such thing
        self.wants_continue = without != head and modern and not self.refusal

    def _judge(self) -> None:
        held = len(self.data) - self._body_at
        if self._chunk_at is None:
            self.whole = len(self.data) >= self._end
        else:
            self._follow_chunks()
        if self._lines:
            self.whole |= held >= READ_AHEAD
        elif held > MAX_BODY and not self.whole:
            self.refusal = HTTPStatus.REQUEST_ENTITY_TOO_LARGE

    def _follow_chunks(self) -> None:
        """Go on to the last chunk that is here (RFC 9112, section 7.1)."""
        at = self._chunk_at or 0
        while at < len(self.data) and not self._trailers_at:
            end = self.data.find(b"\r\n", at, at + MAX_SIZE_LINE)
            size = _SIZE.match(self.data, at, end) if end >= 0 else None
            if size is None:
                if end >= 0 or len(self.data) - at >= MAX_SIZE_LINE:
                    self.refusal = HTTPStatus.BAD_REQUEST
                break
            if int(size[1], 16) == 0:  # the last one; after it come trailers and an empty line
                self._trailers_at = at = end
                break
            self._chunks += 1
            at = end + 2 + int(size[1], 16) + 2
        self._chunk_at = at
        if self._chunks > MAX_CHUNKS and not self._lines:
            self.refusal = HTTPStatus.REQUEST_ENTITY_TOO_LARGE
        elif self._trailers_at and not self.refusal:
            self._read_trailers()

    def _read_trailers(self) -> None:
        """See whether the empty line is here, without a second look at what was looked at."""
        at = self._chunk_at or 0
        self.whole = self.data.find(b"\r\n\r\n", at) >= 0
        self._chunk_at = max(at, len(self.data) - 3)
        if not self.whole and len(self.data) - self._trailers_at > MAX_HEAD:
            self.refusal = HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE
