"""Any number of plans: in documents of limited size, a few requests at a time, in order."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, Generic, TypeAlias, TypeVar, cast

import rimpoise as nouns  # imported when they are used

from .encoding import Mismatch, to_json
from .errors import AnswerError, RimpoiseError, TooLarge, fault_in_words
from .values import changed, with_hidden

if TYPE_CHECKING:
    from .models.fitting_plan import PlanBatch, PlanBatchRequest, PlanResult
    from .models.shared import Problem

MAX_CHUNK = 1_000
"""The service takes no more plans in one document."""

T = TypeVar("T")
R = TypeVar("R")


PlanChunk: TypeAlias = (
    "Generator[PlanBatchRequest, PlanBatch | RimpoiseError | None, tuple[list[PlanResult], RimpoiseError | None]]"
)


def check_sizes(chunk: int, at_once: int) -> None:
    """Raise ValueError for what can't be sent or done at once."""
    if not 1 <= chunk <= MAX_CHUNK or at_once < 1:
        raise ValueError(f"chunk must be from 1 to {MAX_CHUNK} and at_once 1 or more: {chunk}, {at_once}")


def chunks(items: Iterable[T], size: int) -> Iterator[list[T]]:
    """The items in lists of that size, the last one shorter; what came before the items fail comes first, too.

    >>> list(chunks(range(5), 2))
    [[0, 1], [2, 3], [4]]
    """
    chunk: list[T] = []
    try:
        for item in items:
            chunk.append(item)
            if len(chunk) == size:
                yield chunk
                chunk = []
    except Exception:
        if chunk:
            yield chunk
        raise
    if chunk:
        yield chunk


class Source(Generic[T]):
    """Items as they are needed. A failure ends them and is kept, to be raised after the results before it."""

    def __init__(self, items: Iterable[T]) -> None:
        self.items, self.failure = items, cast("Exception | None", None)

    def __iter__(self) -> Iterator[T]:
        try:
            yield from self.items
        except Exception as error:
            self.failure = error


def in_order(items: Iterable[T], work: Callable[[T], R], at_once: int) -> Iterator[R]:
    """The results of work on each item, a few at a time, in the items' order; items are taken as they are needed.

    The first failure, of work or of the items, is raised in its place, after the results before it: calls under
    way are waited for, and no more are started.
    """
    source = Source(items)
    with ThreadPoolExecutor(at_once) as pool:
        waiting: deque[Future[R]] = deque()
        try:
            for item in source:
                waiting.append(pool.submit(work, item))
                if len(waiting) > at_once:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()
    if source.failure:
        raise source.failure


def plan_chunk(questions: Sequence[object]) -> PlanChunk:
    """The results of a chunk, in order, and what ended it, if anything did; without sending anything.

    Yields the requests to make, and is sent what came of each. One that is too large is halved; what can't be
    sent has its problem in its place.
    """
    problems = {i: p for i, q in enumerate(questions) if (p := unsendable(q))}
    results = {i: nouns.PlanResult(i, None, problem) for i, problem in problems.items()}
    waiting, error, end = [[i for i in range(len(questions)) if i not in problems]], None, len(questions)
    while waiting and not error:
        places = waiting.pop()
        if not places:
            continue
        answer = yield nouns.PlanBatchRequest(cast(Any, [questions[i] for i in places]))
        if isinstance(answer, TooLarge) and len(places) > 1:
            half = len(places) // 2
            waiting += [places[half:], places[:half]]
        elif error := _not_answered(answer, len(places)):
            end = places[0]
        else:
            results |= dict(zip(places, _results(cast("PlanBatch", answer)), strict=True))
    return [changed(results[i], index=i) for i in range(end)], error


def _not_answered(answer: PlanBatch | RimpoiseError | None, count: int) -> RimpoiseError | None:
    if isinstance(answer, RimpoiseError):
        return answer
    got = len(answer.results) if answer else 0
    if got == count:
        return None
    error = AnswerError(200, f"expected {count} results, got {got}", "#/results")
    error.response = answer.response if answer else None
    error.request_id = error.response.request_id if error.response else None
    return error


def _results(answer: PlanBatch) -> Iterator[PlanResult]:
    return (with_hidden(result, response=answer.response) for result in answer.results)


def placed(results: Iterable[PlanResult], done: int) -> Iterator[PlanResult]:
    """The results of a chunk that follows so many others."""
    return (changed(result, index=done + result.index) for result in results)


def unsendable(question: object) -> Problem | None:
    """Why a question can't be sent, as a problem in its place; None if it can."""
    try:
        to_json(question)
    except Mismatch as mismatch:
        fault = nouns.Fault(mismatch.pointer, mismatch.reason)
        reason = fault_in_words(fault)
        return nouns.Problem("about:blank", "The question can't be sent", 400, reason, "", (fault,))
    return None
