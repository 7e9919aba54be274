"""Room for heavy requests: in turn, for a while, and with an honest time to ask again."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from prometheus_client import CollectorRegistry, Gauge

from rimpoise_service.api.ops import slots
from rimpoise_service.api.ops.slots import Slots
from tests.load.service import until

PATIENCE_S = 10.0
Served = list[tuple[int, bool]]
Threads = list[threading.Thread]


def new(most: int, waiting: int) -> tuple[Slots, Callable[[], float]]:
    """And how many are taken."""
    registry = CollectorRegistry()
    gauge = Gauge("heavy", "Heavy.", registry=registry)
    return Slots(most, waiting, gauge), lambda: registry.get_sample_value("heavy") or 0.0


def waiting(room: Slots, count: int, gone: Callable[[], bool] = lambda: False) -> tuple[Served, Threads]:
    """So many who wait, one after the other; who of them was served, in order, and their threads."""
    served, threads = Served(), Threads()
    for n in range(count):
        before = len(room._queue)
        thread = threading.Thread(target=lambda n=n: served.append((n, room.take(gone))))
        thread.start()
        threads.append(thread)
        assert until(lambda before=before: len(room._queue) > before)  # type: ignore[misc]
    return served, threads


def test_who_has_waited_longest_is_next_and_nobody_goes_before() -> None:
    room, taken = new(1, 4)
    assert room.take()
    served, threads = waiting(room, 4)
    assert not room.take()  # no place for a fifth to wait
    for n, thread in enumerate(threads, 1):
        room.release(0.1)
        thread.join(PATIENCE_S)
        assert [who for who, _ in served] == list(range(n))
    assert (all(got for _, got in served), taken()) == (True, 1)
    room.release(0.1)
    assert (room.take(), taken()) == (True, 1)


def test_who_has_waited_long_enough_is_refused_and_leaves_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(slots, "WAIT_S", 0.0)
    room, taken = new(1, 1)
    assert [room.take() for _ in range(4)] == [True, False, False, False]
    room.release(0.1)
    assert (taken(), room.take()) == (0, True)


def test_who_has_left_does_not_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(slots, "LOOK_S", 0.001)
    room, taken = new(1, 1)
    left = threading.Event()
    assert room.take()
    served, (thread,) = waiting(room, 1, left.is_set)
    left.set()
    thread.join(PATIENCE_S)
    assert (served, taken()) == ([(0, False)], 1)


def test_when_to_ask_again_is_what_the_last_ones_took_for_all_who_wait() -> None:
    room, _ = new(2, 3)
    assert (room.take(), room.take()) == (True, True)
    assert room.retry_after() == 1
    for _ in range(40):
        room.release(6.0)
        assert room.take()
    _, threads = waiting(room, 3)
    assert room.retry_after() == 12  # two at once, 6 s each: three before, and itself
    for thread in threads:
        room.release(6.0)
        thread.join(PATIENCE_S)
