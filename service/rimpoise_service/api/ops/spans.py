"""Spans for OpenTelemetry: one for each request, and one in it for what it computed.

They go where OpenTelemetry's own variables say (``OTEL_EXPORTER_OTLP_ENDPOINT`` and the like); without these, or
without the extra ``otel``, nothing is made. Names of attributes are those of its semantic conventions for HTTP.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from opentelemetry.trace import Span, Tracer

WANTED = ("OTEL_EXPORTER_OTLP_ENDPOINT", "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT")
"""Variables of OpenTelemetry that say where to send spans."""

PATIENCE = ("OTEL_EXPORTER_OTLP_TRACES_TIMEOUT", "OTEL_EXPORTER_OTLP_TIMEOUT")
PATIENCE_S = 2.0
"""How long a collector gets for what it is sent [s]: as the first of these variables says that is set, or this. A
worker that ends waits."""

NAMES = {
    "method": "http.request.method",
    "path": "url.path",
    "status": "http.response.status_code",
    "client": "client.address",
    "request_id": "rimpoise.request_id",
    "operation": "rimpoise.operation",
    "key": "rimpoise.key",
    "decision": "rimpoise.decision",
    "work": "rimpoise.work",
    "waited_ms": "rimpoise.waited_ms",
}
"""What of a request's line in the log its span has too, and as what."""

_api = find_spec("opentelemetry") is not None


def installed() -> bool:
    """Whether what sends spans is."""
    return _api and find_spec("opentelemetry.exporter.otlp.proto.http") is not None


def problem(environ: Mapping[str, str]) -> str | None:
    """What is wrong where the environment says that spans are sent, and what to write; None if nothing is."""
    if not wanted(environ):
        return None
    if not installed():
        return f"{WANTED[0]} is set, but what sends spans is missing: install the extra otel"
    for name in WANTED:
        if not (environ.get(name) or "http://").startswith(("http://", "https://")):
            return f"{name} must be a URL, such as http://127.0.0.1:4318"
    try:
        good = 0 < _patience_s(environ) < math.inf
    except ValueError:
        good = False
    return None if good else f"{' and '.join(PATIENCE)} must be seconds above 0, such as 2 or 0.5"


def _patience_s(environ: Mapping[str, str]) -> float:
    """Raises ValueError."""
    return float(next(filter(None, map(environ.get, PATIENCE)), PATIENCE_S))


def start(environ: Mapping[str, str]) -> None:
    """Send spans from now on, if the environment says where; in each worker. Raises ModuleNotFoundError."""
    if not wanted(environ):
        return
    from opentelemetry import trace
    from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter
    from opentelemetry.sdk.resources import Resource
    from opentelemetry.sdk.trace import TracerProvider
    from opentelemetry.sdk.trace.export import BatchSpanProcessor

    name = environ.get("OTEL_SERVICE_NAME") or "rimpoise"
    provider = TracerProvider(resource=Resource.create({"service.name": name}))
    provider.add_span_processor(BatchSpanProcessor(OTLPSpanExporter(timeout=_patience_s(environ))))
    trace.set_tracer_provider(provider)


def wanted(environ: Mapping[str, str]) -> bool:
    """Whether the environment says where to send spans."""
    return any(environ.get(name) for name in WANTED)


def begin(headers: Mapping[str, str], operation: str) -> Span | None:
    """The span of a request, part of its caller's trace; None without OpenTelemetry."""
    if not _api:
        return None
    from opentelemetry import propagate, trace

    context = propagate.extract({name.lower(): value for name, value in headers.items()})
    return _tracer().start_span(operation, context=context, kind=trace.SpanKind.SERVER)


def end(span: Span | None, fields: Mapping[str, Any]) -> None:
    """The end of a request, with what its line in the log says."""
    if span is None or not span.is_recording():
        return
    from opentelemetry.trace import StatusCode

    span.set_attributes({NAMES[name]: value for name, value in fields.items() if name in NAMES})
    if fields["status"] >= 500:
        span.set_status(StatusCode.ERROR)
    span.end()


def trace_id(span: Span | None) -> str | None:
    """The id of the trace that a span is recorded in; None if it is not."""
    return f"{span.get_span_context().trace_id:032x}" if span is not None and span.is_recording() else None


@contextmanager
def computing(span: Span | None) -> Iterator[None]:
    """Within the span of a request: what it computes."""
    if span is None:
        yield
        return
    from opentelemetry.trace import set_span_in_context

    with _tracer().start_as_current_span("compute", context=set_span_in_context(span)):
        yield


def _tracer() -> Tracer:
    from opentelemetry import trace

    return trace.get_tracer("rimpoise_service")
