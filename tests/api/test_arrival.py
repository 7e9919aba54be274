"""Requests as their bytes come in: whole or not, however they are cut; and what is refused at once."""

from __future__ import annotations

from typing import Any

import pytest

from rimpoise_service.api.ops.arrival import MAX_BODY, MAX_CHUNKS, MAX_HEAD, READ_AHEAD, Arrival

HEAD = b"POST /v1/plans HTTP/1.1\r\nHost: x\r\n"
LINES = HEAD + b"Content-Type: application/x-ndjson; charset=utf-8\r\n"

WHOLE = {
    "no body": b"GET / HTTP/1.1\r\nHost: x\r\n\r\n",
    "a length": HEAD + b"content-length:  5 \r\n\r\n{   }",
    "a length with many zeros before it": HEAD + b"Content-Length: %040d\r\n\r\n{}" % 2,
    "a length of nothing": HEAD + b"Content-Length: 0\r\n\r\n",
    "one chunk": HEAD + b"Transfer-Encoding: chunked\r\n\r\n5\r\n{   }\r\n0\r\n\r\n",
    "chunks that hold the mark of an end": HEAD
    + b"transfer-encoding: chunked\r\n\r\n7;ext=1\r\n0\r\n\r\n\r\n\r\nA\r\n0123456789\r\n0\r\nTrailer: 1\r\n\r\n",
    "lines": LINES + b"Content-Length: 3\r\n\r\n{}\n",
}
"""RFC 9112, sections 2.1, 6 and 7.1."""


@pytest.mark.parametrize("name", WHOLE)
def test_whole_with_the_last_byte_and_not_before(name: str) -> None:
    arrival = Arrival()
    for at in range(len(WHOLE[name])):
        assert not arrival.whole, WHOLE[name][:at]
        arrival.add(WHOLE[name][at : at + 1])
        assert arrival.refusal is None
    assert arrival.whole
    assert arrival.data == WHOLE[name]


@pytest.mark.parametrize("name", WHOLE)
@pytest.mark.parametrize("size", [2, 3, 7, 1000])
def test_whole_in_pieces_of_any_size(name: str, size: int) -> None:
    arrival = Arrival()
    for at in range(0, len(WHOLE[name]), size):
        arrival.add(WHOLE[name][at : at + size])
    assert arrival.whole


def test_what_comes_after_the_request_is_kept() -> None:
    arrival = Arrival(WHOLE["a length"] + WHOLE["no body"])
    assert arrival.whole
    assert arrival.data.endswith(WHOLE["no body"])


@pytest.mark.parametrize("coding", ["", "identity", "gzip"])
def test_a_coding_that_gives_no_length_is_not_waited_for(coding: str) -> None:
    """RFC 9112, section 6.3: a 400, which is gunicorn's to say as soon as a thread has it."""
    assert Arrival(HEAD + b"Transfer-Encoding: %s\r\n\r\n{}" % coding.encode()).whole


def test_lines_may_begin_before_all_has_come() -> None:
    arrival = Arrival(LINES + b"Transfer-Encoding: chunked\r\n\r\n%X\r\n" % (4 * MAX_BODY))
    assert not arrival.whole
    arrival.add(b"x" * READ_AHEAD)
    assert (arrival.whole, arrival.refusal) == (True, None)


CHUNKED = HEAD + b"Transfer-Encoding: chunked\r\n\r\n"


@pytest.mark.parametrize(
    ("data", "status"),
    [
        (HEAD + b"X: " + b"x" * MAX_HEAD, 431),
        (HEAD + b"X: " + b"x" * MAX_HEAD + b"\r\n\r\n", 431),
        (HEAD + b"Content-Length: %d\r\n\r\n" % (MAX_BODY + 1), 413),
        (CHUNKED + b"%X\r\n" % (MAX_BODY + 1) + b"x" * (MAX_BODY + 1), 413),
        (CHUNKED + b"1\r\nx\r\n" * (MAX_CHUNKS + 1), 413),
        (CHUNKED + b"0\r\nX: " + b"x" * MAX_HEAD, 431),
        (HEAD + b"Content-Length: " + b"9" * 20 + b"\r\n\r\n", 413),
        (HEAD + b"Content-Length: " + b"9" * 8000 + b"\r\n\r\n", 413),
        (b"\x16\x03\x01\x02\x00\x01\x00", 400),
        (CHUNKED + b"x\r\n", 400),
        (CHUNKED + b"-1\r\n", 400),
        (CHUNKED + b"1" * 9 + b"\r\n", 400),
        (CHUNKED + b"1;" + b"x" * 300, 400),
    ],
)
def test_what_is_refused_at_once(data: bytes, status: int) -> None:
    assert Arrival(data).refusal == status


def test_who_waits_to_be_told_to_go_on_is_told_once() -> None:
    """RFC 9110, section 10.1.1."""
    arrival = Arrival(HEAD + b"Expect: 100-continue\r\nContent-Length: 2\r\n\r\n")
    assert arrival.wants_continue
    assert b"xpect" not in arrival.data  # so that the parser does not say it again
    arrival.add(b"{}")
    assert arrival.whole
    assert not Arrival(HEAD + b"Expect: 100-continue\r\nContent-Length: 99999999\r\n\r\n").wants_continue
    assert not Arrival(old(HEAD) + b"Expect: 100-continue\r\nContent-Length: 2\r\n\r\n").wants_continue


def old(head: bytes) -> bytes:
    """As a caller would send it that knows of no such thing."""
    return head.replace(b"HTTP/1.1", b"HTTP/1.0")


class Watched(bytearray):
    """Notes how much of it is searched."""

    searched = 0

    def find(self, what: Any, start: Any = 0, end: Any = None) -> int:
        """As ever."""
        self.searched += (len(self) if end is None else min(end, len(self))) - start
        return super().find(what, start, len(self) if end is None else end)


def test_no_byte_is_looked_at_again_with_every_byte_that_comes() -> None:
    """Neither of headers nor of trailers: one slow caller would cost more than all others."""
    for said in (HEAD + b"X: ", CHUNKED + b"0\r\nX: "):
        arrival = Arrival(said)
        arrival.data = watched = Watched(arrival.data)
        for _ in range(2000):
            arrival.add(b"x")
        assert watched.searched < 20_000
