"""Any number of plans: in documents of limited size, a few requests at a time, in order."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from itertools import islice
from typing import TypeVar

from .encoding import Mismatch, to_json
from .errors import fault_in_words
from .models.shared import Fault, Problem

MAX_CHUNK = 1_000
"""The service takes no more plans in one document."""

T = TypeVar("T")
R = TypeVar("R")


def chunks(items: Iterable[T], size: int) -> Iterator[list[T]]:
    """The items in lists of that size, the last one shorter.

    >>> list(chunks(range(5), 2))
    [[0, 1], [2, 3], [4]]
    """
    rest = iter(items)
    while chunk := list(islice(rest, size)):
        yield chunk


def in_order(items: Iterable[T], work: Callable[[T], R], at_once: int) -> Iterator[R]:
    """The results of work on each item, a few at a time, in the items' order; items are taken as they are needed.

    The first failure is raised in its place: calls under way are waited for, and no more are started.
    """
    with ThreadPoolExecutor(at_once) as pool:
        waiting: deque[Future[R]] = deque()
        try:
            for item in items:
                waiting.append(pool.submit(work, item))
                if len(waiting) > at_once:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()


def unsendable(question: object) -> Problem | None:
    """Why a question can't be sent, as a problem in its place; None if it can."""
    try:
        to_json(question)
    except Mismatch as mismatch:
        fault = Fault(mismatch.pointer, mismatch.reason)
        told = fault_in_words(fault)
        return Problem("about:blank", "The question can't be sent", 400, told, "", (fault,))
    return None
