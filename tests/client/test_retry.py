"""What is worth asking again, how long to wait, and when to stop: all without waiting."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from rimpoise import Call, ConnectionFailed, Reply, Retry, TimedOut, TransportError
from rimpoise.retry import Outcome, course, follow, retry_after_s, worth_repeating

NOW = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
GOOD = Reply(200)
DOWN = ConnectionFailed("refused")


def test_only_the_passing_troubles_of_a_service_are_worth_repeating() -> None:
    assert {status for status in range(100, 600) if worth_repeating(Reply(status))} == {429, 502, 503, 504}


@pytest.mark.parametrize(
    ("error", "expected"), [(DOWN, True), (TimedOut("slow"), True), (TransportError("no such scheme"), False)]
)
def test_only_lost_connections_and_timeouts_are_worth_repeating(error: TransportError, expected: bool) -> None:
    assert worth_repeating(error) is expected


class Course:
    """Follows a call's course over a script, with luck at its largest, and keeps the waits [s]."""

    def __init__(self, *script: Outcome, retry: Retry) -> None:
        self.waits: list[float] = []
        self.left = list(script)
        steps = course(Call("GET", "/"), retry, luck=lambda: 1.0, now=lambda: NOW)
        self.outcome = follow(steps, self.attempt, self.waits.append).outcome

    def attempt(self, _: Call) -> Outcome:
        """The next outcome."""
        return self.left.pop(0)


def test_the_first_good_outcome_ends_it() -> None:
    course = Course(DOWN, Reply(503), TimedOut("slow"), GOOD, GOOD, retry=Retry())
    assert course.outcome is GOOD
    assert course.waits == [0.25, 0.5, 1.0]
    assert course.left == [GOOD]


def test_the_last_outcome_is_reported_when_patience_ends() -> None:
    last = Reply(503)
    course = Course(DOWN, DOWN, DOWN, last, GOOD, retry=Retry(3))
    assert course.outcome is last
    assert len(course.waits) == 3


def test_what_is_not_worth_repeating_is_not_repeated() -> None:
    for outcome in (Reply(400), Reply(422), Reply(500), TransportError("odd")):
        course = Course(outcome, GOOD, retry=Retry())
        assert (course.outcome, course.waits) == (outcome, [])


def test_no_retries_means_one_attempt() -> None:
    assert Course(DOWN, GOOD, retry=Retry(0)).outcome is DOWN


def test_waits_grow_to_the_longest() -> None:
    course = Course(*[DOWN] * 6, GOOD, retry=Retry(6, first_wait_s=1, longest_wait_s=5))
    assert course.waits == [1, 2, 4, 5, 5, 5]


def test_a_retry_after_is_obeyed_where_it_asks_for_more() -> None:
    later = "Mon, 01 Jun 2026 12:00:04 GMT"
    course = Course(Reply(429, {"retry-after": "3"}), Reply(503, {"Retry-After": later}), GOOD, retry=Retry())
    assert course.waits == [3.0, 4.0]
    assert Course(Reply(503, {"Retry-After": "0"}), GOOD, retry=Retry()).waits == [0.25]


def test_a_retry_after_beyond_all_patience_ends_it_at_once() -> None:
    requested = Reply(429, {"Retry-After": "3600"})
    course = Course(requested, GOOD, retry=Retry(total_wait_s=30))
    assert (course.outcome, course.waits) == (requested, [])


@given(
    times=st.integers(0, 20),
    first=st.floats(0, 10),
    longest=st.floats(0, 20),
    total=st.floats(0, 60),
    requested=st.lists(st.none() | st.integers(0, 100), min_size=21, max_size=21),
)
def test_attempts_and_waits_are_bounded(
    times: int, first: float, longest: float, total: float, requested: list[int | None]
) -> None:
    replies = [Reply(503, {} if s is None else {"Retry-After": str(s)}) for s in requested]
    course = Course(*replies, retry=Retry(times, first, longest, total))
    assert len(course.waits) <= times
    assert len(replies) - len(course.left) == len(course.waits) + 1
    assert sum(course.waits) <= total + 1e-9
    assert all(wait <= max(longest, *(s or 0 for s in requested)) for wait in course.waits)


def test_bad_luck_at_most_doubles_the_wait_of_good_luck() -> None:
    waits: Callable[[float], float | None] = lambda luck: Retry(first_wait_s=2).wait_s(0, 0, None, luck)  # noqa: E731
    assert (waits(0.0), waits(1.0)) == (1.0, 2.0)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (None, None),
        ("", None),
        ("0", 0.0),
        (" 12 ", 12.0),
        ("-5", None),
        ("1.5", None),
        ("1e3", None),
        ("٣", None),
        ("9" * 400, None),
        ("tomorrow", None),
        ("Mon, 01 Jun 2026 12:00:30 GMT", 30.0),
        ("Mon, 01 Jun 2026 12:00:30 -0000", 30.0),
        ("Mon, 01 Jun 2026 14:00:30 +0200", 30.0),
        ("Monday, 01-Jun-26 12:00:30 GMT", 30.0),
        ("Mon, 01 Jun 2020 12:00:00 GMT", 0.0),
        ("Mon, 99 Jun 2026 12:00:30 GMT", None),
        ("Mon, 01 Jun 99999999999999 12:00:30 GMT", None),
        ("Mon, 01 Jun 2026 12:00:30 +99999999999999999", None),
    ],
)
def test_retry_after_in_both_its_forms_and_none(value: str | None, expected: float | None) -> None:
    assert retry_after_s(value, NOW) == expected


@example("0\x1f")
@given(st.text())
def test_no_retry_after_breaks_the_reading(value: str) -> None:
    seconds = retry_after_s(value, NOW)
    assert seconds is None or seconds >= 0
