"""A body of lines, read as it arrives: in memory are one line and a block read ahead, however many there are."""

from __future__ import annotations

import io
import logging
import sys
from collections.abc import Iterator
from typing import cast

from flask import request
from werkzeug.exceptions import BadRequest, ClientDisconnected, RequestEntityTooLarge

from ..ops.arrival import READ_AHEAD
from ..schemas.said import Said

MAX_LINE = 1024 * 1024

log = logging.getLogger(__name__)


def lines() -> Iterator[bytes | Exception]:
    """The lines of the request's body without empty ones; an exception in the place of a line that can't be read.

    A line that is too long is skipped to its end. A body that breaks off ends with ClientDisconnected, one that is
    malformed as HTTP with BadRequest.
    """
    request.max_content_length = sys.maxsize  # any number of lines; each has a limit of its own
    return read_lines(io.BufferedReader(cast(io.RawIOBase, request.stream), READ_AHEAD))


def read_lines(body: io.BufferedIOBase) -> Iterator[bytes | Exception]:
    """The lines of a body."""
    try:
        while line := body.readline(MAX_LINE + 1):
            if len(line) > MAX_LINE:
                _skip(body, line)
                yield RequestEntityTooLarge(Said("line_too_long", most=MAX_LINE))
            elif line.strip():
                yield line.rstrip(b"\r\n")  # so that what is said of its end is said of this line
    except ClientDisconnected as broken_off:
        yield broken_off
    except Exception as error:  # whatever the server's parser says of chunks that come after the first answers
        log.info("a body of lines is malformed: %s", type(error).__name__)  # what it says may cite the body
        yield BadRequest(Said("chunks_malformed"))


def _skip(body: io.BufferedIOBase, line: bytes) -> None:
    while line and not line.endswith(b"\n"):
        line = body.readline(MAX_LINE)
