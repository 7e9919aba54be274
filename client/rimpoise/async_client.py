"""The client for asyncio, over httpx (``pip install 'rimpoise[async]'``); all but the wire is as in ``client``."""

from __future__ import annotations

import asyncio
import time
from collections import deque
from collections.abc import AsyncGenerator, AsyncIterator, Callable, Iterable, Mapping
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, TypeAlias, TypeVar
from urllib.parse import urlsplit
from uuid import uuid4

try:
    import httpx
except ImportError:
    raise ImportError("asyncio needs a little more: pip install 'rimpoise[async]'") from None

from .async_operations import AsyncOperations
from .batches import Source, check_sizes, chunks, placed, plan_chunk
from .errors import ConnectionFailed, RimpoiseError, TimedOut, TransportError
from .http import Call, Reply, is_loopback
from .retry import Answered, Hooks, Outcome, Retry, course
from .settings import MAX_BYTES, Settings, from_environment, read_answered
from .transport import because, check_length

if TYPE_CHECKING:
    from .models.fitting_plan import PlanBatch, PlanResult
    from .models.shared import PlanRequest
    from .models.words import TextUnits

T = TypeVar("T")
Chunk: TypeAlias = "tuple[list[PlanResult], RimpoiseError | None]"


class AsyncClient(AsyncOperations):
    """Asks a rimpoise service from asyncio; methods, settings and exceptions are those of ``Client``.

        async with AsyncClient("http://localhost:8080") as client:
            plan = await client.plan(request)

    Tasks may share a client. The deadline holds for every byte, those of a reply's head too. Hooks are called in
    the event loop and must not block.
    """

    def __init__(
        self,
        base_url: str,
        *,
        timeout: float = 10.0,
        deadline: float | None = None,
        max_bytes: int | None = MAX_BYTES,
        client: httpx.AsyncClient | None = None,
        retries: Retry | int = Retry(),  # noqa: B008 (frozen)
        api_key: str | None = None,
        user_agent: str | None = None,
        hooks: Hooks = Hooks(),  # noqa: B008 (frozen)
        language: str | None = None,
        units: TextUnits | None = None,
    ) -> None:
        """As ``Client``; ``client``, an httpx client, is used as it is and not closed. Raises ValueError."""
        self.settings = Settings(
            base_url, timeout, deadline, max_bytes, retries, api_key, user_agent, hooks, language, units
        )
        self._client = client or _new_client(base_url)
        self._owns_client = client is None

    @classmethod
    def from_env(cls, **settings: Any) -> Self:
        """As ``Client.from_env``. Raises ValueError."""
        return cls(**(from_environment() | settings))

    def plan_many(
        self,
        questions: Iterable[PlanRequest | Mapping[str, object]],
        *,
        chunk: int = 50,
        at_once: int = 4,
        progress: Callable[[int], None] | None = None,
    ) -> AsyncIterator[PlanResult]:
        """As ``Client.plan_many``. Raises ValueError."""
        check_sizes(chunk, at_once)
        return self._plan_many(questions, chunk, at_once, progress or (lambda _: None))

    async def _plan_many(
        self, questions: Iterable[object], chunk: int, at_once: int, progress: Callable[[int], None]
    ) -> AsyncIterator[PlanResult]:
        done, source = 0, _in_order(chunks(questions, chunk), self._plan_chunk, at_once)
        try:
            async for results, error in source:
                for result in placed(results, done):
                    yield result
                done += len(results)
                progress(done)
                if error:
                    raise error
        finally:
            await source.aclose()

    async def _plan_chunk(self, questions: list[object]) -> Chunk:
        steps = plan_chunk(questions)
        answer: PlanBatch | RimpoiseError | None = None
        try:
            while True:
                request = steps.send(answer)
                try:
                    answer = await self.plan_batch(request)
                except RimpoiseError as error:
                    answer = error
        except StopIteration as stop:
            found: Chunk = stop.value
            return found

    async def send(self, call: Call) -> Reply:
        """Send one call once. Override this for another transport. Raises TransportError or AnswerError."""
        return await exchange(self._client, call)

    async def close(self) -> None:
        """Close the connections, unless the httpx client was yours."""
        if self._owns_client:
            await self._client.aclose()

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        await self.close()

    async def _post(self, path: str, question: object, shape: type[T]) -> T:
        return await self._ask(self.settings.post(path, question, shape, str(uuid4())), shape)

    async def _get(self, path: str, shape: type[T]) -> T:
        return await self._ask(self.settings.get(path, str(uuid4())), shape)

    async def _ask(self, call: Call, shape: type[T]) -> T:
        with_these = self.settings
        steps = course(call, with_these.retry, with_these.hooks, with_these.deadline)
        outcome: Outcome | None = None
        try:
            while True:
                step = steps.send(outcome)
                outcome = await (self._attempt(step) if isinstance(step, Call) else asyncio.sleep(step))
        except StopIteration as stop:
            answered: Answered = stop.value
        return read_answered(answered, shape, call.request_id)

    async def _attempt(self, call: Call) -> Outcome:
        try:
            return await self.send(call)
        except RimpoiseError as error:
            return error


async def exchange(client: httpx.AsyncClient, call: Call) -> Reply:
    """Send the call and read the whole reply. Raises TransportError, and AnswerError for one that is too long."""
    left_s = None if call.ends_s is None else max(0.0, call.ends_s - time.monotonic())
    body = bytearray()
    try:
        async with (
            asyncio.timeout(left_s),
            client.stream(
                call.method,
                call.url,
                headers=dict(call.headers),
                content=call.body,
                timeout=call.timeout_s,
                follow_redirects=False,
            ) as answer,
        ):
            async for part in answer.aiter_bytes():
                body += part
                check_length(call, answer.status_code, len(body))
    except (httpx.TimeoutException, TimeoutError) as error:
        raise TimedOut(because(call.url, str(error) or "no whole answer in time")) from error
    except (httpx.NetworkError, httpx.RemoteProtocolError, httpx.DecodingError) as error:
        raise ConnectionFailed(because(call.url, str(error) or "the connection broke")) from error
    except (httpx.HTTPError, httpx.InvalidURL) as error:
        raise TransportError(because(call.url, error)) from error
    return Reply(answer.status_code, dict(answer.headers), bytes(body))


def _new_client(base_url: str) -> httpx.AsyncClient:
    own = {f"all://{urlsplit(base_url).hostname}": None} if is_loopback(base_url) else None
    return httpx.AsyncClient(mounts=own, limits=httpx.Limits())


async def _in_order(
    items: Iterable[list[object]], work: Callable[[list[object]], Any], at_once: int
) -> AsyncGenerator[Chunk, None]:
    """As ``batches.in_order``, with tasks."""
    source = Source(items)
    waiting: deque[asyncio.Task[Chunk]] = deque()
    try:
        for item in source:
            waiting.append(asyncio.create_task(work(item)))
            if len(waiting) >= at_once:
                yield await waiting.popleft()
        while waiting:
            yield await waiting.popleft()
    finally:
        for task in waiting:
            task.cancel()
        await asyncio.gather(*waiting, return_exceptions=True)
    if source.failure:
        raise source.failure
