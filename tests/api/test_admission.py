"""Who is let in: work is charged to its caller, heavy requests leave room for light ones."""

from __future__ import annotations

import json
import socket
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops import admission
from rimpoise_service.api.ops.admission import CHARGE_MS, HEAVY_MS, MAX_KINDS, Costs
from rimpoise_service.api.ops.callers import caller_gone
from rimpoise_service.api.ops.settings import Settings
from tests.api.fixture_types import Example
from tests.clock import Clock


class Cpu(Clock):
    """A thread's processor time, which moves by as much with every plan."""


@pytest.fixture
def cpu(monkeypatch: pytest.MonkeyPatch) -> Cpu:
    stopped = Cpu()
    monkeypatch.setattr("rimpoise_service.api.ops.admission.time.thread_time", stopped)
    return stopped


def plans_that_cost(app: Flask, cpu: Cpu, ms: float) -> Callable[..., int]:
    """Asks for a plan, which costs so much; the status."""
    view = app.view_functions["planFitting"]

    def costly() -> Any:
        cpu.now += ms / 1e3
        return view()

    app.view_functions["planFitting"] = costly
    client = app.test_client()

    def ask(address: str = "192.0.2.1", body: Any = None) -> int:
        environ = {"REMOTE_ADDR": address}
        return client.post("/v1/plans", json=body or {}, environ_base=environ).status_code

    return ask


def test_computing_is_charged_to_its_caller(cpu: Cpu, clock: Clock) -> None:
    ask = plans_that_cost(create_app(Settings(work_rate=100, work_burst=1000)), cpu, 90)
    assert [ask() for _ in range(13)] == [400] * 12 + [429]
    assert ask("192.0.2.2") == 400
    clock.now += 1
    assert [ask(), ask()] == [400, 429]


@pytest.mark.usefixtures("clock")
def test_how_long_to_wait_is_reported(cpu: Cpu) -> None:
    app = create_app(Settings(work_rate=100, work_burst=1000))
    plans_that_cost(app, cpu, 1500)()
    response = app.test_client().post("/v1/plans", json={}, environ_base={"REMOTE_ADDR": "192.0.2.1"})
    assert (response.status_code, response.headers["Retry-After"]) == (429, "5")
    assert response.headers["RateLimit"] == '"computing";r=0;t=15'  # never less than nothing
    assert response.get_json()["type"] == "/problems/too-many-requests"


def test_without_a_budget_anybody_may(cpu: Cpu) -> None:
    ask = plans_that_cost(create_app(Settings(work_rate=0)), cpu, 10**6)
    assert [ask() for _ in range(5)] == [400] * 5


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody waits for room."""
    monkeypatch.setattr("rimpoise_service.api.ops.slots.WAIT_S", 0.0)


def held(client: FlaskClient, body: Any, stack: ExitStack, address: str = "192.0.2.9") -> int:
    """A batch whose answer has begun, and whose rest nobody has read yet."""
    environ = {"REMOTE_ADDR": address}
    response = client.post("/v1/plans/batch", json=body, buffered=False, environ_base=environ)
    stack.callback(response.close)
    return response.status_code


@pytest.mark.usefixtures("impatient")
def test_heavy_requests_leave_room_for_light_ones(example: Example) -> None:
    client, body = create_app(Settings(heavy=2)).test_client(), example("planBatch", "three_wheels")
    with ExitStack() as stack:
        assert [held(client, body, stack, f"192.0.2.{n}") for n in range(3)] == [200, 200, 503]
        refused = client.post("/v1/plans/batch", json=body)
        assert refused.headers["Retry-After"] == "1"
        assert refused.get_json()["type"] == "/problems/not-ready"
        assert client.post("/v1/plans", json={}).status_code == 400  # light ones get in
    assert client.post("/v1/plans/batch", json=body).status_code == 200


@pytest.mark.usefixtures("impatient")
def test_what_was_heavy_the_last_time_is_heavy(cpu: Cpu, example: Example) -> None:
    app = create_app(Settings(heavy=1))
    ask = plans_that_cost(app, cpu, HEAVY_MS + 1)
    assert ask(body={}) == 400
    with ExitStack() as stack:
        assert held(app.test_client(), example("planBatch", "three_wheels"), stack) == 200
        assert ask(body={}) == 503
        assert ask(body={"x" * 100: 1}) == 400  # one that is unlike it
        assert ask("192.0.2.2") == 400  # and one of somebody else's
    assert ask() == 400


def test_a_fault_of_ours_keeps_no_room(monkeypatch: pytest.MonkeyPatch) -> None:
    app = create_app(Settings(heavy=1))

    def broken() -> Any:
        raise RuntimeError

    monkeypatch.setitem(app.view_functions, "forecastDemand", broken)
    broken.heavy = True  # type: ignore[attr-defined]
    client = app.test_client()
    assert [client.post("/v1/demand", json={}).status_code for _ in range(3)] == [500] * 3


def test_costs_are_bounded() -> None:
    costs = Costs()
    for n in range(MAX_KINDS + 1):
        costs.remember(("a", "b", n), HEAVY_MS + 1)
    assert [costs.of(("a", "b", n)) for n in (0, 1, MAX_KINDS)] == [None, HEAVY_MS + 1, HEAVY_MS + 1]


@pytest.mark.usefixtures("impatient")
def test_one_caller_leaves_a_thread_to_others_whatever_it_asks_for_the_first_time() -> None:
    """Of 24 heavy plans at once, the first of their kind, all threads had one, and others waited for 15 s."""
    app = create_app(Settings(threads=8, heavy=2))
    view, found, others = app.view_functions["planFitting"], list[int](), list[int]()

    def ask(address: str = "192.0.2.2") -> int:
        environ = {"REMOTE_ADDR": address}
        return app.test_client().post("/v1/plans", json={}, environ_base=environ).status_code

    def meanwhile() -> Any:
        if not found:
            found.append(ask())
            others.append(0 if others else ask("192.0.2.3"))
        return view()

    app.view_functions["planFitting"] = meanwhile
    assert ask() == 400
    assert found == [
        503,
        400,
        400,
    ]  # two try, a third has the place for heavy ones that it may have, a fourth waits
    assert others[0] == 400
    assert ask() == 400


@pytest.fixture
def pair() -> Iterator[tuple[socket.socket, socket.socket]]:
    """The ends of a connection."""
    ours, theirs = socket.socketpair()
    with ours, theirs:
        yield ours, theirs


def test_who_has_hung_up_is_gone(pair: tuple[socket.socket, socket.socket]) -> None:
    ours, theirs = pair
    theirs.send(b"GET")
    assert not caller_gone({"gunicorn.socket": ours})
    theirs.close()
    assert caller_gone({"gunicorn.socket": ours})
    assert not caller_gone({})


def test_nothing_heavy_begins_for_who_has_left_meanwhile(
    example: Example, pair: tuple[socket.socket, socket.socket]
) -> None:
    ours, theirs = pair
    theirs.close()
    client, environ = create_app(Settings(heavy=1)).test_client(), {"gunicorn.socket": ours}
    body = example("planBatch", "three_wheels")
    found = [client.post("/v1/plans/batch", json=body, environ_base=environ).status_code for _ in range(3)]
    assert found == [400] * 3
    assert client.post("/v1/plans/batch", json=body).status_code == 200


def test_a_batch_ends_with_its_caller(example: Example, pair: tuple[socket.socket, socket.socket]) -> None:
    ours, theirs = pair
    body = "\n".join([json.dumps(example("planFitting", "own_stock"))] * 4)
    client = create_app().test_client()
    response = client.post(
        "/v1/plans/stream", data=body, content_type="application/x-ndjson", environ_base={"gunicorn.socket": ours}
    )
    parts = response.iter_encoded()
    assert next(parts)
    theirs.close()
    assert list(parts) == []


def test_a_batch_waits_for_its_callers_share(
    example: Example, cpu: Cpu, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    naps = list[float]()

    def nap(seconds: float) -> None:
        naps.append(seconds)
        clock.now += seconds

    monkeypatch.setattr("time.sleep", nap)
    real = admission.Meter.charge

    def charge(meter: admission.Meter, least_ms: float = 0.0) -> float:
        cpu.now += 0.1 if not naps or sum(naps) < 2 else 0
        return real(meter, least_ms)

    monkeypatch.setattr(admission.Meter, "charge", charge)
    client = create_app(Settings(work_rate=100, work_burst=200)).test_client()
    plans = {"plans": [example("planFitting", "own_stock")] * 4}
    answer = client.post("/v1/plans/batch", json=plans).get_json()
    assert [bool(result["plan"]) for result in answer["results"]] == [True] * 4
    assert sum(naps) >= 1


def test_a_batch_is_charged_now_and_then_and_in_full(cpu: Cpu, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each charge may be a message to a store that is slow; a hundred of them made a batch three times as long."""
    charged = list[float]()

    def spend(_: object, __: str, units: float) -> float:
        charged.append(units)
        return -1.0

    monkeypatch.setattr("rimpoise_service.api.ops.computing_budget.ComputingBudget.spend", spend)
    real, each_ms, count = admission.Meter.charge, CHARGE_MS / 10, 30

    def charge(meter: admission.Meter, least_ms: float = 0.0) -> float:
        cpu.now += each_ms / 1e3
        return real(meter, least_ms)

    monkeypatch.setattr(admission.Meter, "charge", charge)
    body: Any = {"plans": [{}] * count}
    client = create_app(Settings()).test_client()
    assert client.post("/v1/plans/batch", json=body, buffered=True).status_code == 200
    assert sum(charged) == pytest.approx(each_ms * (count + 1))  # the last one when it ends
    assert len(charged) <= count / 10 + 3
