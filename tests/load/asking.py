"""Callers that know the right answer to everything they ask, and keep count."""

from __future__ import annotations

import http.client
import itertools
import json
import re
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import requests

from rimpoise.errors import TransportError
from rimpoise.http import Call, Reply
from rimpoise.retry import Outcome, Retry, course, follow
from rimpoise.session import exchange
from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.http.media_types import JSON, NDJSON
from rimpoise_service.api.ops.settings import Settings

TIMEOUT_S = 20.0
NEW_EACH_TIME = re.compile(rb"urn:uuid:[0-9a-f-]{36}")
"""The ids of what a batch refuses: all else is the same each time."""

PAUSE_S = 0.004
"""Between two questions of one caller: they are people's tills, not a race."""


@dataclass(frozen=True, slots=True)
class Question:
    """What is requested, and the bytes that are the only right answer."""

    method: str
    path: str
    body: bytes
    answer: bytes
    media_type: str = JSON

    @property
    def headers(self) -> dict[str, str]:
        """Of the request."""
        return {"Content-Type": self.media_type} if self.body else {}


def mixed() -> list[Question]:
    """Every example of every operation, and the reference; answered here, without a network, to compare with."""
    client, found = create_app(Settings(work_rate=0)).test_client(), []
    for operation in ENDPOINTS:
        for example in operation.examples.values():
            lines = isinstance(example.body, str)
            body = (example.body if lines else json.dumps(example.body)).encode()
            media_type = NDJSON if lines else JSON
            answer = client.post(operation.path, data=body, content_type=media_type, buffered=True)
            assert answer.status_code == 200, (operation.path, answer.text)
            found.append(Question("POST", operation.path, body, NEW_EACH_TIME.sub(b"", answer.data), media_type))
    return [*found, Question("GET", "/v1/reference", b"", client.get("/v1/reference").data)]


@dataclass(slots=True)
class Tally:
    """How it went: sent, right, refused (a problem), wrong, lost (hung up on), late (TIMEOUT_S), turned away."""

    counts: Counter[str] = field(default_factory=Counter)
    ms: list[float] = field(default_factory=list)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def add(self, outcome: str, ms: float) -> None:
        """One more."""
        with self._lock:
            self.counts[outcome] += 1
            self.counts["sent"] += outcome != "turned away"
            self.ms.append(ms)

    def row(self) -> list[object]:
        """As the tables have it."""
        names = HEAD[1:-2]
        return [*(self.counts[name] for name in names), self.at(50), self.at(99)]

    def at(self, percent: int) -> float:
        """A percentile of the times [ms]."""
        ordered = sorted(self.ms) or [0.0]
        return ordered[min(len(ordered) - 1, len(ordered) * percent // 100)]


HEAD = ("", "sent", "right", "refused", "wrong", "lost", "late", "turned away", "p50 ms", "p99 ms")
Ask = Callable[[Question], str]


def judged(status: int, media_type: str, body: bytes, question: Question) -> str:
    """What became of a question that got an answer."""
    if status == 200:
        return "right" if NEW_EACH_TIME.sub(b"", body) == question.answer else "wrong"
    return "refused" if media_type.startswith(("application/problem+json", "text/html")) else "wrong"


def unanswered(error: Exception) -> str:
    """What became of a question that got none: nobody hung up on one who no longer waits."""
    return "late" if isinstance(error, TimeoutError) else "lost"


def plainly(port: int) -> Ask:
    """Asks over one kept connection, and never twice."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=TIMEOUT_S)

    def ask(question: Question) -> str:
        try:
            if connection.sock is None:
                connection.connect()
        except OSError:
            return "turned away"
        try:
            connection.request(question.method, question.path, question.body or None, question.headers)
            with connection.getresponse() as answer:
                return judged(answer.status, answer.headers.get_content_type(), answer.read(), question)
        except (OSError, http.client.HTTPException) as error:
            connection.close()
            return unanswered(error)

    return ask


def with_retries(port: int) -> Ask:
    """Asks as the client package does, with its own retries."""
    session = requests.Session()

    def ask(question: Question) -> str:
        url = f"http://127.0.0.1:{port}{question.path}"
        call = Call(question.method, url, question.headers, question.body or None, TIMEOUT_S)

        def attempt(call: Call) -> Outcome:
            try:
                return exchange(session, call)
            except TransportError as error:
                return error

        outcome = follow(course(call, Retry()), attempt).outcome
        if isinstance(outcome, Reply):
            return judged(outcome.status, outcome.media_type, outcome.body, question)
        return "lost"

    return ask


@contextmanager
def in_threads(work: Callable[[int], None], numbers: Iterable[int], over: threading.Event) -> Iterator[None]:
    """Work for each number in a thread of its own; at the end of the block the event says that it is over."""
    threads = [threading.Thread(target=work, args=(n,)) for n in numbers]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        over.set()
        for thread in threads:
            thread.join()


@contextmanager
def load(
    port: int,
    questions: list[Question],
    *,
    callers: int = 8,
    asker: Callable[[int], Ask] = plainly,
    pause_s: float = PAUSE_S,
) -> Iterator[Tally]:
    """So many callers, each asking one question after the other until the block ends, with a pause between."""
    tally, over = Tally(), threading.Event()

    def caller(first: int) -> None:
        ask = asker(port)
        for n in itertools.count(first * 7):
            if over.is_set():
                return
            began = time.perf_counter()
            outcome = ask(questions[n % len(questions)])
            tally.add(outcome, (time.perf_counter() - began) * 1e3)
            time.sleep(pause_s if outcome != "turned away" else 0.05)

    with in_threads(caller, range(callers), over):
        yield tally
