"""The C library's heap, kept small where it is glibc's; others have no such calls, and most of them no need."""

from __future__ import annotations

import ctypes

M_ARENA_MAX = -8
"""How many heaps there may be, by glibc's malloc.h: else eight a core, and each keeps what it once needed."""

_C = ctypes.CDLL(None)


def share() -> None:
    """Let all threads allocate in one heap from now on: only one of them runs Python at a time, so none waits."""
    if hasattr(_C, "mallopt"):
        _C.mallopt(M_ARENA_MAX, 1)


def trim() -> None:
    """Give back to the system what is free, wherever it lies in the heap: under a millisecond where little is."""
    if hasattr(_C, "malloc_trim"):
        _C.malloc_trim(0)
