"""Light requests beside callers of the heaviest plans: one instance, each caller at an address of its own."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

from rimpoise_service.gunicorn_app import REPORT_S

from . import asking
from .asking import PAUSE_S, TIMEOUT_S, Tally, in_threads, unanswered
from .echo import TWO_CLIPS
from .heaviest import PLANS
from .service import running
from .table import table

SECONDS = 10.0
HEAVY = json.dumps(PLANS["the same, limits just not met"]).encode()
LIGHT = json.dumps(TWO_CLIPS).encode()
LONG_S = 3 * TIMEOUT_S
"""For sixteen of the heaviest plans at once in one worker [s]."""


@contextmanager
def callers(port: int, count: int, body: bytes, network: int) -> Iterator[Tally]:
    """So many, each asking for the same plan again and again; refusals wait as they are told to."""
    tally, over = Tally(), threading.Event()

    def go(n: int) -> None:
        headers = {"Content-Type": "application/json", "X-Forwarded-For": f"192.0.{network}.{n}"}
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=TIMEOUT_S)
        while not over.is_set():
            began, wait_s = time.perf_counter(), PAUSE_S
            try:
                connection.request("POST", "/v1/plans", body, headers)
                with connection.getresponse() as answer:
                    answer.read()
                    outcome = "right" if answer.status == 200 else "refused"
                    wait_s = float(answer.headers.get("Retry-After", PAUSE_S))
            except (OSError, http.client.HTTPException) as error:
                connection.close()
                outcome = unanswered(error)
            tally.add(outcome, (time.perf_counter() - began) * 1e3)
            over.wait(wait_s)

    with in_threads(go, range(1, count + 1), over):
        yield tally


def beside(heavy: int) -> Tally:
    """Four light callers beside so many heavy ones, after these have been noticed."""
    with running(trusted_proxies="1", work_rate="500") as service, callers(service.port, heavy, HEAVY, 2) as _:
        time.sleep(SECONDS / 2 if heavy else 0.0)
        with callers(service.port, 4, LIGHT, 3) as light:
            time.sleep(SECONDS)
    return light


def at_once(rounds: int = 4, count: int = 16) -> Iterator[Sequence[object]]:
    """One worker's memory [MB] while so many callers ask for a first heavy plan at once: these count as light.

    The rows of a table: the most so far, and what is left two reports later.
    """
    bodies = [json.dumps(body).encode() for name, body in PLANS.items() if name != "two clip-ons"]
    with running(workers="1", trusted_proxies="1") as service, ThreadPoolExecutor(count) as callers:

        def ask(n: int) -> int:
            connection = http.client.HTTPConnection("127.0.0.1", service.port, timeout=LONG_S)
            headers = {"Content-Type": "application/json", "X-Forwarded-For": f"192.0.2.{n}"}
            connection.request("POST", "/v1/plans", bodies[n % len(bodies)], headers)
            with connection.getresponse() as answer:
                answer.read()
                return answer.status

        for number in range(rounds):
            found = list(callers.map(ask, range(number * count, (number + 1) * count)))
            time.sleep(2.5 * REPORT_S)
            yield (number + 1) * count, found.count(200), service.peak_mb, service.memory_mb[0][0]


def report() -> None:
    """Print both tables."""
    rows = [[f"beside {heavy} callers of the heaviest plan", *beside(heavy).row()] for heavy in (0, 8)]
    table(asking.HEAD, rows)
    print()
    table(
        ("heavy plans of as many callers, 16 at once", "answered", "most memory, MB", "afterwards"),
        list(at_once()),
    )
