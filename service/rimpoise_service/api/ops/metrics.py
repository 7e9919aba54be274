"""What Prometheus scrapes. With several workers each writes to files of its own, and a scrape adds them up."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, NamedTuple

from ... import __version__

if TYPE_CHECKING:
    from prometheus_client import CollectorRegistry

FOLDER = "PROMETHEUS_MULTIPROC_DIR"
"""The variable by which prometheus_client knows that there are several workers, and where they write."""

MEDIA_TYPE = "text/plain; version=0.0.4; charset=utf-8"
SECONDS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)
WORK = (10.0, 100.0, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8)


class Outcome(NamedTuple):
    """What an answer decided, and how much the search for it weighed; None where it did neither."""

    decision: str | None
    work: int | None


def outcome_of(told: Any) -> Outcome:
    """The outcome of what a view returned: of its plan if it has one."""
    plan = getattr(told, "plan", told)
    decision = getattr(plan, "decision", None) or getattr(plan, "verdict", None)
    return Outcome(None if decision is None else str(decision), getattr(plan, "work", None))


class Metrics:
    """The metrics of one application.

    prometheus_client looks for its folder when it is first imported; so it is imported here, after whoever serves
    has made one.
    """

    def __init__(self) -> None:
        from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram

        self._registry = here = CollectorRegistry()
        self.requests = Counter(
            "rimpoise_requests", "Requests answered.", ["operation", "method", "status"], registry=here
        )
        self.seconds = Histogram(
            "rimpoise_request_seconds", "From first to last byte.", ["operation"], registry=here, buckets=SECONDS
        )
        self.decisions = Counter(
            "rimpoise_decisions", "What answers decided.", ["operation", "decision"], registry=here
        )
        self.work = Histogram(
            "rimpoise_search_work",
            "Combinations weighed for an answer.",
            ["operation"],
            registry=here,
            buckets=WORK,
        )
        self.under_way = Gauge(
            "rimpoise_requests_under_way", "Being answered.", registry=here, multiprocess_mode="livesum"
        )
        self.store_failures = Counter(
            "rimpoise_rate_store_failures", "Requests let in uncounted, the store being away.", registry=here
        )
        build = Gauge("rimpoise_build_info", "Always 1.", ["version"], registry=here, multiprocess_mode="max")
        build.labels(__version__).set(1)

    def note(self, operation: str, outcome: Outcome) -> None:
        """Count what one answer decided."""
        if outcome.decision is not None:
            self.decisions.labels(operation, outcome.decision).inc()
        if outcome.work is not None:
            self.work.labels(operation).observe(outcome.work)

    def text(self) -> str:
        """All of them, of all workers, in Prometheus's text format."""
        from prometheus_client import generate_latest

        return generate_latest(self._all()).decode()

    def _all(self) -> CollectorRegistry:
        if FOLDER not in os.environ:
            return self._registry
        from prometheus_client import CollectorRegistry
        from prometheus_client.multiprocess import MultiProcessCollector

        everywhere = CollectorRegistry()
        MultiProcessCollector(everywhere)  # type: ignore[no-untyped-call]
        return everywhere
