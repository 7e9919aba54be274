"""A file that one process has at a time. The lock goes with the process, however that ends."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int) -> None:
        os.lseek(descriptor, 1 << 30, os.SEEK_SET)  # beyond what is written, so that others can read that
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        finally:
            os.lseek(descriptor, 0, os.SEEK_SET)

    def remove(file: IO[str], path: Path) -> None:
        """Remove a file that is locked here, and with it the lock; it stays if another process has it by then."""
        file.close()  # one that is open can't be removed
        with suppress(PermissionError):
            path.unlink(missing_ok=True)
else:
    import fcntl

    def _lock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def remove(file: IO[str], path: Path) -> None:  # noqa: ARG001
        """Remove a file that is locked here."""
        path.unlink(missing_ok=True)


class Locked(Exception):
    """Another process has it; the message says which, and since when."""


@contextmanager
def locked(path: Path) -> Iterator[IO[str]]:
    """The file, made if it is not there, for this process alone. Raises Locked, OSError."""
    while True:
        with open(os.open(path, os.O_RDWR | os.O_CREAT, 0o644), "r+", encoding="utf-8") as file:
            try:
                _lock(file.fileno())
            except (BlockingIOError, PermissionError):  # the second on Windows
                raise Locked(_holder(file)) from None
            if not _is_still_there(file, path):
                continue  # its last holder has just removed it
            yield file
            return


def _is_still_there(file: IO[str], path: Path) -> bool:
    try:
        return os.path.samestat(os.fstat(file.fileno()), path.stat())
    except FileNotFoundError:
        return False


def _holder(file: IO[str]) -> str:
    """Who has it, as it says itself."""
    try:
        found = json.load(file)
        return f"process {found['process']}, started {found['started']}"
    except (ValueError, KeyError, TypeError):
        return "another process"
