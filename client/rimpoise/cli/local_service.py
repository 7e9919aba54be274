"""A private service for the length of a job: a process on a free port of this machine, ended with the job.

It reads a pipe of which this process has the other end, and writes nothing to it: the pipe ends when this process
does, however that happens, and the service stops itself.
"""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec

from ..client import Client
from ..errors import TransportError

START_S = 120.0
"""It takes a second or two, and twenty on a machine that is busy; one that ends is not waited for."""


class NoService(Exception):
    """The service is not installed here, or did not start."""


@contextmanager
def local_service(workers: int = 2) -> Iterator[str]:
    """The URL of a service that lives as long as the block. Raises NoService."""
    with local_process(workers) as (url, _):
        yield url


@contextmanager
def local_process(workers: int = 2) -> Iterator[tuple[str, int]]:
    """The same with the process id."""
    if find_spec("rimpoise_service") is None:
        raise NoService("the service is not installed here: pip install rimpoise-service")
    port = _free_port()
    command = [sys.executable, "-m", __name__, "serve", "--port", str(port), "--workers", str(workers)]
    # With the service's own defaults: the variables set here are meant for another service, or for the client.
    environ = {name: value for name, value in os.environ.items() if not name.startswith("RIMPOISE_")}
    environ["RIMPOISE_OPERATOR_BIND"] = "off"  # or two such services would want the same port
    environ["RIMPOISE_WORK_RATE"] = "0"  # its one caller need leave nothing for others
    with subprocess.Popen(  # noqa: S603
        command, env=environ, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as process:
        try:
            url = f"http://127.0.0.1:{port}"
            _wait(url, process)
            yield url, process.pid
        finally:
            process.terminate()


def _free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


def _wait(url: str, process: subprocess.Popen[bytes]) -> None:
    ends = time.monotonic() + START_S
    with Client(url, retries=0) as client:
        while time.monotonic() < ends and process.poll() is None:
            try:
                client.health()
            except TransportError:
                time.sleep(0.05)
            else:
                return
    raise NoService("the service did not start; try python -m rimpoise_service serve to see why")


def _stop_with_the_parent() -> None:
    os.read(sys.stdin.fileno(), 1)  # nobody writes: it returns when the other end is closed
    os.kill(os.getpid(), signal.SIGTERM)


if __name__ == "__main__":
    threading.Thread(target=_stop_with_the_parent, daemon=True).start()
    from runpy import run_module

    run_module("rimpoise_service", run_name="__main__", alter_sys=True)
