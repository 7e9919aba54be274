"""Bodies that would cost hundreds of megabytes if they were read at once: what they cost a worker, and others."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from threading import Thread

import pytest

from rimpoise_service.api.endpoints import plan_batch
from rimpoise_service.api.http.media_types import JSON, NDJSON
from tests.load.service import Service, running

MIB = 1024 * 1024
ITEM = b"[[]],"
"""Five bytes, and two lists of 56 bytes each and more once they are read."""

MOST_MB = 100.0
"""More than a worker has at rest; 36 MB were measured, and 500 MB and more while a body was read at once."""

SOON_S = 3.0


@pytest.fixture(scope="module")
def service() -> Iterator[Service]:
    with running(workers="1", threads="4") as one:
        yield one


@pytest.fixture(scope="module")
def at_rest_mb(service: Service) -> float:
    """What it had before any of this."""
    return peak_mb(service)


def peak_mb(service: Service) -> float:
    """The most that the worker ever had [MB]."""
    (worker,) = service.workers
    (kb,) = re.findall(r"^VmHWM:\s*(\d+)", Path(f"/proc/{worker}/status").read_text(), re.MULTILINE)
    return int(kb) / 1024


def post(port: int, path: str, body: bytes | list[bytes], media_type: str) -> int:
    """The status, 0 if it hung up; a list goes in chunks, without a length."""
    connection = HTTPConnection("127.0.0.1", port, timeout=30)
    sent = iter(body) if isinstance(body, list) else body
    with suppress(OSError):  # refused before all was sent
        connection.request("POST", path, sent, {"Content-Type": media_type})
    try:
        with connection.getresponse() as answer:
            answer.read()
            return answer.status
    except (OSError, HTTPException):
        return 0
    finally:
        connection.close()


def slowest_health(port: int, meanwhile: Callable[[], None]) -> float:
    """The longest that a light request took while something was done [s]."""
    thread, worst = Thread(target=meanwhile), 0.0
    thread.start()
    while thread.is_alive():
        began = time.monotonic()
        connection = HTTPConnection("127.0.0.1", port, timeout=30)
        connection.request("GET", "/healthz")
        assert connection.getresponse().status == 200
        connection.close()
        worst = max(worst, time.monotonic() - began)
        thread.join(0.02)
    return worst


def batch(size: int) -> bytes:
    return b'{"requests": [' + ITEM * (size // len(ITEM)) + b"[[]]]}"


BODIES: dict[str, tuple[str, bytes | list[bytes], str, set[int]]] = {
    "16 MiB": ("/v1/plans/batch", batch(16 * MIB), JSON, {413}),
    "16 MiB in chunks": ("/v1/plans/batch", [ITEM * 13_107] * 256, JSON, {413}),
    "as much as is read": ("/v1/plans/batch", batch(plan_batch.MAX_BODY - 100), JSON, {400}),
    "as much as is read, elsewhere": ("/v1/plans", b"[" + ITEM * 200_000 + b"[]]", JSON, {400}),
    "16 MiB in a line": ("/v1/plans/stream", ITEM * (16 * MIB // 5), NDJSON, {200, 413}),
    "16 MiB in lines": ("/v1/plans/stream", (ITEM * 20_000 + b"\n") * (16 * MIB // 100_000), NDJSON, {200, 413}),
}


@pytest.mark.parametrize("name", BODIES)
def test_what_a_body_of_empty_lists_costs(service: Service, at_rest_mb: float, name: str) -> None:
    path, body, media_type, expected = BODIES[name]
    statuses = set[int]()

    def two_at_once() -> None:
        each = [Thread(target=lambda: statuses.add(post(service.port, path, body, media_type))) for _ in range(2)]
        for thread in each:
            thread.start()
        for thread in each:
            thread.join()

    slowest = slowest_health(service.port, two_at_once)
    assert statuses <= expected
    assert peak_mb(service) - at_rest_mb < MOST_MB
    assert slowest < SOON_S
