"""How an answer goes out: gzip where the caller takes it, a tag on what may be kept, 304 for whoever has it.

A tag is strong: another coding or language is another tag (RFC 9110, section 8.8.3.3). What comes in parts goes
out in parts, each as soon as it is there: a caller who waits for bytes sees that it goes on.
"""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Iterable, Iterator
from functools import lru_cache
from hashlib import sha256
from typing import cast

from flask import Flask, Response, request

from .readers import language_of

LEAST = 1024
"""A shorter answer goes out as it is [bytes]: it fits one packet either way."""

LEVEL = 4
"""Of zlib: a plan of 23 kB takes 0.11 ms and becomes 4.9 kB; level 9 takes four times as long for 4.5 kB."""

A_GZIP_FILE = 31
"""zlib's window bits for gzip's own header."""

KEPT = 16
"""Texts that may be kept are compressed once; there are fewer than so many in use."""


def install(app: Flask) -> None:
    """Encode what an application answers; installed last, it comes before what all other hooks do."""
    app.after_request(encode)


def encode(response: Response) -> Response:
    """The answer in the coding that the request likes best, tagged if it may be kept."""
    response.headers.setdefault("Content-Language", language_of(response))
    response.vary.update(("Accept-Encoding", "Accept-Language"))
    coding = "gzip" if _liked() else ""
    if response.is_streamed:
        return _flowing(response) if coding else response
    data = response.get_data()
    if len(data) < LEAST:
        coding = ""
    if response.status_code == 200 and response.cache_control.max_age:
        return _tagged(response, data, coding)
    if coding:
        _put(response, gzip.compress(data, LEVEL, mtime=0))
    return response


def _liked() -> bool:
    accepted = request.accept_encodings
    return bool(accepted) and accepted["gzip"] > 0 and accepted["gzip"] >= accepted["identity"]


def _tagged(response: Response, data: bytes, coding: str) -> Response:
    digest, packed = _packed(data)
    parts = filter(None, (digest, response.headers["Content-Language"], coding))
    response.set_etag("-".join(parts))
    if coding:
        _put(response, packed)
    # If-Match is for writers; of one who reads nothing is lost if it is ignored, and nothing here answers 412.
    response.make_conditional({k: v for k, v in request.environ.items() if k != "HTTP_IF_MATCH"})
    return response


@lru_cache(maxsize=KEPT)
def _packed(data: bytes) -> tuple[str, bytes]:
    return sha256(data).hexdigest()[:32], gzip.compress(data, mtime=0)


def _put(response: Response, packed: bytes) -> None:
    response.set_data(packed)
    response.headers["Content-Encoding"] = "gzip"


def _flowing(response: Response) -> Response:
    response.headers["Content-Encoding"] = "gzip"
    parts = cast(Iterable[bytes], response.response)
    response.response = _compressed(parts)
    return response


def _compressed(parts: Iterable[bytes]) -> Iterator[bytes]:
    compressor = zlib.compressobj(LEVEL, wbits=A_GZIP_FILE)
    for part in parts:
        yield compressor.compress(part) + compressor.flush(zlib.Z_SYNC_FLUSH)
    yield compressor.flush()
