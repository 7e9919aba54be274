"""The client, over requests."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, TypeVar
from uuid import uuid4

import requests

from .batches import check_sizes, chunks, in_order, placed, plan_chunk
from .errors import RimpoiseError
from .http import Call, Reply
from .operations import Operations
from .retry import Hooks, Outcome, Retry, course, follow
from .session import exchange, new_session
from .settings import MAX_BYTES, Settings, from_environment, read_answered

if TYPE_CHECKING:
    from .models.fitting_plan import PlanBatch, PlanResult
    from .models.shared import PlanRequest
    from .models.words import TextUnits

T = TypeVar("T")


class Client(Operations):
    """Asks a rimpoise service.

        with Client("http://localhost:8080") as client:
            plan = client.plan(PlanRequest(reading=..., wheel=..., stock=BuiltinStock("metric")))

    Every method raises ``QuestionError`` before anything is sent, ``TransportError`` if no answer came,
    ``ProblemError`` if the answer is a problem, and ``AnswerError`` if it is not what the contract says; all are
    ``RimpoiseError``. Operations are pure, so a lost connection, a timeout and the statuses 429, 502, 503 and
    504 are retried. Every answer has its ``response``, every error its ``request_id``.

    Threads may share a client: between calls it keeps nothing but the session's connections. A session that
    you pass must then not be changed while calls run.
    """

    def __init__(
        self,
        base_url: str,
        *,
        timeout: float = 10.0,
        deadline: float | None = None,
        max_bytes: int | None = MAX_BYTES,
        session: requests.Session | None = None,
        retries: Retry | int = Retry(),  # noqa: B008 (frozen)
        api_key: str | None = None,
        user_agent: str | None = None,
        hooks: Hooks = Hooks(),  # noqa: B008 (frozen)
        language: str | None = None,
        units: TextUnits | None = None,
    ) -> None:
        """Talk to the service at ``base_url``; on this machine itself never through a proxy. Raises ValueError.

        timeout: for connecting and for each wait for bytes [s]
        deadline: for a whole call, its repeats and waits included [s]; None for none
        max_bytes: the longest answer that is read, unpacked
        session: used as it is and not closed
        retries: how often to ask again, or a Retry to set the waits too; 0 for never
        api_key: where the operator wants one; goes before what a netrc file says
        user_agent: what to call yourself, after the client's own name
        hooks: called around every try
        language: of texts (en-GB, en-US, de, es)
        units: of texts (metric, us), where a request does not say any
        """
        self.settings = Settings(
            base_url, timeout, deadline, max_bytes, retries, api_key, user_agent, hooks, language, units
        )
        self._session = session or new_session()
        self._owns_session = session is None

    @classmethod
    def from_env(cls, **settings: Any) -> Self:
        """A client as the environment says, but for the settings given here. Raises ValueError.

        Read are ``RIMPOISE_URL``, ``RIMPOISE_API_KEY``, ``RIMPOISE_LANGUAGE``, ``RIMPOISE_UNITS``,
        ``RIMPOISE_TIMEOUT_S`` and ``RIMPOISE_DEADLINE_S``.
        """
        return cls(**(from_environment() | settings))

    def plan_many(
        self,
        questions: Iterable[PlanRequest | Mapping[str, object]],
        *,
        chunk: int = 50,
        at_once: int = 4,
        progress: Callable[[int], None] | None = None,
    ) -> Iterator[PlanResult]:
        """The plans of any number of wheels, in order, as they come.

        Questions are taken as they are needed and sent in requests of ``chunk``, ``at_once`` at a time, each
        retried for itself: for a long run give the client a patient ``Retry``. ``progress`` gets how many are
        answered. A question that is bad or can't be sent has its problem in its own place; only what stops a
        whole request is raised, after all that was answered before it, and so is what ``questions`` raises.
        Raises ValueError.
        """
        check_sizes(chunk, at_once)
        return self._plan_many(questions, chunk, at_once, progress or (lambda _: None))

    def _plan_many(
        self, questions: Iterable[object], chunk: int, at_once: int, progress: Callable[[int], None]
    ) -> Iterator[PlanResult]:
        done = 0
        for results, error in in_order(chunks(questions, chunk), self._plan_chunk, at_once):
            yield from placed(results, done)
            done += len(results)
            progress(done)
            if error:
                raise error

    def _plan_chunk(self, questions: list[object]) -> tuple[list[PlanResult], RimpoiseError | None]:
        steps = plan_chunk(questions)
        answer: PlanBatch | RimpoiseError | None = None
        try:
            while True:
                request = steps.send(answer)
                try:
                    answer = self.plan_batch(request)
                except RimpoiseError as error:
                    answer = error
        except StopIteration as stop:
            found: tuple[list[PlanResult], RimpoiseError | None] = stop.value
            return found

    def send(self, call: Call) -> Reply:
        """Send one call once. Override this for another transport. Raises TransportError or AnswerError."""
        return exchange(self._session, call)

    def close(self) -> None:
        """Close the connections, unless the session was yours."""
        if self._owns_session:
            self._session.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _post(self, path: str, question: object, shape: type[T]) -> T:
        return self._ask(self.settings.post(path, question, shape, str(uuid4())), shape)

    def _get(self, path: str, shape: type[T]) -> T:
        return self._ask(self.settings.get(path, str(uuid4())), shape)

    def _ask(self, call: Call, shape: type[T]) -> T:
        with_these = self.settings
        steps = course(call, with_these.retry, with_these.hooks, with_these.deadline)
        return read_answered(follow(steps, self._attempt), shape, call.request_id)

    def _attempt(self, call: Call) -> Outcome:
        try:
            return self.send(call)
        except RimpoiseError as error:
            return error
