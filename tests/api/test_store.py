"""Counting, here and in a store that others use: what buckets hold, and what happens while the store is away."""

from __future__ import annotations

import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from threading import Event

import pytest

from rimpoise_service.api.ops.computing_budget import (
    MAX_CALLERS,
    Buckets,
    ComputingBudget,
    LocalBuckets,
    SharedBuckets,
)
from rimpoise_service.api.ops.rate_limit import MAX_COUNTS, LocalCounts, RateLimit
from rimpoise_service.api.ops.store import PAUSE_S, FailFast
from tests.clock import Clock
from tests.load.service import free_port, wait_until_listened_at

needs_redis = pytest.mark.skipif(shutil.which("redis-server") is None, reason="the machine has no redis-server")


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """A store that keeps nothing, and its process; it is not waited for as briefly as in a service."""
    monkeypatch.setattr("rimpoise_service.api.ops.store.TIMEOUT_S", 20.0)
    port = free_port()
    options = ["--bind", "127.0.0.1", "--port", str(port), "--save", "", "--appendonly", "no"]
    process = subprocess.Popen(["redis-server", *options], stdout=subprocess.DEVNULL)
    try:
        wait_until_listened_at(port)
        yield f"redis://127.0.0.1:{port}", process
    finally:
        process.kill()
        process.wait(10)


def nobody() -> None:
    """Hears of failures where there should be none."""
    raise AssertionError


def test_a_bucket_fills_by_itself_and_never_over_its_brim(clock: Clock) -> None:
    buckets = LocalBuckets(rate=10, most=100)
    assert buckets.spend("a", 0) == 100
    assert buckets.spend("a", 130) == -30  # what it costs is known afterwards
    clock.now += 2
    assert buckets.spend("a", 0) == -10
    assert buckets.spend("b", 1) == 99
    clock.now += 1000
    assert buckets.spend("a", 0) == 100


@pytest.mark.usefixtures("clock")
def test_buckets_are_bounded() -> None:
    buckets = LocalBuckets(rate=10, most=100)
    for n in range(MAX_CALLERS + 10):
        buckets.spend(str(n), 50)
    assert len(buckets._buckets) == MAX_CALLERS
    assert buckets.spend(str(MAX_CALLERS + 9), 0) == 50


def test_counts_are_bounded() -> None:
    """The library keeps 370 bytes of every caller for two windows, and looks through all with each request."""
    counts = LocalCounts()
    for n in range(MAX_COUNTS + 2):
        counts.incr(str(n), 600)
    assert len(counts.expirations) == len(counts.storage) <= MAX_COUNTS
    assert [counts.get("0"), counts.get(str(MAX_COUNTS + 1))] == [0, 1]


def test_how_long_to_wait(clock: Clock) -> None:
    budget = ComputingBudget(10, 100, "memory://", nobody)
    assert budget.spend("a", 150) == 5
    clock.now += 5
    assert budget.spend("a", 0) == 0


@needs_redis
def test_a_shared_bucket_is_one_for_all(server: tuple[str, object]) -> None:
    """The same as in a process, but for the time that passes meanwhile."""
    first, second = (SharedBuckets(server[0], rate=1, most=100) for _ in range(2))
    assert first.spend("a", 130) == -30
    assert second.spend("a", 0) == pytest.approx(-30, abs=2)
    assert second.spend("b", 0) == 100
    left_ms = first._script.registered_client.pttl("rimpoise:work:a")
    assert isinstance(left_ms, int)
    assert 100_000 < left_ms < 140_000  # gone when it is full


@needs_redis
def test_a_clock_that_is_set_back_takes_nothing_away(server: tuple[str, object]) -> None:
    """As after a failover to a store whose clock is an hour behind: its callers got nothing for an hour."""
    buckets = SharedBuckets(server[0], rate=1, most=100)
    assert buckets.spend("a", 30) == 70
    redis = buckets._script.registered_client
    redis.hset("rimpoise:work:a", "at", str(time.time() + 3600))
    assert [buckets.spend("a", 10), buckets.spend("a", 10)] == pytest.approx([60, 50], abs=2)


@pytest.mark.parametrize("said", [b"nan", b"inf", b"-inf", b"hello", None])
def test_nonsense_from_the_store_is_a_failure_of_the_store(said: object) -> None:
    """What is no number of units would be a 500."""
    buckets = SharedBuckets("redis://127.0.0.1:1", rate=1, most=100)
    buckets._script = lambda **_: said  # type: ignore[assignment]
    with pytest.raises((TypeError, ValueError)):
        buckets.spend("a", 10)


class Flaky(Buckets):
    """A store that is there or not."""

    def __init__(self) -> None:
        self.there, self.tried = True, 0

    def spend(self, _: str, __: float) -> float:
        self.tried += 1
        if not self.there:
            raise TimeoutError("no answer")
        return 1.0


def test_a_store_that_fails_is_left_alone_for_a_while(clock: Clock) -> None:
    shared, failures = Flaky(), list[None]()
    count = FailFast[Buckets](shared, LocalBuckets(1, 100), lambda: failures.append(None))

    def spend() -> float:
        return count(lambda buckets: buckets.spend("a", 1))

    assert spend() == 1
    shared.there = False
    assert [spend() for _ in range(50)] == list(range(99, 49, -1))  # counted here meanwhile
    assert (shared.tried, len(failures)) == (2, 1)
    clock.now += PAUSE_S
    spend()
    assert (shared.tried, len(failures)) == (3, 2)
    shared.there = True
    clock.now += PAUSE_S
    assert spend() == 1


def test_while_one_request_tries_the_store_again_others_do_not_wait_for_it(clock: Clock) -> None:
    shared, local = Flaky(), LocalBuckets(1, 100)
    count = FailFast[Buckets](shared, local, lambda: None)
    shared.there = False
    assert count(lambda buckets: buckets.spend("a", 1)) == 99
    clock.now += PAUSE_S
    meanwhile = list[Buckets]()

    def slowly(_: Buckets) -> float:
        meanwhile.append(count(lambda buckets: buckets))
        return 1.0

    count(slowly)
    assert meanwhile == [local]
    assert count(lambda buckets: buckets) is shared


@pytest.mark.parametrize("scheme", ["redis", "rediss"])
def test_a_name_server_that_says_nothing_holds_nobody_up(scheme: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each request waited ten seconds for the address, in all threads, and then again five seconds later."""
    monkeypatch.setattr("rimpoise_service.api.ops.store.TIMEOUT_S", 0.05)
    over, failures = Event(), list[None]()
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_: over.wait() and [])
    url = f"{scheme}://store.example:6379"
    try:
        assert RateLimit("3/minute", url, lambda: failures.append(None)).count("a")[0] is None
        assert ComputingBudget(10, 100, url, lambda: failures.append(None)).spend("a", 1) < 0
    finally:
        over.set()
    assert len(failures) == 2


@needs_redis
def test_the_address_is_asked_for_with_each_connection_and_no_command(
    server: tuple[str, subprocess.Popen[bytes]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """If the client no longer connects by what is overridden, it is not asked for at all."""
    waited = list[str]()
    monkeypatch.setattr(
        "rimpoise_service.api.ops.store_connections.await_address", lambda host, _: waited.append(host)
    )
    buckets = SharedBuckets(server[0], rate=1, most=100)
    for _ in range(3):
        buckets.spend("somebody", 1)
    assert waited == ["127.0.0.1"]
    buckets._script.registered_client.connection_pool.disconnect()
    buckets.spend("somebody", 1)
    assert waited == ["127.0.0.1"] * 2


@needs_redis
def test_a_frozen_store_holds_nobody_up(
    server: tuple[str, subprocess.Popen[bytes]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """It accepts connections and answers nothing, which is worse than being gone."""
    monkeypatch.setattr("rimpoise_service.api.ops.store.TIMEOUT_S", 0.5)
    url, process = server
    failures = list[None]()
    limit = RateLimit("3/minute", url, lambda: failures.append(None))
    budget = ComputingBudget(10, 100, url, lambda: failures.append(None))
    assert (limit.count("a")[0], budget.spend("a", 1) < 0, failures) == (None, True, [])
    process.send_signal(signal.SIGSTOP)
    try:
        began = time.perf_counter()
        waits = [limit.count("a")[0] for _ in range(4)]
        budget.spend("a", 1)
        took_s = time.perf_counter() - began
    finally:
        process.send_signal(signal.SIGCONT)
    assert [wait is None for wait in waits] == [True, True, True, False]  # the rate holds here meanwhile
    assert len(failures) == 2  # once for each, not for each request, and so it is waited for twice
    assert took_s < 10
