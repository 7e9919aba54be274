"""What workers report to the operator's port, and the sums of it: what the dead counted stays."""

from __future__ import annotations

import json
import threading
import time
import zlib
from collections.abc import Iterable, Iterator
from typing import Any

from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import Metric
from prometheus_client.registry import Collector
from prometheus_client.samples import Sample

from . import __version__

MAX_REPORT = 1024 * 1024
"""Of one worker, packed [bytes]; above what a socket carries it is lost, and the last one stays."""

SILENT_S = 30.0
"""A worker that has not reported for so long is stuck [s]; gunicorn ends it at about the same time."""

LOST_S = 2 * SILENT_S
"""A worker that has not reported for so long has ended [s], and what it was doing with it."""

NO_SUM = "gauge"
"""What a dead worker takes with it; all other kinds count what was, and stay."""

SINCE = "_seconds"
"""The end of a gauge's name that says how long something has been so: all workers see the same, so the longest
counts, not the sum."""

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

    def _bury_the_silent(self) -> None:
        """Those whose end was not heard of: a report can be lost."""
        for pid in [pid for pid, at in self._seen.items() if time.monotonic() - at > LOST_S]:
            self._bury(pid)

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
            self._bury_the_silent()
            families, workers, deaths = dict(self._families), list(self._of_worker.values()), self._deaths
            sums = {name: dict(self._of_dead.get(name, {})) for name in families}
        yield _metric("rimpoise_build_info", "Always 1.", "gauge", {("rimpoise_build_info", VERSION): 1.0})
        yield _metric("rimpoise_workers", "Workers that report.", "gauge", {("rimpoise_workers", ()): alive})
        name = "rimpoise_worker_deaths"
        yield _metric(name, "Workers that ended unasked.", "counter", {(f"{name}_total", ()): deaths})
        for name, (about, kind) in families.items():
            add = _most if kind == NO_SUM and name.endswith(SINCE) else _add
            for counted in workers:
                add(sums[name], counted.get(name, {}))
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


def _most(of: dict[Series, float], more: dict[Series, float]) -> None:
    for series, value in more.items():
        of[series] = max(of.get(series, value), value)


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
