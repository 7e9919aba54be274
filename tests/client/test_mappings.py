"""Every method takes a model or a mapping, from both clients, and both answer alike."""

from __future__ import annotations

import asyncio
import inspect
from collections.abc import Callable
from types import MappingProxyType
from typing import Any

import pytest

from rimpoise import AsyncClient, Client, Plan
from rimpoise.operations import Operations
from tests.client.invented import QUESTION
from tests.client.test_client import ASKED


@pytest.mark.parametrize("method", ASKED)
def test_a_mapping_is_sent_as_the_model_is(
    method: str, scripted: Callable[..., Any], ok: Callable[[Any], Any]
) -> None:
    _, question, answer = ASKED[method]
    sent = []
    for requested in (question, question.to_dict(), MappingProxyType(question.to_dict())):
        client = scripted(ok(answer))
        getattr(client, method)(requested)
        sent.append(client.sent)
    assert sent[0] == sent[1] == sent[2]


def test_every_method_says_that_it_takes_a_mapping() -> None:
    methods = {n: m for n, m in vars(Operations).items() if inspect.isfunction(m) and not n.startswith("_")}
    requested = [
        str(p.annotation)
        for m in methods.values()
        for p in inspect.signature(m).parameters.values()
        if p.name == "question"
    ]
    assert len(requested) == 21
    assert all(hint.endswith("| Json") for hint in requested)
    assert {n for n in methods if not inspect.iscoroutinefunction(getattr(AsyncClient, n))} == set()


def test_what_is_drawn_may_be_a_mapping(live: Client) -> None:
    plan = live.plan(QUESTION.to_dict())
    drawn = live.drawing(plan)
    assert live.drawing(plan.to_dict()) == drawn
    assert live.drawing({"kind": "plan", "plan": plan.to_dict()}) == drawn
    assert live.drawing(QUESTION.to_dict()) == live.drawing(QUESTION)
    assert live.sheet(QUESTION.to_dict()).response is not None


def test_both_clients_answer_alike(url: str, live: Client) -> None:
    async def ask() -> tuple[Plan, str, str]:
        async with AsyncClient(url, timeout=120, retries=0) as client:
            plan = await client.plan(QUESTION)
            return plan, await client.drawing(plan), (await client.health()).status

    plan, drawing, status = asyncio.run(ask())
    assert (plan, drawing, status) == (live.plan(QUESTION), live.drawing(plan), "ok")
