"""A log that never waits for who reads it: lines that a full pipe does not take are lost, and counted.

Who collects logs can hang. Then a pipe is full after 64 KiB, and every thread that has a line to write would wait.
"""

from __future__ import annotations

import os
import socket
import stat
from collections.abc import Callable
from typing import Protocol


class Stream(Protocol):
    """What ``logging.StreamHandler`` writes to."""

    def write(self, text: str, /) -> object:
        """Write."""

    def flush(self) -> object:
        """Write what was kept."""


class LogPipe:
    """A pipe or a socket; ``said`` makes the line that says how many were lost."""

    def __init__(self, send: Callable[[bytes], int], said: Callable[[int], str]) -> None:
        self._send, self._said = send, said
        self.lost = 0
        self._cut = b""

    def write(self, text: str) -> None:
        """Write a line, or lose it."""
        lost = self._said(self.lost) + "\n" if self.lost else ""
        data = self._cut + (lost + text).encode("utf-8", "backslashreplace")
        try:
            sent = self._send(data)
        except OSError:  # it is full, or gone
            self.lost += 1
            return
        self.lost = 0
        self._cut = b"\n" if sent < len(data) else b""  # a long line that was cut ends here

    def flush(self) -> None:
        """Nothing is kept."""


def without_waiting(stream: Stream, fd: int, said: Callable[[int], str]) -> Stream:
    """A stream to the same descriptor that does not wait, where that can be: files take what they get anyway."""
    try:
        mode = os.fstat(fd).st_mode
        if stat.S_ISSOCK(mode):
            return LogPipe(lambda data: _send(fd, data), said)
        if stat.S_ISFIFO(mode):  # opened once more: who has the other end of this one may want to wait
            own = os.open(f"/proc/self/fd/{fd}", os.O_WRONLY | os.O_NONBLOCK | os.O_CLOEXEC)
            return LogPipe(lambda data: os.write(own, data), said)
    except OSError:
        return stream
    return stream


def _send(fd: int, data: bytes) -> int:
    sock = socket.socket(fileno=fd)
    try:
        return sock.send(data, socket.MSG_DONTWAIT)
    finally:
        sock.detach()
