"""The C library's heap under threads: shared, and given back."""

from __future__ import annotations

import ctypes
import subprocess
import sys
from types import SimpleNamespace
from typing import cast

import pytest

from rimpoise_service import heap
from rimpoise_service.api.ops.settings import Settings
from rimpoise_service.gunicorn_app import Hooks
from rimpoise_service.gunicorn_worker import PatientWorker

GLIBC = hasattr(ctypes.CDLL(None), "malloc_trim")

HOLDING = """
import ctypes, sys, threading
from pathlib import Path
from rimpoise_service import heap

def held_mb():
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS")) / 1024

def fill():
    # Below the size from which glibc maps memory of its own, so that it is in a heap; the last one pins its end.
    kept.append([bytes(60_000) for _ in range(500)])
    kept.append(bytes(60_000))

kept = []
if "share" in sys.argv:
    heap.share()
before = held_mb()
threads = [threading.Thread(target=fill) for _ in range(4)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
kept[:] = [each for each in kept if isinstance(each, bytes)]
free = held_mb() - before
ctypes.CDLL(None).malloc_stats()
heap.trim()
print(free, held_mb() - before)
"""


def held(*words: str) -> tuple[int, float, float]:
    """Heaps of a process with threads; what it holds beyond its start [MB] when 120 MB are free, and trimmed."""
    run = subprocess.run([sys.executable, "-c", HOLDING, *words], check=True, capture_output=True, text=True)
    free, trimmed = map(float, run.stdout.split())
    return run.stderr.count("Arena"), free, trimmed


@pytest.mark.skipif(not GLIBC, reason="another C library than glibc")
def test_what_is_free_below_something_kept_is_given_back() -> None:
    _, free, trimmed = held("share")
    assert free > 60
    assert trimmed < 10


@pytest.mark.skipif(not GLIBC, reason="another C library than glibc")
def test_threads_share_one_heap() -> None:
    assert held()[0] > 1
    assert held("share")[0] == 1


def test_another_c_library_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(heap, "_C", SimpleNamespace())
    heap.share()
    heap.trim()


def test_gunicorn_shares_before_there_are_workers_and_trims_with_each_report(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    done: list[str] = []
    monkeypatch.setattr(heap, "share", lambda: done.append("share"))
    monkeypatch.setattr(heap, "trim", lambda: done.append("trim"))
    hooks = Hooks(Settings(operator_bind="off"))
    hooks.on_starting(SimpleNamespace(cfg=SimpleNamespace(worker_connections=1000)))
    worker = cast(PatientWorker, SimpleNamespace(metrics=None))
    hooks.post_worker_init(worker)
    worker.on_tick()
    worker.on_tick()  # within the same second
    assert done == ["share", "trim"]
