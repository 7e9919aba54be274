"""From reply to value or exception, without a wire."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
import requests
from requests.adapters import HTTPAdapter

from rimpoise import (
    AnswerError,
    BadRequest,
    Fault,
    NotFound,
    Plan,
    ProblemError,
    Reply,
    RuleBroken,
    ServerError,
    TooLarge,
    TooManyRequests,
    Unavailable,
)
from rimpoise.http import Call
from rimpoise.session import exchange
from rimpoise.transport import EXCERPT_BYTES, check_length, read_reply

NOW = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
PROBLEM_HEADERS = {"Content-Type": "application/problem+json"}
PROBLEM = {
    "type": "/problems/rule-broken",
    "title": "A rule is broken",
    "status": 422,
    "detail": "1 fault.",
    "instance": "urn:uuid:5",
    "errors": [{"pointer": "#/planes/1/position_mm", "detail": "0 mm apart", "rule": "planes_apart"}],
}


def problem(status: int, **headers: str) -> Reply:
    """A problem reply."""
    return Reply(status, PROBLEM_HEADERS | headers, json.dumps(PROBLEM | {"status": status}).encode())


def test_a_good_reply_is_its_value(plan_json: dict[str, Any], ok: Callable[[Any], Reply]) -> None:
    assert read_reply(ok(plan_json), Plan, NOW).decision == "fit"


@pytest.mark.parametrize(
    ("status", "kind"),
    [
        (400, BadRequest),
        (404, NotFound),
        (405, ProblemError),
        (413, TooLarge),
        (415, ProblemError),
        (422, RuleBroken),
        (429, TooManyRequests),
        (500, ServerError),
        (502, ServerError),
        (503, Unavailable),
    ],
)
def test_each_status_is_its_kind_of_problem(status: int, kind: type[ProblemError]) -> None:
    with pytest.raises(ProblemError) as raised:
        read_reply(problem(status), Plan, NOW)
    assert type(raised.value) is kind
    assert raised.value.status == status


def test_a_problem_is_reported_whole() -> None:
    with pytest.raises(RuleBroken) as raised:
        read_reply(problem(422), Plan, NOW)
    error = raised.value
    assert (error.type, error.title, error.detail) == ("/problems/rule-broken", "A rule is broken", "1 fault.")
    assert (error.instance, error.retry_after) == ("urn:uuid:5", None)
    assert error.errors == (Fault("#/planes/1/position_mm", "0 mm apart", "planes_apart"),)


@pytest.mark.parametrize(
    ("header", "seconds"), [("7", 7.0), ("Mon, 01 Jun 2026 12:01:00 GMT", 60.0), ("soon", None)]
)
def test_a_problem_says_when_to_ask_again(header: str, seconds: float | None) -> None:
    with pytest.raises(TooManyRequests) as raised:
        read_reply(problem(429, **{"retry-after": header}), Plan, NOW)
    assert raised.value.retry_after == seconds


def test_the_least_problem_that_rfc_9457_allows_is_enough() -> None:
    with pytest.raises(BadRequest, match=r"^400 Bad Request$") as raised:
        read_reply(Reply(400, PROBLEM_HEADERS, b"{}"), Plan, NOW)
    assert raised.value.type == "about:blank"


JSON = "application/json"


@pytest.mark.parametrize(
    ("status", "content_type", "body", "error"),
    [
        (502, "text/html", b"<h1>Bad gateway</h1>", ServerError),
        (503, "text/html", b"<h1>Down for a moment</h1>", Unavailable),
        (429, "text/plain", b"slow down", TooManyRequests),
        (400, JSON, b"{}", BadRequest),
        (500, "application/problem+json", b'{"title": 5}', ServerError),
        (413, "application/problem+json", b"\xff", TooLarge),
        (422, "application/problem+json", b"[]", RuleBroken),
    ],
)
def test_an_error_is_chosen_by_its_status_whatever_the_body(
    status: int, content_type: str, body: bytes, error: type[ProblemError]
) -> None:
    headers = {"Content-Type": content_type, "Retry-After": "7"}
    with pytest.raises(error) as raised:
        read_reply(Reply(status, headers, body), Plan, NOW)
    assert type(raised.value) is error
    assert (raised.value.status, raised.value.retry_after, raised.value.type) == (status, 7.0, "about:blank")
    assert str(raised.value).startswith(f"{status} ")


@pytest.mark.parametrize(
    ("status", "content_type", "body", "says"),
    [
        (200, "text/html; charset=utf-8", b"<html>Sign in</html>", "expected application/json, got text/html"),
        (200, JSON, b"", "not JSON"),
        (200, JSON, b'{"decision": "fit"', "not JSON"),
        (200, JSON, b"\xff\xfe\x00", "not JSON"),
        (200, JSON, b"[" * 100_000, "not JSON"),
        (200, JSON, b"1" * 5_000, "not JSON"),
        (200, JSON, b'{"gain": NaN}', "NaN is not JSON"),
        (200, JSON, b"[]", "expected an object, got an array"),
        (204, JSON, b"", "not JSON"),
    ],
)
def test_what_the_contract_does_not_know_is_an_answer_error(
    status: int, content_type: str, body: bytes, says: str
) -> None:
    with pytest.raises(AnswerError, match=says) as raised:
        read_reply(Reply(status, {"CONTENT-TYPE": content_type}, body), Plan, NOW)
    assert raised.value.status == status
    assert len(raised.value.excerpt) <= EXCERPT_BYTES


def test_a_reply_without_a_content_type_is_an_answer_error() -> None:
    with pytest.raises(AnswerError, match="got no content type"):
        read_reply(Reply(200, {}, b"{}"), Plan, NOW)


def test_a_missing_key_is_named(plan_json: dict[str, Any], ok: Callable[[Any], Reply]) -> None:
    del plan_json["recommended"]["pieces"][1]["angle_deg"]
    with pytest.raises(AnswerError, match="is missing") as raised:
        read_reply(ok(plan_json), Plan, NOW)
    assert raised.value.pointer == "#/recommended/pieces/1/angle_deg"


def test_a_redirect_says_where_to() -> None:
    reply = Reply(308, {"Location": "https://elsewhere.test/v1/plans"})
    with pytest.raises(AnswerError, match=r"redirected to https://elsewhere\.test/v1/plans"):
        read_reply(reply, Plan, NOW)


class Listening(HTTPAdapter):
    """Answers everything, and keeps what it was told to trust."""

    def __init__(self) -> None:
        super().__init__()
        self.trusted: list[object] = []

    def send(self, request: requests.PreparedRequest, **options: Any) -> requests.Response:  # type: ignore[override]
        """Nothing goes out."""
        self.trusted.append(options["verify"])
        answer = requests.Response()
        answer.status_code, answer.url, answer.raw = 200, request.url or "", io.BytesIO(b"{}")
        return answer


@pytest.mark.parametrize(
    ("own", "trusted"),
    [(True, "/etc/machine.pem"), ("/etc/shop.pem", "/etc/shop.pem"), (False, False)],
)
def test_what_a_session_trusts_is_trusted(
    own: bool | str, trusted: bool | str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its own certificate counts before the machine's; the machine's before the library's."""
    monkeypatch.setenv("REQUESTS_CA_BUNDLE", "/etc/machine.pem")
    session, listening = requests.Session(), Listening()
    session.verify = own
    session.mount("https://", listening)
    reply = exchange(session, Call("GET", "https://shop.example/version"))
    assert reply.body == b"{}"
    assert listening.trusted == [trusted]


def test_the_longest_answer_that_is_read_is_read() -> None:
    check_length(Call("GET", "/", max_bytes=5), 200, 5)
    with pytest.raises(AnswerError, match="longer than 5 bytes"):
        check_length(Call("GET", "/", max_bytes=5), 200, 6)


def test_what_a_problem_leaves_open_is_known_by_its_status() -> None:
    """A member that is null is as good as absent (RFC 9457, section 3.1, has all of them optional)."""
    body = json.dumps({"title": None, "type": None, "detail": "asked too often"}).encode()
    with pytest.raises(TooManyRequests) as raised:
        read_reply(Reply(429, PROBLEM_HEADERS, body), Plan, NOW)
    found = raised.value
    assert (found.type, found.title, found.detail) == ("about:blank", "Too Many Requests", "asked too often")
