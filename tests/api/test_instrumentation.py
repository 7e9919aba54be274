"""Request ids, the trace context, log lines and metrics."""

from __future__ import annotations

import json
import logging
import subprocess
import sys
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from flask.testing import FlaskClient
from werkzeug.datastructures import Headers

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops.instrumentation import METRICS
from rimpoise_service.api.ops.json_logs import JsonLines, PlainLines, configuration
from rimpoise_service.api.ops.settings import Settings
from rimpoise_service.api.ops.trace_context import trace_of
from tests.api.fixture_types import Example

PARENT = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01"
"""W3C Trace Context, section 3.2.3, the examples."""


def test_a_request_id_is_made_if_none_comes(client: FlaskClient) -> None:
    ids = {client.get("/healthz").headers["X-Request-Id"] for _ in range(3)}
    assert len({UUID(one) for one in ids}) == 3


@pytest.mark.parametrize(
    "sent", ["0e37df36-f698-11e6-8dd4-cb9ced3df976", "0E37DF36-F698-11E6-8DD4-CB9CED3DF976", "0" * 32]
)
def test_a_request_id_that_is_a_uuid_comes_back_as_it_was(sent: str, client: FlaskClient) -> None:
    assert client.get("/healthz", headers={"X-Request-Id": sent}).headers["X-Request-Id"] == sent


@pytest.mark.parametrize(
    "sent",
    [
        "1",
        "0e37df36-f698-11e6-8dd4-cb9ced3df976x",
        "{0e37df36-f698-11e6-8dd4-cb9ced3df976}",
        "0e37df36f698-11e6-8dd4-cb9ced3df976",
        "x" * 5000,
        "a'; --",
    ],
)
def test_any_other_request_id_is_replaced(sent: str, client: FlaskClient) -> None:
    reported = client.get("/healthz", headers={"X-Request-Id": sent}).headers["X-Request-Id"]
    assert reported != sent
    assert str(UUID(reported)) == reported


def test_a_problem_is_an_instance_of_the_request(client: FlaskClient) -> None:
    sent = "0e37df36-f698-11e6-8dd4-cb9ced3df976"
    response = client.get("/nowhere", headers={"X-Request-Id": sent.replace("-", "")})
    assert response.get_json()["instance"] == f"urn:uuid:{sent}"


def test_the_trace_context_goes_through(client: FlaskClient) -> None:
    response = client.get("/healthz", headers={"traceparent": PARENT, "tracestate": "vendor=1,other=2"})
    assert response.headers["traceparent"] == PARENT
    assert response.headers["tracestate"] == "vendor=1,other=2"


@pytest.mark.parametrize(
    "parent",
    [
        PARENT.upper(),
        "ff" + PARENT[2:],  # section 3.2.2.1: version ff is invalid
        "00-" + "0" * 32 + PARENT[35:],  # section 3.2.2.3: all zeros are invalid
        PARENT[:36] + "0" * 16 + PARENT[52:],
        PARENT + "-more",  # section 3.2.2.2: version 00 is exactly so long
        PARENT[:-1],
        "",
    ],
)
def test_a_trace_context_that_is_not_sound_is_dropped(parent: str) -> None:
    """W3C Trace Context, sections 3.2.2 and 3.3: a bad parent takes the state with it."""
    found = trace_of(Headers({"traceparent": parent, "tracestate": "vendor=1"}))
    assert (found.parent, found.state, found.trace_id) == (None, None, None)


@pytest.mark.parametrize("state", ["a\x85b", "\xa0", "x" * 513])
def test_a_trace_state_that_can_not_be_passed_on_is_dropped(state: str) -> None:
    found = trace_of(Headers({"traceparent": PARENT, "tracestate": state}))
    assert (found.parent, found.state) == (PARENT, None)


def test_a_later_version_of_the_trace_context_may_be_longer() -> None:
    """W3C Trace Context, section 4.3 on versioning."""
    assert trace_of(Headers({"traceparent": "01" + PARENT[2:] + "-more"})).trace_id == PARENT[3:35]


def fields_of(caplog: pytest.LogCaptureFixture) -> list[dict[str, Any]]:
    return [r.__dict__["fields"] for r in caplog.records if r.name == "rimpoise.request"]


def test_one_line_for_a_request(client: FlaskClient, example: Example, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.INFO)
    body = example("planFitting", "own_stock")
    response = client.post("/v1/plans", json=body, headers={"traceparent": PARENT, "Referer": "/?secret=1"})
    (line,) = fields_of(caplog)
    assert line.pop("ms") > 0
    assert line == {
        "request_id": response.headers["X-Request-Id"],
        "trace_id": PARENT[3:35],
        "method": "POST",
        "path": "/v1/plans",
        "operation": "planFitting",
        "status": 200,
        "bytes_in": len(json.dumps(body)),
        "bytes_out": len(response.data),
        "client": "127.0.0.1",
        "decision": response.get_json()["decision"],
    } | {k: v for k, v in line.items() if k in ("work", "bytes_in")}


def test_a_refused_query_is_not_logged(client: FlaskClient, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.INFO)
    assert client.get("/healthz?secret=1").status_code == 400
    (line,) = fields_of(caplog)
    assert (line["path"], line["status"]) == ("/healthz", 400)
    assert "secret" not in str(line)


def test_a_path_that_nobody_typed_is_cut(client: FlaskClient, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.INFO)
    client.get("/" + "x" * 3000)
    (line,) = fields_of(caplog)
    assert (line["status"], len(line["path"])) == (404, 200)
    assert "operation" not in line


def test_lines_are_json_with_the_request_and_the_exception() -> None:
    app = create_app()
    reported: list[str] = []

    def view() -> str:
        try:
            raise KeyError("café\n")
        except KeyError:
            record = logging.getLogger("x").makeRecord("x", 40, "", 0, "a %s", ("b\n",), sys.exc_info())
        reported.append(JsonLines().format(record))
        return ""

    app.add_url_rule("/view", "view", view)
    response = app.test_client().get("/view")
    (line,) = reported
    assert "\n" not in line
    found = json.loads(line)
    assert (found["level"], found["logger"], found["message"]) == ("error", "x", "a b\n")
    assert found["request_id"] == response.headers["X-Request-Id"]
    assert found["exception"].endswith("KeyError: 'café\\n'")


def test_the_logs_as_a_process_writes_them() -> None:
    code = (
        "import logging, logging.config\n"
        "from rimpoise_service.api.ops.json_logs import configuration\n"
        "from rimpoise_service.api.ops.settings import Settings\n"
        "logging.config.dictConfig(configuration(Settings(log_level='warning')))\n"
        "logging.getLogger('gunicorn.error').info('no')\n"
        "logging.getLogger('gunicorn.error').warning('yes')\n"
    )
    reported = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    (line,) = reported.stderr.splitlines()
    assert json.loads(line)["message"] == "yes"
    assert configuration(Settings(log_format="plain"))["handlers"]["stderr"]["formatter"] == "plain"


def samples(client: FlaskClient) -> dict[str, float]:
    lines = client.application.extensions[METRICS].text().splitlines()
    pairs = (line.rpartition(" ") for line in lines if not line.startswith("#"))
    return {name: float(value) for name, _, value in pairs}


def test_metrics_count_requests_latencies_and_decisions(example: Example) -> None:
    client = create_app().test_client()
    answer = client.post("/v1/plans", json=example("planFitting", "hidden")).get_json()
    client.post("/v1/plans", json={})
    client.get("/" + "x" * 100)
    client.get("/elsewhere")
    found = samples(client)
    assert found['rimpoise_requests_total{method="POST",operation="planFitting",status="200"}'] == 1
    assert found['rimpoise_requests_total{method="POST",operation="planFitting",status="400"}'] == 1
    assert found['rimpoise_requests_total{method="GET",operation="none",status="404"}'] == 2
    assert found['rimpoise_request_seconds_count{operation="planFitting"}'] == 2
    decided = f'rimpoise_decisions_total{{decision="{answer["decision"]}",operation="planFitting"}}'
    assert found[decided] == 1
    assert found["rimpoise_requests_under_way"] == 0
    assert found['rimpoise_search_work_sum{operation="planFitting"}'] > 0


def test_each_plan_of_a_batch_counts(example: Example) -> None:
    client = create_app().test_client()
    plans = [example("planFitting", "own_stock"), {}, example("planFitting", "own_stock")]
    with client.post("/v1/plans/batch", json={"plans": plans}) as response:
        first = response.get_json()["results"][0]["plan"]
    found = samples(client)
    decided = f'rimpoise_decisions_total{{decision="{first["decision"]}",operation="planBatch"}}'
    assert found[decided] == 2
    assert found['rimpoise_requests_total{method="POST",operation="planBatch",status="200"}'] == 1


def test_no_caller_can_make_series(client: FlaskClient) -> None:
    """Methods, paths and the like, as anybody can invent them."""
    client = create_app().test_client()

    def count() -> int:
        for n in range(20):
            client.open("/healthz", method=f"X{n}")
            client.open(f"/{n}", method=f"Y{n}", headers={"X-Request-Id": f"z{n}"})
        return len(samples(client))

    assert count() == count()
    assert samples(client)['rimpoise_requests_total{method="other",operation="none",status="405"}'] == 40
    assert client.get("/metrics").status_code == client.get("/%6detrics").status_code == 404


def test_waiting_for_the_turn_is_measured(example: Example) -> None:
    client = create_app().test_client()
    client.post("/v1/plans", json=example("planFitting", "hidden"))
    assert samples(client)['rimpoise_wait_seconds_count{wait="to compute"}'] == 1


def test_plain_lines_have_the_fields_too(caplog: pytest.LogCaptureFixture, client: FlaskClient) -> None:
    caplog.set_level(logging.INFO)
    reported = client.get("/healthz", headers={"Referer": "/?secret=1"}).headers["X-Request-Id"]
    record = next(r for r in caplog.records if r.getMessage() == "answered")
    (line,) = PlainLines("%(levelname)s %(message)s").format(record).splitlines()
    assert line.startswith(f'INFO answered request_id="{reported}" ')
    assert ' path="/healthz"' in line
    assert " status=200" in line
    assert "secret" not in line
    vars(record)["fields"]["path"] = "/\n\x1b"
    assert len(PlainLines("%(message)s").format(record).splitlines()) == 1


def test_a_refusal_for_want_of_room_is_no_fault_in_the_log(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    """Whoever is paged looks for level error."""
    client = create_app(Settings(drain_file=tmp_path)).test_client()  # it exists, so it drains
    caplog.set_level("INFO", "rimpoise.request")
    assert client.get("/readyz").status_code == 503
    assert [record.levelname for record in caplog.records] == ["INFO"]
