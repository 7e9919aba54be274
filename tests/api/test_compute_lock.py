"""Threads take turns at computing, and none waits long for another."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from typing import Any

import pytest
from flask.testing import FlaskClient

from rimpoise_service.api.endpoints import plans
from rimpoise_service.api.ops import compute_lock
from rimpoise_service.api.ops.compute_lock import ComputeLock, hold_compute_lock
from rimpoise_service.planning.advice import advise
from tests.load.service import until


def together(monkeypatch: pytest.MonkeyPatch, patience_s: float) -> int:
    """How many of eight threads compute at once at the most."""
    monkeypatch.setattr(compute_lock, "PATIENCE_S", patience_s)
    inside, most, count = 0, 0, threading.Lock()
    two = threading.Barrier(2)  # passed where two compute at once; where none does, the first wait breaks it

    def compute(_: int) -> None:
        nonlocal inside, most
        with hold_compute_lock():
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


def test_one_computes_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    assert together(monkeypatch, patience_s=60.0) == 1


def test_who_has_waited_long_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    assert together(monkeypatch, patience_s=0.0) > 1


def test_a_turn_ends_with_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    for _ in range(3):
        with pytest.raises(ValueError, match="broken"), hold_compute_lock():
            raise ValueError("broken")
    assert together(monkeypatch, patience_s=60.0) == 1


def test_who_takes_long_loses_the_turn_to_one_and_the_others_wait_for_that_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """So that beside what is long, what is short still computes one at a time."""
    with hold_compute_lock():
        monkeypatch.setattr(compute_lock, "PATIENCE_S", 0.0)
        with hold_compute_lock():
            second = compute_lock.LOCK.holder
            monkeypatch.setattr(compute_lock, "PATIENCE_S", 60.0)
            third = threading.Thread(target=compute_lock.LOCK.acquire, daemon=True)
            third.start()
            third.join(0.1)
            assert third.is_alive()
            assert compute_lock.LOCK.holder is second
        third.join(10)
        assert compute_lock.LOCK.holder not in (None, second)
    compute_lock.LOCK.holder = None


def test_the_turn_goes_to_who_has_waited_longest(monkeypatch: pytest.MonkeyPatch) -> None:
    """A newcomer is not before them: they waited up to eight times as long as the others did."""
    monkeypatch.setattr(compute_lock, "PATIENCE_S", 60.0)
    lock, order = ComputeLock(), list[int]()
    mine = lock.acquire()

    def compute(n: int) -> None:
        turn = lock.acquire()
        order.append(n)
        lock.release(turn)

    threads = [threading.Thread(target=compute, args=(n,)) for n in range(6)]
    for waiting, thread in enumerate(threads, 1):
        thread.start()
        assert until(lambda waiting=waiting: len(lock._queue) == waiting)  # type: ignore[misc]
    lock.release(mine)
    newcomer = lock.acquire()
    assert order == list(range(6))
    lock.release(newcomer)
    for thread in threads:
        thread.join(10)
    assert lock.holder is None


def test_plans_are_made_in_turns(
    client: FlaskClient, example: Callable[[str, str], Any], monkeypatch: pytest.MonkeyPatch
) -> None:
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
