"""Around every request: its id, its metrics, its span, one line in the log."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from http import HTTPStatus
from typing import Any

from flask import Flask, Response, current_app, g, has_app_context, request

from . import spans
from .compute_lock import HEAVY_PATIENCE_S, PATIENCE_S, hold_compute_lock
from .json_logs import FIELDS
from .metrics import Metrics, outcome_of
from .trace_context import trace_of

METRICS = "rimpoise.metrics"
"""Where an application keeps its metrics."""

MAX_PATH = 200
"""Characters of a path that are logged; a longer path is no typing error."""

MAX_METHOD = 20
"""Characters of a method that are logged."""

THREAD_WAIT_S: ContextVar[float | None] = ContextVar("thread_wait_s", default=None)
"""How long the request that a thread answers has waited for it [s], where the worker measures that."""

log = logging.getLogger("rimpoise.request")


def install(app: Flask) -> Metrics:
    """Observe an app's requests. Installed first, it sees what all other hooks answer."""
    app.extensions[METRICS] = counted = Metrics()
    app.before_request(_begin)
    app.after_request(_end)
    return counted


def metrics() -> Metrics:
    """Those of the current application."""
    found: Metrics = current_app.extensions[METRICS]
    return found


def note(answer: Any) -> None:
    """Count what a view returned, and have it logged with the request."""
    outcome = outcome_of(answer)
    metrics().note(request.endpoint or "", outcome)
    g.noted = {name: value for name, value in outcome._asdict().items() if value is not None}


def note_later() -> Callable[[Any], None]:
    """The same for results that are sent while the answer goes out, when the request is no longer at hand."""
    counted, operation = metrics(), request.endpoint or ""
    return lambda answer: counted.note(operation, outcome_of(answer))


@contextmanager
def computing() -> Iterator[None]:
    """Compute when it is this thread's turn. Of batches, whose request is gone by then, nothing is measured."""
    if not has_app_context():
        with hold_compute_lock(HEAVY_PATIENCE_S):
            yield
        return
    patience_s = HEAVY_PATIENCE_S if g.get("heavy") else PATIENCE_S
    with hold_compute_lock(patience_s, metrics().waited.labels("to compute").observe), spans.computing(g.span):
        yield


def _begin() -> None:
    g.began = time.perf_counter()
    g.trace = trace_of(request.headers)
    g.span = spans.begin(dict(request.headers), request.endpoint or "none")
    metrics().under_way.inc()


def _end(response: Response) -> Response:
    response.headers.extend(g.trace.headers())
    done = _done(response)
    if response.is_streamed:  # a batch: it is answered when its last line is out
        response.call_on_close(done)
    else:
        done()
    return response


def _done(response: Response) -> Callable[[], None]:
    operation, counted, began, fields = request.endpoint or "none", metrics(), g.began, _fields(response)
    span = g.span

    def done() -> None:
        seconds = time.perf_counter() - began
        counted.under_way.dec()
        counted.count(operation, fields["method"], response.status_code)
        counted.seconds.labels(operation).observe(seconds)
        spans.end(span, fields)
        fault = response.status_code >= 500 and response.status_code != HTTPStatus.SERVICE_UNAVAILABLE
        level = logging.ERROR if fault else logging.INFO
        log.log(level, "answered", extra={FIELDS: fields | {"ms": round(seconds * 1e3, 3)}})

    return done


def _fields(response: Response) -> dict[str, Any]:
    """The fields of a request's line: no bodies, no keys, no query."""
    waited_s = THREAD_WAIT_S.get()
    fields = {
        "request_id": g.trace.request_id,
        "trace_id": g.trace.trace_id or spans.trace_id(g.span),
        "method": request.method[:MAX_METHOD],
        "path": request.path[:MAX_PATH],
        "operation": request.endpoint,
        "status": response.status_code,
        "bytes_in": request.content_length,
        "bytes_out": response.content_length,
        "key": g.get("key"),
        "client": request.remote_addr,
        "waited_ms": None if waited_s is None else round(waited_s * 1e3, 3),
    }
    noted: dict[str, Any] = g.get("noted", {})
    return {name: value for name, value in fields.items() if value is not None} | noted


def log_refusal(counted: Metrics | None, client: str | None, status: int, request_id: str) -> None:
    """The line of a request that never got to the application, and its count."""
    if counted:
        counted.count("none", "other", status)
    fields = {"request_id": request_id, "status": int(status), "client": client}
    log.info("refused", extra={FIELDS: {name: value for name, value in fields.items() if value is not None}})
