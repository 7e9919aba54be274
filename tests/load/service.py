"""A service under gunicorn, as the image starts it, in processes of its own on loopback."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

ROOT = Path(__file__).parents[2]
CONFIGURATION = ROOT / "docker" / "gunicorn.conf.py"
OURS = "rimpoise_service.wsgi:app"
PATIENCE_S = 120.0
"""For what must come true, on a machine however busy [s]."""

TICKS = os.sysconf("SC_CLK_TCK")


def free_port() -> int:
    """One that nobody listens at, and that the system gives nobody else while this process lives.

    A socket of ours stays there: who binds to this port, to be reused, gets it; who binds to any gets another.
    """
    ours = socket.socket()
    ours.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    ours.bind(("127.0.0.1", 0))
    port = int(ours.getsockname()[1])
    ours.detach()  # open until the process ends
    return port


def wait_until_listened_at(port: int) -> None:
    """Until somebody listens at a port of this machine. Raises TimeoutError after PATIENCE_S."""

    def listened_at() -> bool:
        with socket.socket() as one:
            return one.connect_ex(("127.0.0.1", port)) == 0

    if not until(listened_at):
        raise TimeoutError(f"nobody listens at {port}")


def until(true: Callable[[], bool]) -> bool:
    """Whether something comes true within PATIENCE_S."""
    end = time.monotonic() + PATIENCE_S
    while not true() and time.monotonic() < end:
        time.sleep(0.05)
    return true()


@dataclass(slots=True)
class Service:
    """A running gunicorn: its ports, and its process."""

    port: int
    operator: int
    app: str
    environ: dict[str, str]
    arguments: tuple[str, ...]
    process: subprocess.Popen[bytes]

    @property
    def workers(self) -> list[int]:
        """Their process ids."""
        children = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return [int(pid) for pid in children.read_text().split() if _is_worker(pid)]

    @property
    def cpu_s(self) -> float:
        """What the workers have used [s]."""
        return sum(_cpu_s(pid) for pid in self.workers)

    @property
    def memory_mb(self) -> list[tuple[float, float]]:
        """Resident and proportional memory of each worker [MB]; the latter counts shared pages once among them."""
        return [(_memory_mb(pid, "Rss"), _memory_mb(pid, "Pss")) for pid in self.workers]

    @property
    def peak_mb(self) -> float:
        """The most memory that one of the workers has had [MB]."""
        return max(_memory_mb(pid, "VmHWM", "status") for pid in self.workers)

    def metric(self, name: str) -> float:
        """The sum of all series of a name, as the operator's port tells it."""
        with urlopen(f"http://127.0.0.1:{self.operator}/metrics", timeout=PATIENCE_S) as answer:
            lines = answer.read().decode().splitlines()
        return sum(float(x.split()[-1]) for x in lines if x.startswith((f"{name} ", f"{name}{{")))

    def await_report(self) -> None:
        """Until every worker has told the operator's port what it counted."""
        for _ in range(int(PATIENCE_S / 0.05)):
            if self.metric("rimpoise_workers") >= max(1, len(self.workers)):
                return
            time.sleep(0.05)
        raise RuntimeError("no worker reports")

    def signal(self, number: signal.Signals) -> None:
        """To the master."""
        self.process.send_signal(number)

    def stop(self) -> float:
        """Gracefully, with a limit; how long it took [s]."""
        began = time.monotonic()
        self.signal(signal.SIGTERM)
        try:
            self.process.wait(PATIENCE_S)
        except subprocess.TimeoutExpired:
            self.kill()
        return time.monotonic() - began

    def kill(self) -> None:
        """All of it at once, as when a machine fails."""
        pids = [self.process.pid, *self.workers]
        for pid in pids:
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue
        self.process.wait(PATIENCE_S)

    def start_again(self) -> None:
        """At the same port, after it has ended."""
        self.process = _start(self.port, self.operator, self.app, self.environ, self.arguments)


def _is_worker(pid: str) -> bool:
    """Whether a child is one, and not the operator's port. What has ended meanwhile has no command, or no file."""
    try:
        command = Path(f"/proc/{pid}/cmdline").read_text()
    except (FileNotFoundError, ProcessLookupError):
        return False
    return bool(command) and "operator_port" not in command


def _cpu_s(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def _memory_mb(pid: int, kind: str, file: str = "smaps_rollup") -> float:
    lines = Path(f"/proc/{pid}/{file}").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith(f"{kind}:")) / 1024


def _start(
    port: int, operator: int, app: str, environ: dict[str, str], arguments: tuple[str, ...]
) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "gunicorn", "--config", str(CONFIGURATION), *arguments, app]
    paths = os.pathsep.join([str(ROOT), str(ROOT / "service"), str(ROOT / "client")])
    reported = {"RIMPOISE_BIND": f"127.0.0.1:{port}", "RIMPOISE_OPERATOR_BIND": f"127.0.0.1:{operator}"}
    reported |= {"RIMPOISE_LOG_LEVEL": "warning", "RIMPOISE_WORK_RATE": "0", "PYTHONPATH": paths}
    log = Path(tempfile.gettempdir()) / f"rimpoise-load-{port}.log"
    with log.open("ab") as errors:
        process = subprocess.Popen(command, env=os.environ | reported | environ, cwd=ROOT, stderr=errors)
    for _ in range(int(PATIENCE_S / 0.05)):
        try:
            urlopen(f"http://127.0.0.1:{port}/readyz", timeout=1).close()
            return process
        except (URLError, OSError):
            time.sleep(0.05)
    process.kill()
    raise RuntimeError(f"it did not start; see {log}")


@contextmanager
def running(app: str = OURS, arguments: tuple[str, ...] = (), **environ: str) -> Iterator[Service]:
    """A service, ended at the end; the names of settings are written small and without their prefix."""
    reported = {f"RIMPOISE_{name.upper()}": text for name, text in environ.items()}
    at = free_port(), free_port(), app, reported, arguments
    service = Service(*at, _start(*at))
    try:
        yield service
    finally:
        if service.process.poll() is None:
            service.stop()
