"""Spans for OpenTelemetry: what is in them, and that they come to where the environment says."""

from __future__ import annotations

import socket
import sys
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from queue import Queue
from typing import Any

import pytest
from flask.testing import FlaskClient
from opentelemetry.proto.collector.trace.v1.trace_service_pb2 import ExportTraceServiceRequest
from opentelemetry.sdk.trace import TracerProvider
from opentelemetry.sdk.trace.export import SimpleSpanProcessor
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter
from opentelemetry.trace import SpanKind, StatusCode

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops import spans
from tests.api.fixture_types import Example
from tests.load.service import PATIENCE_S, running
from tests.served import answering

PARENT = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"
"""W3C Trace Context, section 3.2.3, the examples."""


@pytest.fixture
def exported(monkeypatch: pytest.MonkeyPatch) -> InMemorySpanExporter:
    """Where spans go in a test."""
    exporter, provider = InMemorySpanExporter(), TracerProvider()
    provider.add_span_processor(SimpleSpanProcessor(exporter))
    monkeypatch.setattr(spans, "_tracer", lambda: provider.get_tracer("test"))
    return exporter


def test_a_request_and_what_it_computed(
    exported: InMemorySpanExporter, client: FlaskClient, example: Example
) -> None:
    headers = {"traceparent": PARENT, "Referer": "/?secret=1"}
    response = client.post("/v1/plans", json=example("planFitting", "own_stock"), headers=headers)
    inner, outer = exported.get_finished_spans()
    assert (inner.name, outer.name, outer.kind) == ("compute", "planFitting", SpanKind.SERVER)
    assert outer.parent is not None
    assert inner.parent is not None
    assert inner.parent.span_id == outer.context.span_id
    assert f"{outer.context.trace_id:032x}" == f"{inner.context.trace_id:032x}" == PARENT[3:35]
    assert f"{outer.parent.span_id:016x}" == PARENT[36:52]
    reported = dict(outer.attributes or {})
    assert reported.pop("client.address") == "127.0.0.1"
    work = reported.pop("rimpoise.work")
    assert isinstance(work, int)
    assert work > 0
    assert reported == {
        "http.request.method": "POST",
        "url.path": "/v1/plans",
        "http.response.status_code": 200,
        "rimpoise.request_id": response.headers["X-Request-Id"],
        "rimpoise.operation": "planFitting",
        "rimpoise.decision": response.get_json()["decision"],
    }


def test_a_fault_is_one(exported: InMemorySpanExporter, monkeypatch: pytest.MonkeyPatch) -> None:
    app = create_app()

    def broken() -> Any:
        raise RuntimeError

    monkeypatch.setitem(app.view_functions, "getHealth", broken)
    app.test_client().get("/healthz")
    app.test_client().get("/nowhere")
    fault, missing = exported.get_finished_spans()
    assert (fault.status.status_code, missing.status.status_code) == (StatusCode.ERROR, StatusCode.UNSET)


def test_a_batch_ends_with_its_last_line(exported: InMemorySpanExporter, example: Example) -> None:
    client = create_app().test_client()
    response = client.post("/v1/plans/batch", json=example("planBatch", "three_wheels"), buffered=False)
    assert exported.get_finished_spans() == ()
    response.close()
    assert [span.name for span in exported.get_finished_spans()] == ["planBatch"]


@pytest.fixture
def collector() -> Iterator[tuple[int, Queue[bytes]]]:
    """Its port, and what it was sent."""
    bodies: Queue[bytes] = Queue()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            bodies.put(self.rfile.read(int(self.headers["Content-Length"])))
            self.send_response(200)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            return

    server = HTTPServer(("127.0.0.1", 0), Handler)
    with answering(server):
        yield server.server_port, bodies


def test_they_come_to_where_the_environment_says(
    collector: tuple[int, Queue[bytes]], monkeypatch: pytest.MonkeyPatch
) -> None:
    port, bodies = collector
    monkeypatch.setenv("OTEL_EXPORTER_OTLP_ENDPOINT", f"http://127.0.0.1:{port}")
    monkeypatch.setenv("OTEL_EXPORTER_OTLP_COMPRESSION", "none")
    with running(workers="1"):
        pass  # its readiness was requested
    (resource,) = ExportTraceServiceRequest.FromString(bodies.get(timeout=PATIENCE_S)).resource_spans
    assert [a.value.string_value for a in resource.resource.attributes if a.key == "service.name"] == ["rimpoise"]
    span = resource.scope_spans[0].spans[0]
    assert span.name == "getReadiness"
    assert "rimpoise.waited_ms" in {a.key for a in span.attributes}


@pytest.mark.parametrize(
    ("environ", "said"),
    [
        ({}, None),
        ({"TIMEOUT": ""}, None),  # the specification on environment variables: as if it were not set
        ({"TIMEOUT": "0.5"}, None),
        ({"TRACES_TIMEOUT": "3", "TIMEOUT": "never"}, None),
        ({"TIMEOUT": "10s"}, "seconds above 0"),
        ({"TIMEOUT": "nan"}, "seconds above 0"),
        ({"TRACES_TIMEOUT": "0"}, "seconds above 0"),
        ({"TRACES_ENDPOINT": "collector:4318"}, "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT must be a URL, such as"),
    ],
)
def test_what_makes_no_sense_there_stops_the_start(environ: dict[str, str], said: str | None) -> None:
    """Else every worker failed as it began, with a traceback."""
    reported = {"ENDPOINT": "http://127.0.0.1:4318"} | environ
    problem = spans.problem({f"OTEL_EXPORTER_OTLP_{name}": text for name, text in reported.items()})
    assert (problem is None) if said is None else (said in str(problem))


@pytest.mark.slow
def test_a_collector_that_says_nothing_holds_nothing_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """The exporter's own patience is ten seconds."""
    with socket.create_server(("127.0.0.1", 0)) as mute:
        monkeypatch.setenv("OTEL_EXPORTER_OTLP_ENDPOINT", f"http://127.0.0.1:{mute.getsockname()[1]}")
        with running(workers="1") as service:
            assert service.stop() < 10


def test_without_the_packages_nothing_is_made(monkeypatch: pytest.MonkeyPatch, client: FlaskClient) -> None:
    monkeypatch.setattr(spans, "_api", False)
    assert client.get("/healthz").status_code == 200
    assert not spans.installed()
    assert spans.wanted({"OTEL_EXPORTER_OTLP_ENDPOINT": "http://127.0.0.1:4318"})
    assert not spans.wanted({})
    assert "install the extra otel" in str(spans.problem({"OTEL_EXPORTER_OTLP_ENDPOINT": "http://127.0.0.1:4318"}))
    assert "opentelemetry" in sys.modules  # it is there, and was not requested
