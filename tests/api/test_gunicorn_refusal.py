"""What the worker refuses before the application sees it, or beside it: a problem like any other."""

from __future__ import annotations

import json
from collections.abc import Iterator
from http.client import HTTPConnection
from uuid import UUID

import pytest

from rimpoise_service.api.ops.arrival import MAX_BODY
from tests.api.raw_callers import HEAD, LINES, answer, callers
from tests.load.service import Service, running

pytestmark = pytest.mark.slow  # it waits for time-outs more than it works


@pytest.fixture(scope="module")
def service() -> Iterator[Service]:
    with running(workers="1", threads="2", request_s="60") as one:
        yield one


def test_too_late_is_a_problem() -> None:
    with running(workers="1", threads="1", request_s="1") as service:
        with callers(service, HEAD + b"Content-Length: 9\r\n\r\n{", count=1) as (one,):
            status, headers, body = answer(one)
        assert (status, headers["content-type"]) == (408, "application/problem+json")
        assert json.loads(body)["type"] == "/problems/too-slow"


@pytest.mark.parametrize(
    ("data", "status"),
    [
        (HEAD + b"Content-Length: %d\r\n\r\n" % (MAX_BODY + 1), 413),
        (HEAD + b"X: " + b"x" * 40_000, 431),
        (b"GET /" + b"x" * 5000 + b" HTTP/1.1\r\n\r\n", 414),
        (b"GET / HTTP/9.9\r\n\r\n", 400),
        (b"GET /healthz HTTP/1.1\r\n\r\n", 400),
        (b"GET /healthz HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n", 400),
        (HEAD + b"Content-Length: 1\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", 400),
        (HEAD + b"Transfer-Encoding: chunked\r\n\r\nnonsense\r\n\r\n", 400),
        (HEAD + b"Transfer-Encoding: gzip, chunked\r\n\r\n0\r\n\r\n", 501),
        (HEAD + b"Transfer-Encoding: gzip\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", 501),
        (HEAD + b"Transfer-Encoding: chunked\r\n\r\n2\r\n{}..0\r\n\r\n", 400),
    ],
)
def test_what_never_gets_to_the_application_is_a_problem_too(service: Service, data: bytes, status: int) -> None:
    with callers(service, data, count=1) as (one,):
        found, headers, body = answer(one)
    assert (found, headers["content-type"]) == (status, "application/problem+json")
    assert headers["x-content-type-options"] == "nosniff"
    problem = json.loads(body)
    assert problem["instance"] == f"urn:uuid:{UUID(headers['x-request-id'])}"
    assert problem["status"] == status
    assert "queue" not in problem["detail"]


def test_before_1_1_no_host_need_be_named(service: Service) -> None:
    with callers(service, b"GET /healthz HTTP/1.0\r\n\r\n", count=1) as (one,):
        status, _, body = answer(one)
    assert (status, json.loads(body)["status"]) == (200, "ok")


BAD_CHUNKS = {
    "a trailer that is none": b"2\r\n{}\r\n0\r\nno trailer\r\n\r\n",
    "a trailer with a bare LF": b"2\r\n{}\r\n0\r\nA: 1\n\r\n\r\n",
    "an extension that is none": b'2;a="\r\n{}\r\n0\r\n\r\n',
    "a chunk that is longer than its size": b"2\r\n{}}\r\n0\r\n\r\n",
    "a negative size": b"-2\r\n{}\r\n0\r\n\r\n",
}


@pytest.mark.parametrize("body", BAD_CHUNKS.values(), ids=BAD_CHUNKS)
def test_malformed_chunks_are_a_400(service: Service, body: bytes) -> None:
    with callers(service, HEAD + b"Transfer-Encoding: chunked\r\n\r\n" + body, count=1) as (one,):
        status, headers, reported = answer(one)
    assert (status, headers["content-type"]) == (400, "application/problem+json")
    problem = json.loads(reported)
    assert (problem["status"], problem["type"]) == (400, "/problems/malformed-request")


def test_malformed_trailers_are_told_of_in_the_readers_language(service: Service) -> None:
    head = HEAD + b"Accept-Language: de\r\nTransfer-Encoding: chunked\r\n\r\n"
    with callers(service, head + BAD_CHUNKS["a trailer that is none"], count=1) as (one,):
        assert json.loads(answer(one)[2])["detail"].startswith("Die Blöcke")


@pytest.mark.parametrize("body", BAD_CHUNKS.values(), ids=BAD_CHUNKS)
def test_lines_in_malformed_chunks_end_with_a_400(service: Service, body: bytes) -> None:
    sent = LINES + b"Transfer-Encoding: chunked\r\n\r\n" + body
    with callers(service, sent, count=1) as (one,), one.makefile("rb") as file:
        reported = file.read()
    assert b" 500 " not in reported
    last = [line for line in reported.splitlines() if line.startswith(b"{")][-1]
    problem = json.loads(last)
    problem = problem.get("problem", problem)
    assert (problem["status"], problem["type"]) == (400, "/problems/malformed-request")


def test_who_sends_far_too_much_reads_why(service: Service) -> None:
    connection = HTTPConnection("127.0.0.1", service.port, timeout=30)
    connection.request("POST", "/v1/plans", b" " * 3 * MAX_BODY, {"Content-Type": "application/json"})
    assert connection.getresponse().status == 413
    connection.close()
