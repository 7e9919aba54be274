"""What Prometheus scrapes. Each worker counts for itself and reports to the operator's port, which adds it up."""

from __future__ import annotations

from typing import Any, NamedTuple

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest

SECONDS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)
WORK = (10.0, 100.0, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8)
METHODS = frozenset({"GET", "HEAD", "POST", "OPTIONS"})
"""Methods with a label of their own; callers can invent others, and each would be a series for ever."""


class Outcome(NamedTuple):
    """What an answer decided, and how much the search for it weighed; None where it did neither."""

    decision: str | None
    work: int | None


def outcome_of(answer: Any) -> Outcome:
    """The outcome of what a view returned: of its plan if it has one."""
    plan = getattr(answer, "plan", answer)
    decision = getattr(plan, "decision", None) or getattr(plan, "verdict", None)
    return Outcome(None if decision is None else str(decision), getattr(plan, "work", None))


class Metrics:
    """The metrics of one application. All labels are of fixed sets: nothing a caller sends makes a new series."""

    def __init__(self) -> None:
        self.registry = here = CollectorRegistry()
        self._requests = Counter(
            "rimpoise_requests", "Requests answered.", ["operation", "method", "status"], registry=here
        )
        self.seconds = Histogram(
            "rimpoise_request_seconds", "From first to last byte.", ["operation"], registry=here, buckets=SECONDS
        )
        self.waited = Histogram(
            "rimpoise_wait_seconds",
            "Waiting for a thread, and for the turn to compute.",
            ["wait"],
            registry=here,
            buckets=SECONDS,
        )
        self.decisions = Counter(
            "rimpoise_decisions", "What answers decided.", ["operation", "decision"], registry=here
        )
        self.work = Histogram(
            "rimpoise_search_work", "Combinations weighed.", ["operation"], registry=here, buckets=WORK
        )
        self.under_way = Gauge("rimpoise_requests_under_way", "Being answered.", registry=here)
        self.heavy = Gauge("rimpoise_heavy_under_way", "Heavy requests being answered.", registry=here)
        self.threads = Gauge("rimpoise_threads", "Threads that answer.", registry=here)
        self.busy = Gauge("rimpoise_threads_busy", "Of these, those that do.", registry=here)
        self.connections = Gauge("rimpoise_connections", "Open connections.", registry=here)
        self.store_failures = Counter(
            "rimpoise_rate_store_failures", "Times the store failed and was left alone for a while.", registry=here
        )
        self.keys_stale = Gauge("rimpoise_keys_stale_seconds", "Since the file of keys was good.", registry=here)

    def count(self, operation: str, method: str, status: int) -> None:
        """One more request answered."""
        self._requests.labels(operation, method if method in METHODS else "other", status).inc()

    def note(self, operation: str, outcome: Outcome) -> None:
        """Count what one answer decided."""
        if outcome.decision is not None:
            self.decisions.labels(operation, outcome.decision).inc()
        if outcome.work is not None:
            self.work.labels(operation).observe(outcome.work)

    def text(self) -> str:
        """Those of this process, in Prometheus's text format."""
        return generate_latest(self.registry).decode()
