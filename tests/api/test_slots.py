"""Room for heavy requests: in turn, for a while, and with an honest time to ask again."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from prometheus_client import CollectorRegistry, Gauge

from rimpoise_service.api.ops import slots
from rimpoise_service.api.ops.slots import Slots
from tests.load.service import until

PATIENCE_S = 60.0
CALLERS = [f"caller {n}" for n in range(4)]
Served = list[tuple[int, bool]]
Threads = list[threading.Thread]


@pytest.fixture(autouse=True)
def _patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """Who waits in a test is not refused because the machine is busy."""
    monkeypatch.setattr(slots, "WAIT_S", PATIENCE_S)


def new(most: int, together: int) -> tuple[Slots, Callable[[], float]]:
    """And how many are taken."""
    registry = CollectorRegistry()
    gauge = Gauge("heavy", "Heavy.", registry=registry)
    return Slots(most, together, gauge), lambda: registry.get_sample_value("heavy") or 0.0


def waiting(room: Slots, count: int, gone: Callable[[], bool] = lambda: False) -> tuple[Served, Threads]:
    """So many who wait, one after the other; who of them was served, in order, and their threads."""
    served, threads = Served(), Threads()
    for n in range(count):
        before = len(room._queue)
        thread = threading.Thread(target=lambda n=n: served.append((n, room.take(CALLERS[n], gone))))
        thread.start()
        threads.append(thread)
        assert until(lambda before=before: len(room._queue) > before)  # type: ignore[misc]
    return served, threads


def test_who_has_waited_longest_is_next_and_nobody_goes_before() -> None:
    room, taken = new(1, 5)
    assert room.take("first")
    served, threads = waiting(room, 4)
    assert not room.take("first")  # no place for a fifth to wait
    for n, (holder, thread) in enumerate(zip(("first", *CALLERS), threads, strict=False), 1):
        room.release(holder, 0.1)
        thread.join(PATIENCE_S)
        assert [who for who, _ in served] == list(range(n))
    assert (all(got for _, got in served), taken()) == (True, 1)
    room.release("caller 3", 0.1)
    assert (room.take("first"), taken()) == (True, 1)


def test_who_has_waited_long_enough_is_refused_and_leaves_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(slots, "WAIT_S", 0.0)
    room, taken = new(1, 2)
    assert [room.take(who) for who in ("first", *CALLERS)] == [True, False, False, False, False]
    room.release("first", 0.1)
    assert (taken(), room.take("second")) == (0, True)


def test_who_has_left_does_not_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(slots, "LOOK_S", 0.001)
    room, taken = new(1, 2)
    left = threading.Event()
    assert room.take("first")
    served, (thread,) = waiting(room, 1, left.is_set)
    left.set()
    thread.join(PATIENCE_S)
    assert (served, taken()) == ([(0, False)], 1)


def test_no_caller_has_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever holds a slot for long, or asks for many, leaves one to others, and a place to wait for it."""
    monkeypatch.setattr(slots, "WAIT_S", 0.0)
    room, taken = new(2, 4)
    assert [room.take("greedy") for _ in range(3)] == [True, False, False]
    assert (room.take("other"), taken()) == (True, 2)
    room.release("other", 0.1)
    monkeypatch.setattr(slots, "WAIT_S", PATIENCE_S)
    threads = [threading.Thread(target=room.take, args=("greedy",)) for _ in range(2)]
    for thread in threads:
        thread.start()
    assert until(lambda: len(room._queue) == 2)
    assert not room.take("greedy")  # with the one it has that is all but one
    assert room.take("other")
    for holder in ("greedy", "greedy"):
        room.release(holder, 0.1)
    for thread in threads:
        thread.join(PATIENCE_S)
    assert taken() == 2


def test_when_to_ask_again_is_what_the_last_ones_took_for_all_who_wait() -> None:
    room, _ = new(2, 5)
    assert (room.take("first"), room.take("second")) == (True, True)
    assert room.retry_after("last") == 1
    for _ in range(40):
        room.release("first", 6.0)
        assert room.take("first")
    _, threads = waiting(room, 3)
    assert room.retry_after("last") == 12  # two at once, 6 s each: three before, and itself
    for holder, thread in zip(("first", *CALLERS), threads, strict=False):
        room.release(holder, 6.0)
        thread.join(PATIENCE_S)


def test_a_caller_alone_waits_for_its_own_one_by_one() -> None:
    """Of two places it never has both: its second waits for all of the first, its third for both of them."""
    room, _ = new(2, 5)
    for _ in range(40):
        assert room.take("alone")
        room.release("alone", 6.0)
    assert room.take("alone")
    assert (room.retry_after("alone"), room.retry_after("other")) == (6, 3)  # for the other a place is free
    threads = [threading.Thread(target=room.take, args=("alone",)) for _ in range(2)]
    for thread in threads:
        thread.start()
    assert until(lambda: len(room._queue) == 2)
    assert (room.retry_after("alone"), room.retry_after("other")) == (18, 9)
    for _ in threads:
        room.release("alone", 6.0)
    for thread in threads:
        thread.join(PATIENCE_S)
