"""Every operation of both clients sends to the same place, and takes the same for an answer."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest

from rimpoise.async_operations import AsyncOperations
from rimpoise.operations import Operations
from tests.client.test_contract import METHODS

Sent = tuple[str, str, object, object]


class Kept(Operations):
    """Keeps what would be sent."""

    def _post(self, path: str, question: object, shape: type[Any]) -> Any:
        return "post", path, question, shape

    def _get(self, path: str, shape: type[Any]) -> Any:
        return "get", path, None, shape


class AsyncKept(AsyncOperations):
    """The same, awaited."""

    async def _post(self, path: str, question: object, shape: type[Any]) -> Any:
        return "post", path, question, shape

    async def _get(self, path: str, shape: type[Any]) -> Any:
        return "get", path, None, shape


@pytest.mark.parametrize(("verb", "path"), METHODS, ids=[path for _, path in METHODS])
def test_both_send_the_same(verb: str, path: str) -> None:
    name = METHODS[verb, path].__name__
    question: list[object] = [{"kind": "request", "request": {}}] if verb == "post" else []
    sent: Sent = getattr(Kept(), name)(*question)
    assert asyncio.run(getattr(AsyncKept(), name)(*question)) == sent
    assert sent[:3] == (verb, path, *(question or [None]))
