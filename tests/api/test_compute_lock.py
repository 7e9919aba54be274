"""Threads take turns at computing, and none waits long for another."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from typing import Any

import pytest
from flask.testing import FlaskClient

from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints import plans
from rimpoise_service.api.ops import admission, compute_lock
from rimpoise_service.api.ops.compute_lock import HEAVY_PATIENCE_S, PATIENCE_S, ComputeLock, hold_compute_lock
from rimpoise_service.api.ops.settings import Settings
from rimpoise_service.planning.advice import advise
from tests.api.fixture_types import Example
from tests.load.service import until


def together(patience_s: float) -> int:
    """How many of eight threads compute at once at the most."""
    inside, most, count = 0, 0, threading.Lock()
    two = threading.Barrier(2)  # passed where two compute at once; where none does, the first wait breaks it

    def compute(_: int) -> None:
        nonlocal inside, most
        with hold_compute_lock(patience_s):
            with count:
                inside += 1
                most = max(most, inside)
            with suppress(threading.BrokenBarrierError):
                two.wait(timeout=0.2 if patience_s else 30.0)
            with count:
                inside -= 1

    with ThreadPoolExecutor(8) as pool:
        list(pool.map(compute, range(16)))
    return most


def test_one_computes_at_a_time() -> None:
    assert together(patience_s=60.0) == 1


def test_who_has_waited_long_goes_on() -> None:
    assert together(patience_s=0.0) > 1


def test_a_turn_ends_with_an_error() -> None:
    for _ in range(3):
        with pytest.raises(ValueError, match="broken"), hold_compute_lock(60.0):
            raise ValueError("broken")
    assert together(patience_s=60.0) == 1


def test_who_takes_long_loses_the_turn_to_one_and_the_others_wait_for_that_one() -> None:
    """So that beside what is long, what is short still computes one at a time."""
    lock = ComputeLock()
    first, second = lock.acquire(0.0), lock.acquire(60.0)
    third = threading.Thread(target=lock.acquire, args=(60.0,), daemon=True)
    third.start()
    third.join(0.1)
    assert third.is_alive()
    assert lock.holder is second
    lock.release(first)
    assert lock.holder is second
    lock.release(second)
    third.join(10)
    assert lock.holder not in (None, second)


def test_the_turn_goes_to_who_has_waited_longest() -> None:
    """A newcomer is not before them: they waited up to eight times as long as the others did."""
    lock, order = ComputeLock(), list[int]()
    mine = lock.acquire(60.0)

    def compute(n: int) -> None:
        turn = lock.acquire(60.0)
        order.append(n)
        lock.release(turn)

    threads = [threading.Thread(target=compute, args=(n,)) for n in range(6)]
    for waiting, thread in enumerate(threads, 1):
        thread.start()
        assert until(lambda waiting=waiting: len(lock._queue) == waiting)  # type: ignore[misc]
    lock.release(mine)
    newcomer = lock.acquire(60.0)
    assert order == list(range(6))
    lock.release(newcomer)
    for thread in threads:
        thread.join(10)
    assert lock.holder is None


def test_who_began_to_wait_for_a_patient_holder_sees_that_the_next_one_has_less() -> None:
    """Else what is heavy would keep the turn for as long as the one before it might have had it."""
    lock = ComputeLock()
    light = lock.acquire(60.0)
    heavy, third = (threading.Thread(target=lock.acquire, args=(s,), daemon=True) for s in (0.0, 60.0))
    for waiting, thread in enumerate((heavy, third), 1):
        thread.start()
        assert until(lambda waiting=waiting: len(lock._queue) == waiting)  # type: ignore[misc]
    lock.release(light)
    heavy.join(10)
    third.join(10)
    assert [heavy.is_alive(), third.is_alive()] == [False, False]


def test_plans_are_made_in_turns(client: FlaskClient, example: Example, monkeypatch: pytest.MonkeyPatch) -> None:
    """One requested alone and two of a batch; between and after them the turn is free."""
    taken = []

    def watched(*args: Any) -> Any:
        taken.append(compute_lock.LOCK.holder is not None)
        return advise(*args)

    monkeypatch.setattr(plans, "advise", watched)
    body = example("planFitting", "own_stock")
    assert client.post("/v1/plans", json=body).status_code == 200
    results = client.post("/v1/plans/batch", json={"plans": [body, body]}).get_json()["results"]
    assert [r["problem"] for r in results] == [None, None]
    assert taken == [True] * 3
    assert compute_lock.LOCK.holder is None


def test_what_is_heavy_has_less_patience(example: Example, monkeypatch: pytest.MonkeyPatch) -> None:
    """With one patience for all, eight plans of 70 ms took each other's turns, and half as long again."""
    asked = list[float]()

    def acquire(patience_s: float) -> threading.Event:
        asked.append(patience_s)
        return threading.Event()

    monkeypatch.setattr(compute_lock.LOCK, "acquire", acquire)
    monkeypatch.setattr(admission, "HEAVY_MS", 0.0)
    client, body = create_app(Settings()).test_client(), example("planFitting", "own_stock")
    for _ in range(2):  # the second is like one that was heavy
        assert client.post("/v1/plans", json=body).status_code == 200
    assert asked == [PATIENCE_S, HEAVY_PATIENCE_S]
