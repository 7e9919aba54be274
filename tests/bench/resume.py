"""A table of ten thousand wheels checked by the command line, twice: in one go, and killed and taken up again.

``python -m tests.bench resume`` starts a service of its own, kills the second run twice, and holds the
two outputs against each other byte by byte. The tests do the same with three hundred wheels.
"""

from __future__ import annotations

import hashlib
import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from rimpoise.cli.local_service import local_service
from tests.client.tables import csv_of

ROWS = 10_000
KILLED_AT = (3_000, 7_500)


def check(url: str, table: Path, out: Path) -> subprocess.Popen[bytes]:
    """A run in a process of its own."""
    command = [sys.executable, "-m", "rimpoise", "check", str(table), str(out), "--url", url, "--quiet"]
    return subprocess.Popen(command, stderr=subprocess.DEVNULL)


def rows_in(file: Path) -> int:
    """Whole lines without the header."""
    return max(0, file.read_bytes().count(b"\n") - 1) if file.exists() else 0


def killed(url: str, table: Path, out: Path, at: int) -> None:
    """Let it write so many rows, then kill it."""
    with check(url, table, out) as run:
        part = out.with_name(out.name + ".part")
        while rows_in(part) < at and run.poll() is None:
            time.sleep(0.02)
        run.send_signal(signal.SIGKILL)
    print(f"  killed with {rows_in(part):,} rows written")


def report() -> None:
    """Run both and compare."""
    with tempfile.TemporaryDirectory() as folder, local_service(workers=os.cpu_count() or 2) as url:
        table, whole, broken = (Path(folder) / name for name in ("wheels.csv", "whole.csv", "broken.csv"))
        table.write_bytes(csv_of(ROWS).encode())
        began = time.perf_counter()
        status = check(url, table, whole).wait()
        took = time.perf_counter() - began
        rate = rows_in(whole) / took
        print(f"  in one go: {rows_in(whole):,} rows in {took:.0f} s, {rate:.0f} a second, status {status}")
        for at in KILLED_AT:
            killed(url, table, broken, at)
        check(url, table, broken).wait()
        digests = [hashlib.sha256(path.read_bytes()).hexdigest() for path in (whole, broken)]
        print(f"  sha256 in one go {digests[0]}\n  sha256 taken up  {digests[1]}")
        print(f"  the same bytes: {digests[0] == digests[1]}; {rows_in(broken):,} rows")
