"""The operator's port: metrics, health, readiness and draining, in a process that answers under any load.

Workers send what they counted once a second, as datagrams; so there is no folder that can be full, nobody waits
for anybody, and a worker that is silent for long is known to be stuck. gunicorn's first process starts it, hears
nothing from it, and it ends when that process and all workers have.
"""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import threading
import time
import zlib
from collections.abc import Iterable, Iterator
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import Metric
from prometheus_client.registry import Collector
from prometheus_client.samples import Sample

from . import __version__

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
MAX_REPORT = 1024 * 1024
"""Of one worker, packed [bytes]; above what a socket carries it is lost, and the last one stays."""

SILENT_S = 30.0
"""A worker that has not reported for so long is stuck [s]; gunicorn ends it at about the same time."""

REQUEST_S = 5.0
"""For a whole request to come in [s]."""

NO_SUM = "gauge"
"""What a dead worker takes with it; all other kinds count what was, and stay."""

VERSION = (("version", __version__),)
"""The label of what runs here."""

Series = tuple[str, tuple[tuple[str, str], ...]]
"""Name of a sample, and its labels."""


class Totals:
    """What all workers counted, those that are dead included."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._families: dict[str, tuple[str, str]] = {}
        self._of_dead: dict[str, dict[Series, float]] = {}
        self._of_worker: dict[int, dict[str, dict[Series, float]]] = {}
        self._seen: dict[int, float] = {}
        self._leaving: set[int] = set()
        self._deaths = 0

    def take(self, report: bytes) -> None:
        """A report of ``packed`` or ``packed_end``. Raises ValueError, KeyError, zlib.error for others."""
        sent = json.loads(zlib.decompress(report))
        with self._lock:
            if "families" in sent:
                self._keep(sent["pid"], sent["families"])
                self._leaving |= {sent["pid"]} if sent["leaving"] else set()
            else:
                self._bury(sent["pid"])

    def _keep(self, pid: int, families: Iterable[Any]) -> None:
        counted: dict[str, dict[Series, float]] = {}
        for name, about, kind, samples in families:
            self._families[name] = about, kind
            counted[name] = {(sample, tuple(sorted(labels.items()))): value for sample, labels, value in samples}
        self._of_worker[pid], self._seen[pid] = counted, time.monotonic()

    def _bury(self, pid: int) -> None:
        self._deaths += pid not in self._leaving
        self._leaving.discard(pid)
        self._seen.pop(pid, None)
        for name, samples in self._of_worker.pop(pid, {}).items():
            if self._families[name][1] != NO_SUM:
                _add(self._of_dead.setdefault(name, {}), samples)

    def alive(self) -> int:
        """How many workers have reported lately."""
        with self._lock:
            return sum(time.monotonic() - at < SILENT_S for at in self._seen.values())

    def text(self) -> bytes:
        """In Prometheus's text format."""
        registry = CollectorRegistry()
        registry.register(_Sums(self._sums()))
        return generate_latest(registry)

    def _sums(self) -> Iterator[Metric]:
        alive = self.alive()
        with self._lock:
            families, workers, deaths = dict(self._families), list(self._of_worker.values()), self._deaths
            sums = {name: dict(self._of_dead.get(name, {})) for name in families}
        yield _metric("rimpoise_build_info", "Always 1.", "gauge", {("rimpoise_build_info", VERSION): 1.0})
        yield _metric("rimpoise_workers", "Workers that report.", "gauge", {("rimpoise_workers", ()): alive})
        name = "rimpoise_worker_deaths"
        yield _metric(name, "Workers that ended unasked.", "counter", {(f"{name}_total", ()): deaths})
        for name, (about, kind) in families.items():
            for counted in workers:
                _add(sums[name], counted.get(name, {}))
            yield _metric(name, about, kind, sums[name])


class _Sums(Collector):
    def __init__(self, families: Iterable[Metric]) -> None:
        self._families = families

    def collect(self) -> Iterable[Metric]:
        return self._families

    def describe(self) -> Iterable[Metric]:
        return ()


def _add(to: dict[Series, float], more: dict[Series, float]) -> None:
    for series, value in more.items():
        to[series] = to.get(series, 0.0) + value


def _metric(name: str, about: str, kind: str, samples: dict[Series, float]) -> Metric:
    metric = Metric(name, about, kind)
    metric.samples = [Sample(sample, dict(labels), value) for (sample, labels), value in samples.items()]
    return metric


def packed(pid: int, families: Iterable[Metric], *, leaving: bool = False) -> bytes:
    """What a worker counted so far, as it is sent, and whether it ends because it was asked to."""
    kept = [
        (f.name, f.documentation, f.type, [(s.name, s.labels, s.value) for s in f.samples if _adds_up(s.name)])
        for f in families
    ]
    return zlib.compress(json.dumps({"pid": pid, "families": kept, "leaving": leaving}).encode(), 1)


def _adds_up(sample: str) -> bool:
    """Whether the sum of a sample over workers says something; that of the times they began does not."""
    return not sample.endswith("_created")


def packed_end(pid: int) -> bytes:
    """That a worker has ended."""
    return zlib.compress(json.dumps({"pid": pid}).encode(), 1)


class Handler(BaseHTTPRequestHandler):
    """Answers on the operator's port."""

    server: OperatorServer
    timeout = REQUEST_S
    server_version, sys_version = "rimpoise", ""

    def do_GET(self) -> None:
        """Metrics, health, readiness."""
        server = self.server
        if self.path == "/metrics":
            self._answer(HTTPStatus.OK, server.totals.text(), MEDIA_TYPE)
        elif self.path == "/healthz":
            self._state(server.totals.alive() > 0, "ok", "no worker reports")
        elif self.path == "/readyz" and server.draining():
            self._state(False, "", "draining")
        elif self.path == "/readyz":
            self._state(server.totals.alive() > 0, "ready", "no worker reports")
        else:
            self.send_error(HTTPStatus.NOT_FOUND)

    def do_POST(self) -> None:
        """Drain: from now on nothing new should be sent here."""
        self._drain(True)

    def do_DELETE(self) -> None:
        """The end of draining."""
        self._drain(False)

    def _drain(self, wanted: bool) -> None:
        drain = self.server.drain_file
        if self.path != "/drain" or drain is None:
            self.send_error(HTTPStatus.NOT_FOUND)
            return
        try:
            drain.touch() if wanted else drain.unlink(missing_ok=True)
        except OSError as error:
            self._state(False, "", f"the drain file can't be changed: {error.strerror}")
            return
        self._state(True, "draining" if wanted else "ready", "")

    def _state(self, good: bool, word: str, otherwise: str) -> None:
        status = HTTPStatus.OK if good else HTTPStatus.SERVICE_UNAVAILABLE
        body = json.dumps({"status": word if good else otherwise}).encode()
        self._answer(status, body, "application/json")

    def _answer(self, status: HTTPStatus, body: bytes, media_type: str) -> None:
        self.send_response(status)
        for name, value in {"Content-Type": media_type, "Content-Length": len(body)}.items():
            self.send_header(name, str(value))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        """Probes and scrapes are no news."""


class OperatorServer(ThreadingHTTPServer):
    """The port, at a socket that listens already; ``totals`` is filled from ``reports``."""

    daemon_threads = True

    def __init__(self, listener: socket.socket, drain_file: Path | None) -> None:
        super().__init__(listener.getsockname()[:2], Handler, bind_and_activate=False)
        self.socket.close()
        self.socket = listener
        self.totals, self.drain_file = Totals(), drain_file

    def draining(self) -> bool:
        """Whether the operator wants nothing new sent here."""
        return self.drain_file is not None and self.drain_file.exists()

    def read(self, reports: socket.socket) -> None:
        """Take every report, for ever; one that is broken is left out."""
        while True:
            try:
                self.totals.take(reports.recv(MAX_REPORT))
            except (ValueError, KeyError, TypeError, zlib.error):
                continue


class OperatorPort:
    """The other side, in gunicorn's processes: starts the port's own process, and sends it reports."""

    def __init__(self, bind: str, drain_file: Path | None) -> None:
        """Raises OSError if nobody can listen there."""
        host, _, port = bind.rpartition(":")
        host = host.strip("[]")
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        self._ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._ours.setblocking(False)
        self._ours.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, MAX_REPORT)
        with socket.create_server((host, int(port)), family=family) as listener, theirs:
            self.port: int = listener.getsockname()[1]
            fds = listener.fileno(), theirs.fileno()
            command = [sys.executable, "-m", __name__, *map(str, fds), str(drain_file or "")]
            self._process = subprocess.Popen(command, stdin=subprocess.PIPE, pass_fds=fds)  # noqa: S603 - ours

    def send(self, report: bytes) -> None:
        """Send, or lose it: counting must never hold up answering."""
        try:
            self._ours.send(report)
        except OSError:
            return


def main(argv: list[str]) -> None:
    """Serve at inherited sockets until all who could report are gone: standard input ends with them."""
    listener, reports = (socket.socket(fileno=int(fd)) for fd in argv[:2])
    server = OperatorServer(listener, Path(argv[2]) if argv[2] else None)
    for work in (server.serve_forever, lambda: server.read(reports)):
        threading.Thread(target=work, daemon=True).start()
    while os.read(sys.stdin.fileno(), 1):
        pass


if __name__ == "__main__":
    main(sys.argv[1:])
