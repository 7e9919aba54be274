"""Many plans in one request: each is loaded, planned and answered for itself, so that a bad one spoils no other.

A document is read and then answered in pieces of a few plans, each sent as soon as it is whole; lines are read
while they come, and answered one by one. What the plans share is loaded and looked at once. Each plan is bounded
by its work, and so is the batch: what comes after is left to another one.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from flask import Response

from ...planning.layout_search import PLAN_WORK
from ...planning.places import PlaceCache
from ..http import strict_json
from ..http.endpoint import Endpoint, check_media_type, read_value, refuse_query
from ..http.media_types import JSON, NDJSON, check_accept
from ..http.ndjson import lines
from ..http.problems import BatchTooHeavy, problem_of
from ..http.readers import reading_for
from ..ops.admission import pacer
from ..ops.instrumentation import note_later
from ..schemas.load_cache import LoadCache, using_cache
from ..schemas.plan_batch import PlanBatchRequestSchema, PlanBatchSchema
from ..schemas.plans import PlanSchema
from .examples.plan_batch import EXAMPLES
from .plans import plans
from .tags import PLAN

MAX_BODY = 2 * 1024 * 1024

BATCH_WORK = 60 * PLAN_WORK
"""What the searches of a batch may weigh together, on top of WORK_EACH: sixty of the heaviest plans there are."""

WORK_EACH = 20_000
"""What every plan adds to that: about twice what limits of a gram and two pieces a plane take."""

PIECE_BYTES, PIECE_S = 32 * 1024, 0.5
"""A piece of a document goes out when it has so many bytes, or is so old [s]: each costs its reader a wake-up."""

Note = Callable[[object], None]
_PLAN = PlanSchema()


class Planner:
    """Plans one after the other, remembering wheels and shelves; ``note`` hears of each."""

    def __init__(self, note: Note) -> None:
        self._cache, self._places, self._note = LoadCache(), PlaceCache(), note
        self._work_left = BATCH_WORK

    def plan(self, value: object) -> dict[str, Any]:
        """The answer to a plan request. Raises what the single operation would raise; BatchTooHeavy."""
        if self._work_left < 0:
            raise BatchTooHeavy
        with using_cache(self._cache), reading_for(value):
            advice = plans.compute(value, self._places)
            self._work_left += WORK_EACH - advice.plan.work
            self._note(advice)
            return _PLAN.to_json(advice)


@dataclass(frozen=True, slots=True)
class Batch(Endpoint):
    """The operation that plans the wheels of a document."""

    def __call__(self) -> Response:
        """Answer the current request."""
        refuse_query()
        check_accept(JSON)
        requests = self.asks.load(read_value(self.most_bytes))  # type: ignore[union-attr]
        return Response(_as_document(results(requests, note_later(), pacer())), content_type=JSON)


@dataclass(frozen=True, slots=True)
class Stream(Endpoint):
    """The operation that plans wheels line by line."""

    def __call__(self) -> Response:
        """Answer the current request."""
        refuse_query()
        check_media_type(NDJSON)
        check_accept(NDJSON)
        return Response(_as_lines(results(lines(), note_later(), pacer())), content_type=NDJSON)


def results(
    requests: Iterable[object], note: Note = lambda _: None, go_on: Callable[[], bool] = lambda: True
) -> Iterator[bytes]:
    """One result for each, in order: of a value, of bytes to be read as JSON, or of an exception.

    Before each ``go_on`` says whether anybody still waits for it.
    """
    planner = Planner(note)
    for index, each in enumerate(requests):
        if not go_on():
            return
        yield _result(planner, each, index)


def _result(planner: Planner, request: object, index: int) -> bytes:
    try:
        if isinstance(request, Exception):
            raise request
        value = strict_json.loads(request) if isinstance(request, bytes) else request
        result = {"index": index, "plan": planner.plan(value), "problem": None}
        return strict_json.dumps(result)
    except Exception as error:  # whatever it is, it is this plan's and no other's
        return strict_json.dumps({"index": index, "plan": None, "problem": problem_of(error)})


def _as_lines(results: Iterable[bytes]) -> Iterator[bytes]:
    for result in results:
        yield result + b"\n"


def _as_document(results: Iterable[bytes], clock: Callable[[], float] = time.monotonic) -> Iterator[bytes]:
    """Piece by piece, what one ``strict_json.dumps`` of all results would be."""
    piece, between, began_s = [b'{"results":['], b"", clock()
    for result in results:
        piece += between, result
        between = b","
        if sum(map(len, piece)) >= PIECE_BYTES or clock() - began_s >= PIECE_S:
            yield b"".join(piece)
            piece, began_s = [], clock()
    yield b"".join(piece) + b"]}"


def plan_batch() -> None:
    """Many plans in one document.

    Up to 1,000 plan requests, 2 MiB, and one result for each in the same order. A bad request gets its problem in
    its own place, with pointers into that request, and spoils no other; the status is 200 all the same. Where
    searches are far longer than usual, the plans beyond what a batch may cost get the problem `batch-too-heavy`.
    """


def plan_stream() -> None:
    """Any number of plans, line by line.

    One `PlanRequest` on each line of up to 1 MiB, empty lines left out; the answer is one line for each, a
    `PlanResult`, in the same order. Answers begin when 1 MiB or all has come, so read them while you send. Each
    line is answered as in a batch. A body that breaks off, or is malformed as HTTP, ends with a problem.
    """


ENDPOINTS = (
    Batch(
        "/v1/plans/batch",
        "POST",
        "planBatch",
        PLAN,
        plan_batch,
        PlanBatchRequestSchema(),
        PlanBatchSchema(),
        examples=EXAMPLES["planBatch"],
        most_bytes=MAX_BODY,
        heavy=True,
    ),
    Stream(
        "/v1/plans/stream",
        "POST",
        "planStream",
        PLAN,
        plan_stream,
        None,
        None,
        media_type=NDJSON,
        examples=EXAMPLES["planStream"],
        by_line=True,
        heavy=True,
    ),
)
