"""The lock as Windows has it, with a stand-in for its module: a byte range, and no removing of what is open.

The stand-in locks by Linux's open file descriptions, which differ between two openings in one process, as Windows'
handles do. It was never run on Windows itself.
"""

from __future__ import annotations

import errno
import fcntl
import importlib.util
import json
import os
import struct
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from rimpoise.cli import locks as here

pytestmark = pytest.mark.skipif(not hasattr(fcntl, "F_OFD_SETLK"), reason="needs Linux's locks")
LK_NBLCK = 2
BEYOND = 1 << 30


def locking(descriptor: int, mode: int, count: int) -> None:
    """Lock so many bytes from the position on, as documented: EACCES if they are locked already."""
    assert mode == LK_NBLCK
    start = os.lseek(descriptor, 0, os.SEEK_CUR)
    requested = struct.pack("hhqqi4x", fcntl.F_WRLCK, os.SEEK_SET, start, count, 0)
    try:
        fcntl.fcntl(descriptor, fcntl.F_OFD_SETLK, requested)
    except OSError as error:
        raise PermissionError(errno.EACCES, "Permission denied") from error


def is_open(path: Path) -> bool:
    """Whether this process has the file open."""
    there = path.stat()
    for descriptor in map(int, os.listdir("/proc/self/fd")):
        try:
            if os.path.samestat(os.fstat(descriptor), there):
                return True
        except OSError:
            continue
    return False


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> Any:
    """The module as it is imported on Windows."""
    module = ModuleType("msvcrt")
    vars(module).update(locking=locking, LK_NBLCK=LK_NBLCK)
    monkeypatch.setitem(sys.modules, "msvcrt", module)
    spec = importlib.util.spec_from_file_location("windows_locks", here.__file__)
    assert spec
    assert spec.loader
    with monkeypatch.context() as platform:
        platform.setattr(sys, "platform", "win32")
        locks = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(locks)
    unlink = Path.unlink

    def remove(path: Path, missing_ok: bool = False) -> None:
        if path.exists() and is_open(path):
            raise PermissionError(errno.EACCES, "the file is being used by another process")
        unlink(path, missing_ok)

    monkeypatch.setattr(Path, "unlink", remove)
    return locks


def test_the_second_is_refused_and_reads_who_has_it(windows: Any, tmp_path: Path) -> None:
    path = tmp_path / "stamp"
    with windows.locked(path) as first:
        json.dump({"process": 7, "started": "2026-01-02T03:04:05+00:00"}, first)
        first.flush()
        assert path.stat().st_size < BEYOND
        with pytest.raises(windows.Locked, match="process 7, started 2026-01-02T03:04:05"), windows.locked(path):
            pass
    with windows.locked(path) as later:
        assert json.load(later)["process"] == 7


def test_a_locked_file_is_removed(windows: Any, tmp_path: Path) -> None:
    path = tmp_path / "stamp"
    with windows.locked(path) as file:
        with pytest.raises(PermissionError):
            path.unlink()
        windows.remove(file, path)
        assert not path.exists()
    with windows.locked(path):
        assert path.exists()


def test_what_another_has_by_then_stays(windows: Any, tmp_path: Path) -> None:
    path = tmp_path / "stamp"
    with windows.locked(path) as file, path.open():
        windows.remove(file, path)
        assert path.exists()
