"""Any number of plans: in order, a few requests at once, retried for themselves, bad ones in their places."""

from __future__ import annotations

import asyncio
import itertools
import json
import threading
from collections.abc import Iterator
from dataclasses import replace

import pytest

from rimpoise import (
    AnswerError,
    AsyncClient,
    Call,
    Client,
    ConnectionFailed,
    PlanRequest,
    PlanResult,
    Preferences,
    Reply,
    Retry,
    TimedOut,
    TooLarge,
)
from rimpoise.batches import in_order
from tests.client.invented import QUESTION

NO_WAIT = Retry(2, first_wait_s=0)
PROBLEM = {"Content-Type": "application/problem+json"}


BLANK: dict[str, object] = {"type": "about:blank", "title": "", "status": 400, "instance": "", "errors": []}


class Service(Client):
    """Answers every plan with a problem that names its reference; limits and failures as a test wants them."""

    def __init__(
        self, *, most: int = 1000, failures: int = 0, retries: Retry = NO_WAIT, second_first: bool = False
    ) -> None:
        super().__init__("http://service.test", retries=retries)
        self.most, self.failures = most, failures
        self.second_first, self.second_answered = second_first, threading.Event()
        self.requested: list[int] = []
        self.lock = threading.Lock()
        self.now, self.most_at_once = 0, 0

    def send(self, call: Call) -> Reply:
        """Count, fail or answer; with ``second_first`` the first call is answered after the second."""
        plans = json.loads(call.body or b"")["plans"]
        with self.lock:
            self.now += 1
            self.most_at_once = max(self.most_at_once, self.now)
            self.requested.append(len(plans))
            fails, self.failures = self.failures > 0, self.failures - 1
            number = len(self.requested)
        if self.second_first:
            if number == 1:
                assert self.second_answered.wait(timeout=30)
            elif number == 2:
                self.second_answered.set()
        with self.lock:
            self.now -= 1
        if fails:
            raise ConnectionFailed("refused")
        if len(plans) > self.most:
            return Reply(413, PROBLEM, b"{}")
        results = [
            {"index": i, "plan": None, "problem": BLANK | {"detail": plan["reference"]}}
            for i, plan in enumerate(plans)
        ]
        return Reply(200, {"Content-Type": "application/json"}, json.dumps({"results": results}).encode())


def questions(count: int) -> Iterator[PlanRequest]:
    """So many, told apart by their reference."""
    return (replace(QUESTION, reference=str(n)) for n in range(count))


def reported(results: Iterator[PlanResult]) -> list[tuple[int, str | None]]:
    """What can be compared of results."""
    return [(r.index, r.problem.detail if r.problem else None) for r in results]


EXPECTED = [(n, str(n)) for n in range(23)]


@pytest.mark.parametrize(("chunk", "at_once"), [(1, 1), (1, 4), (5, 1), (5, 3), (23, 2), (1000, 8)])
def test_all_come_in_order(chunk: int, at_once: int) -> None:
    with Service(second_first=at_once > 1 and chunk < 23) as client:
        assert reported(client.plan_many(questions(23), chunk=chunk, at_once=at_once)) == EXPECTED
        assert sum(client.requested) == 23
        assert max(client.requested) <= chunk
        assert client.most_at_once <= at_once


def test_none_is_none() -> None:
    with Service() as client:
        assert list(client.plan_many([])) == []
        assert client.requested == []


def test_a_chunk_is_retried_for_itself() -> None:
    with Service(failures=2) as client:
        assert reported(client.plan_many(questions(23), chunk=10, at_once=1)) == EXPECTED
        assert client.requested == [10, 10, 10, 10, 3]


def test_a_chunk_that_fails_for_good_is_raised_after_those_before_it() -> None:
    with Service(retries=Retry(0)) as client:
        results = client.plan_many(questions(100), chunk=10, at_once=1)
        first = [next(results) for _ in range(5)]
        client.failures = 1000
        with pytest.raises(ConnectionFailed):
            list(results)
        assert [r.index for r in first] == [0, 1, 2, 3, 4]
        assert len(client.requested) < 5, "nothing more is begun"


def test_a_chunk_that_is_too_large_is_halved() -> None:
    with Service(most=4) as client:
        assert reported(client.plan_many(questions(23), chunk=23, at_once=1)) == EXPECTED
    with Service(most=0) as client, pytest.raises(TooLarge):
        list(client.plan_many(questions(3)))


def test_a_question_that_cannot_be_sent_has_its_problem_in_its_place() -> None:
    requested = list(questions(23))
    requested[7] = replace(requested[7], preferences=Preferences(max_pieces_per_plane=float("nan")))  # type: ignore[arg-type]
    with Service() as client:
        results = list(client.plan_many(requested, chunk=5))
        assert sum(client.requested) == 22
    assert [r.index for r in results] == list(range(23))
    assert results[7].problem is not None
    assert [f.pointer for f in results[7].problem.errors] == ["#/preferences/max_pieces_per_plane"]
    assert reported(iter(results[:7] + results[8:])) == EXPECTED[:7] + EXPECTED[8:]


def test_progress_is_reported() -> None:
    seen: list[int] = []
    with Service() as client:
        list(client.plan_many(questions(23), chunk=10, progress=seen.append))
    assert seen == [10, 20, 23]


def test_questions_are_taken_as_they_are_needed() -> None:
    taken: list[int] = []

    def endless() -> Iterator[PlanRequest]:
        for n in range(10**9):
            taken.append(n)
            yield replace(QUESTION, reference=str(n))

    with Service() as client:
        results = client.plan_many(endless(), chunk=5, at_once=2)
        assert next(results).index == 0
        results.close()  # type: ignore[attr-defined]
    assert len(taken) <= 5 * 4


@pytest.mark.parametrize(("chunk", "at_once"), [(0, 1), (1001, 1), (5, 0)])
def test_odd_numbers_are_refused_at_once(chunk: int, at_once: int) -> None:
    with Service() as client, pytest.raises(ValueError, match="must be from 1"):
        client.plan_many([], chunk=chunk, at_once=at_once)


def test_too_few_results_are_not_what_the_contract_says() -> None:
    class Lazy(Service):
        def send(self, call: Call) -> Reply:  # noqa: ARG002
            """As if nothing had been requested."""
            return Reply(200, {"Content-Type": "application/json"}, b'{"results": []}')

    with Lazy() as client, pytest.raises(AnswerError, match="expected 5 results, got 0"):
        list(client.plan_many(questions(5)))


def test_a_failure_is_raised_in_its_place() -> None:
    def work(n: int) -> int:
        if n == 3:
            raise TimedOut("slow")
        return n

    results = in_order(range(10), work, 2)
    assert [next(results) for _ in range(3)] == [0, 1, 2]
    with pytest.raises(TimedOut):
        next(results)


def test_many_plans_are_the_plans_one_by_one(live: Client) -> None:
    requested = [
        QUESTION,
        replace(QUESTION, inspection=["low_pressure", "none"]),
        replace(QUESTION, preferences=Preferences("clean_face")),
    ] * 3
    results = list(live.plan_many(requested, chunk=2, at_once=2))
    alone = live.plan(QUESTION)
    assert [r.plan == alone for r in results] == [True, False, False] * 3
    assert results[5].plan == live.plan(requested[2])
    assert results[1].plan is None
    assert results[1].problem is not None
    assert [f.rule for f in results[1].problem.errors] == ["inspection_none_alone"]


def seven_and_a_fault() -> Iterator[PlanRequest]:
    """Questions that break off."""
    yield from questions(7)
    raise OSError("the file ends here")


def test_what_is_answered_comes_before_what_the_questions_raise() -> None:
    with Service() as client:
        results = client.plan_many(seven_and_a_fault(), chunk=2, at_once=3)
        assert reported(itertools.islice(results, 7)) == EXPECTED[:7]
        with pytest.raises(OSError, match="the file ends here"):
            next(results)


def test_what_is_answered_comes_before_what_stops_a_halved_request() -> None:
    class Closing(Service):
        def send(self, call: Call) -> Reply:
            """Too large, well, gone."""
            if len(self.requested) == 2:
                raise ConnectionFailed("gone")
            return super().send(call)

    with Closing(most=4, retries=Retry(0)) as client:
        results = client.plan_many(questions(8), chunk=8, at_once=1)
        assert reported(itertools.islice(results, 4)) == EXPECTED[:4]
        with pytest.raises(ConnectionFailed, match="gone"):
            next(results)


def test_each_result_says_what_it_came_with() -> None:
    with Service() as client:
        first, *_, last = client.plan_many(questions(4), chunk=2, at_once=1)
    assert first.response is not None
    assert last.response is not None
    assert first.response.request_id != last.response.request_id


class AsyncService(AsyncClient):
    """Answers as the other one does, by way of it."""

    def __init__(self, service: Service) -> None:
        super().__init__("http://service.test", retries=NO_WAIT)
        self.service = service

    async def send(self, call: Call) -> Reply:
        """After everybody else had a turn."""
        await asyncio.sleep(0)
        return self.service.send(call)


@pytest.mark.parametrize(("chunk", "at_once"), [(1, 1), (1, 4), (5, 3), (23, 2)])
def test_all_come_in_order_from_asyncio(chunk: int, at_once: int) -> None:
    async def ask(service: Service) -> list[PlanResult]:
        async with AsyncService(service) as client:
            return [r async for r in client.plan_many(questions(23), chunk=chunk, at_once=at_once)]

    with Service(most=4, failures=1) as service:
        assert reported(iter(asyncio.run(ask(service)))) == EXPECTED


def test_what_is_answered_comes_first_from_asyncio_too() -> None:
    async def ask(service: Service) -> list[PlanResult]:
        async with AsyncService(service) as client:
            results = client.plan_many(seven_and_a_fault(), chunk=2, at_once=3)
            found = [await anext(results) for _ in range(7)]
            with pytest.raises(OSError, match="the file ends here"):
                await anext(results)
            with pytest.raises(ValueError, match="must be from 1"):
                client.plan_many([], chunk=0)
        return found

    with Service() as service:
        assert reported(iter(asyncio.run(ask(service)))) == EXPECTED[:7]


def test_an_asyncio_iterator_that_is_left_stops_asking() -> None:
    async def ask(service: Service) -> None:
        async with AsyncService(service) as client:
            results = client.plan_many(questions(1000), chunk=1, at_once=2)
            assert (await anext(results)).index == 0
            await results.aclose()  # type: ignore[attr-defined]

    with Service() as service:
        asyncio.run(ask(service))
        assert len(service.requested) <= 4
