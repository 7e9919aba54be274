"""A log whose reader hangs holds up nobody."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from io import StringIO
from pathlib import Path

import pytest

from rimpoise_service.api.ops.log_pipe import LogPipe, Stream, without_waiting

LINE = "x" * 99 + "\n"
Ends = tuple[int, Callable[[], bytes]]


def pipe_ends(stack: ExitStack) -> Ends:
    """The end to write to, and what is in it."""
    ours, theirs = os.pipe()
    stack.callback(os.close, ours)
    stack.callback(os.close, theirs)
    os.set_blocking(ours, False)
    return theirs, lambda: os.read(ours, 10**6)


def socket_ends(stack: ExitStack) -> Ends:
    """The same for a pair of sockets, as a journal has it."""
    ours, theirs = (stack.enter_context(one) for one in socket.socketpair())
    return theirs.fileno(), lambda: ours.recv(10**6)


@pytest.fixture(params=[pipe_ends, socket_ends])
def ends(request: pytest.FixtureRequest) -> Iterator[Ends]:
    with ExitStack() as stack:
        yield request.param(stack)


def said(count: int) -> str:
    return f"{count} lost"


def test_what_does_not_fit_is_lost_and_said_when_somebody_reads_again(
    ends: tuple[int, Callable[[], bytes]],
) -> None:
    fd, read = ends
    stream = without_waiting(StringIO(), fd, said)
    assert isinstance(stream, LogPipe)
    written = 0
    while not stream.lost:  # it would wait for ever here
        stream.write(LINE)
        written += 1
        assert written < 100_000
    stream.write(LINE)
    assert stream.lost == 2
    found = b""
    while found.count(b"\n") < written - 1:
        found += read()
    stream.write("again\n")
    assert read().endswith(b"2 lost\nagain\n")


def test_a_line_that_was_cut_ends_before_the_next() -> None:
    taken = list[bytes]()

    def take(data: bytes) -> int:
        taken.append(data[:3])
        return len(taken[-1])

    stream = LogPipe(take, said)
    stream.write("long\n")
    stream.write("a")
    assert taken == [b"lon", b"\na"]


def test_a_file_is_written_as_ever(tmp_path: Path) -> None:
    ordinary: Stream = StringIO()
    with (tmp_path / "log").open("w") as file:
        assert without_waiting(ordinary, file.fileno(), said) is ordinary
    assert without_waiting(ordinary, 10**6, said) is ordinary


@pytest.mark.parametrize("log_format", ["json", pytest.param("plain", marks=pytest.mark.slow)])
def test_the_log_of_a_process_whose_reader_hangs(log_format: str) -> None:
    """It writes more than the pipe holds, is read then, and says what is missing."""
    code = f"""
import logging, logging.config, sys
from rimpoise_service.api.ops.json_logs import configuration
from rimpoise_service.api.ops.settings import Settings
logging.config.dictConfig(configuration(Settings(log_format={log_format!r})))
for _ in range(3000):
    logging.info("x" * 50)
print("done", flush=True)
sys.stdin.read()
logging.info("again")
"""
    command, pipe = [sys.executable, "-c", code], subprocess.PIPE
    with subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe) as process:
        assert process.stdout
        assert process.stdin
        assert process.stderr
        assert process.stdout.readline() == b"done\n"
        with closing(process.stdin):
            first = os.read(process.stderr.fileno(), 10**6)
        lost, last = process.stderr.read().decode().splitlines()[-2:]
    assert "lines of the log were lost" in lost
    assert 1000 < 3000 - first.count(b"\n") < 3000
    assert "again" in last
    if log_format == "json":
        assert json.loads(lost)["level"] == "warning"
