"""What both clients promise those who run them unattended, against a real server that misbehaves."""

from __future__ import annotations

import logging
import re
import time
from threading import Timer
from typing import Any
from uuid import UUID

import pytest
import requests

from rimpoise import (
    AnswerError,
    Call,
    ConnectionFailed,
    Hooks,
    ProblemError,
    Retry,
    RimpoiseError,
    ServerError,
    TimedOut,
    Unavailable,
)
from tests.client.misbehaving import (
    HANG_S,
    KEY,
    QUICK,
    Ask,
    Server,
    both,
    break_off,
    busy,
    garble,
    hang_up,
    html,
    long,
    say_nothing,
    speak_no_http,
    stall,
    stall_late,
    trickle,
    trickle_head,
    with_threads,
)
from tests.load.service import until


@both
def test_a_question_is_answered(ask: Ask, server: Server) -> None:
    answer = ask(server.url)
    assert answer.corrections[0].mass_g == 30
    assert (server.seen[0][:2], server.header("Content-Type")) == (
        ("POST", "/v1/corrections"),
        "application/json",
    )


@both
@pytest.mark.parametrize("trouble", [busy("0"), busy("0", 429), html(502), html(504), hang_up, break_off])
def test_passing_trouble_is_lived_through(ask: Ask, trouble: Any, server: Server) -> None:
    server.script = [trouble, trouble]
    answer = ask(server.url, retries=QUICK)
    assert answer.response is not None
    assert (answer.response.tries, len(server.seen)) == (3, 3)
    ids = [
        value for _, _, headers in server.seen for name, value in headers.items() if name.lower() == "x-request-id"
    ]
    assert (len(ids), len(set(ids))) == (3, 1)


@both
@pytest.mark.parametrize(
    ("trouble", "error", "timeout"),
    [
        (hang_up, ConnectionFailed, HANG_S),
        (break_off, ConnectionFailed, HANG_S),
        (garble, ConnectionFailed, HANG_S),
        (speak_no_http, ConnectionFailed, HANG_S),
        (say_nothing, TimedOut, 0.2),
        (stall, TimedOut, 0.2),
    ],
)
def test_why_no_answer_came(
    ask: Ask, trouble: Any, error: type[RimpoiseError], timeout: float, server: Server
) -> None:
    server.script = [trouble]
    with pytest.raises(error) as raised:
        ask(server.url, retries=0, timeout=timeout)
    assert until(lambda: bool(server.seen))
    assert raised.value.request_id == server.header("X-Request-Id")
    assert raised.value.response is None
    assert re.fullmatch(rf"{server.url}/v1/corrections: \w.{{,300}}", text := str(raised.value))
    assert text.isprintable()


@both
@pytest.mark.parametrize("trouble", [trickle, trickle_head, stall_late, say_nothing])
def test_whatever_trickles_in_ends_at_the_deadline(ask: Ask, trouble: Any, server: Server) -> None:
    server.script = [trouble]
    start = time.monotonic()
    with pytest.raises(TimedOut, match="no whole answer"):
        ask(server.url, timeout=HANG_S, deadline=0.3, retries=0)
    assert 0.3 <= time.monotonic() - start < HANG_S / 2


def test_a_last_wait_that_ends_before_the_timer_has_met_the_deadline(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both are set to the same moment; whichever is first, it is the deadline that was met."""
    monkeypatch.setattr("rimpoise.deadline.Timer", lambda left_s, end: Timer(left_s + HANG_S, end))
    server.script = [say_nothing]
    with pytest.raises(TimedOut, match="no whole answer"):
        with_threads(server.url, timeout=2.0, deadline=0.3, retries=0)


def test_with_a_session_of_the_callers_a_body_has_a_deadline(server: Server) -> None:
    server.script = [trickle]
    start = time.monotonic()
    with requests.Session() as session, pytest.raises(TimedOut):
        with_threads(server.url, timeout=HANG_S, deadline=0.3, retries=0, session=session)
    assert time.monotonic() - start < HANG_S / 2


@both
def test_repeats_and_waits_end_at_the_deadline(ask: Ask, server: Server) -> None:
    server.script = [busy("20")]
    with pytest.raises(Unavailable):
        ask(server.url, deadline=10.0, retries=QUICK)
    assert len(server.seen) == 1


@both
@pytest.mark.parametrize("coding", ["", "gzip"])
def test_an_answer_without_end_is_not_read(ask: Ask, coding: str, server: Server) -> None:
    server.script = [long(3_000_000, coding)]
    with pytest.raises(AnswerError, match="longer than 1000000 bytes") as raised:
        ask(server.url, max_bytes=1_000_000)
    assert (raised.value.status, len(server.seen)) == (200, 1)
    assert raised.value.request_id == server.header("X-Request-Id")


@both
def test_an_answer_says_what_it_came_with(ask: Ask, server: Server) -> None:
    response = ask(server.url).response
    assert response is not None
    assert (response.status, response.tries, response.header("content-type")) == (200, 1, "application/json")
    assert response.request_id == server.header("X-Request-Id") == str(UUID(response.request_id))
    assert response.elapsed_s > 0


@both
def test_the_id_that_the_service_says_counts(ask: Ask, server: Server) -> None:
    server.script = [lambda h: h.answer(500, "text/plain", b"", X_Request_Id="9b2f")]
    with pytest.raises(ServerError) as raised:
        ask(server.url)
    assert raised.value.request_id == "9b2f"
    assert raised.value.response is not None
    assert raised.value.response.status == 500


@both
def test_every_try_is_logged_without_the_key(ask: Ask, server: Server, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG, "rimpoise")
    server.script = [busy("0")]
    answer = ask(server.url, retries=QUICK, api_key=KEY)
    ours = [(r.levelname, r.getMessage()) for r in caplog.records if r.name == "rimpoise"]
    assert [level for level, _ in ours] == ["DEBUG", "INFO", "DEBUG"]
    assert "503" in ours[0][1]
    assert "again in" in ours[1][1]
    assert answer.response is not None
    assert answer.response.request_id in ours[2][1]
    assert KEY not in repr(ours)


def test_nothing_is_printed_where_nobody_listens() -> None:
    assert logging.getLogger("rimpoise").handlers


@both
def test_hooks_see_every_try(ask: Ask, server: Server) -> None:
    seen: list[tuple[Any, ...]] = []

    def before(call: Call) -> Call:
        seen.append(("before", call.request_id))
        return Call(call.method, call.url, {**call.headers, "traceparent": f"00-{len(seen)}"}, call.body)

    hooks = Hooks(
        before,
        lambda call, _, took_s: seen.append(("after", call.headers["traceparent"], took_s >= 0)),
        lambda _, outcome, wait_s: seen.append(("retry", outcome.status, wait_s)),  # type: ignore[union-attr]
    )
    server.script = [busy("0")]
    answer = ask(server.url, retries=Retry(1, first_wait_s=0), hooks=hooks)
    assert answer.response is not None
    number = answer.response.request_id
    assert seen == [
        ("before", number),
        ("after", "00-1", True),
        ("retry", 503, 0.0),
        ("before", number),
        ("after", "00-4", True),
    ]
    assert server.header("traceparent") == "00-4"


@both
def test_what_a_hook_raises_reaches_the_caller(ask: Ask, server: Server) -> None:
    def refuse(_: Call) -> Call:
        raise LookupError("no span")

    with pytest.raises(LookupError, match="no span"):
        ask(server.url, hooks=Hooks(before=refuse))
    assert server.seen == []


@both
def test_a_deprecated_operation_is_reported(ask: Ask, server: Server, caplog: pytest.LogCaptureFixture) -> None:
    ends = "Fri, 01 Jan 2027 00:00:00 GMT"
    server.script = [lambda h: h.answer(503, "text/plain", b"", Deprecation="@1767225600", Sunset=ends)]
    ask(server.url, retries=QUICK)
    (warning,) = [r for r in caplog.records if r.levelno == logging.WARNING]
    assert f"it ends: {ends}" in warning.getMessage()


def test_errors_without_a_reply_have_an_id_too() -> None:
    with pytest.raises(RimpoiseError) as raised:
        with_threads("http://127.0.0.1:1", retries=0)
    assert UUID(raised.value.request_id or "")
    assert not isinstance(raised.value, ProblemError)
