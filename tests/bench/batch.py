"""What a plan costs in a batch, beside the same plan requested alone; and the memory that lines take.

Each server is a process of its own with one worker. Its cost is the worker's own CPU time, user and system, as the
kernel counts it; the caller's is wall time on one connection. All wheels are invented.
"""

from __future__ import annotations

import http.client
import json
import os
import random
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import urlsplit

from rimpoise.cli.local_service import local_process
from rimpoise_service.api.endpoints.examples.plans import ALLOY_WHEEL, STEEL_WHEEL
from rimpoise_service.api.endpoints.examples.stock import SHOP_STOCK

PLANS = 300
LINES = (1_000, 10_000)
TICK_S = 1 / os.sysconf("SC_CLK_TCK")
WHEELS = (
    ALLOY_WHEEL,
    STEEL_WHEEL,
    ALLOY_WHEEL | {"rim_size": "8Jx18 ET35"},
    STEEL_WHEEL | {"origin": "aftermarket"},
)


def plans(count: int, seed: int = 1) -> Iterator[dict[str, Any]]:
    """Plan requests: a few wheels and shelves, every reading another."""
    rng = random.Random(seed)
    for n in range(count):
        planes = [
            {
                "kind": "position",
                "position_mm": z,
                "radius_mm": 222,
                "mass_g": rng.randint(6, 45),
                "angle_deg": rng.randint(0, 359),
            }
            for z in (-133.9, 43.9)
        ]
        yield {
            "reading": {"kind": "two_plane", "planes": planes},
            "wheel": WHEELS[n % len(WHEELS)],
            "stock": SHOP_STOCK if n % 3 == 0 else {"kind": "builtin", "name": "metric"},
            "reference": f"wheel {n}",
        }


class Cost(NamedTuple):
    """Per plan: the caller's wall time and the server's CPU time [ms]."""

    wall_ms: float
    cpu_ms: float


class Server:
    """A service and one connection to it."""

    def __init__(self, url: str, master: int) -> None:
        self.worker = int(_children(master)[0])
        self.connection = http.client.HTTPConnection(urlsplit(url).netloc)

    def post(self, path: str, body: bytes | Iterable[bytes], media_type: str = "application/json") -> int:
        """Send, read the whole answer, its size [bytes]."""
        chunked = not isinstance(body, bytes)
        headers = {"Content-Type": media_type} | ({"Transfer-Encoding": "chunked"} if chunked else {})
        self.connection.request("POST", path, body, headers, encode_chunked=chunked)
        answer = self.connection.getresponse()
        size = 0
        while block := answer.read(65536):
            size += len(block)
        if answer.status != 200:
            raise AssertionError(answer.status)
        return size

    def cpu_s(self) -> float:
        """CPU time that the worker has used [s]."""
        fields = Path(f"/proc/{self.worker}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) * TICK_S

    def peak_mib(self) -> float:
        """The most memory that the worker ever had [MiB]."""
        status = Path(f"/proc/{self.worker}/status").read_text()
        (line,) = (line for line in status.splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 1024

    def cost(self, work: Callable[[], object], count: int) -> Cost:
        """What some work cost, per plan."""
        cpu, wall = self.cpu_s(), time.perf_counter()
        work()
        return Cost((time.perf_counter() - wall) / count * 1e3, (self.cpu_s() - cpu) / count * 1e3)


def _children(pid: int) -> list[str]:
    return Path(f"/proc/{pid}/task/{pid}/children").read_text().split()


@contextmanager
def server() -> Iterator[Server]:
    """A fresh service with one worker."""
    with local_process(workers=1) as (url, pid):
        yield Server(url, pid)


def costs() -> None:
    """Print the cost of a plan alone, in a document and by line, and the ratios, over three rounds."""
    bodies = [json.dumps(plan).encode() for plan in plans(PLANS)]
    document = b'{"plans": [' + b", ".join(bodies) + b"]}"
    with server() as it:
        ways: dict[str, Callable[[], object]] = {
            "alone": lambda: [it.post("/v1/plans", body) for body in bodies],
            "in a document": lambda: it.post("/v1/plans/batch", document),
            "by line": lambda: it.post("/v1/plans/stream", b"\n".join(bodies), "application/x-ndjson"),
        }
        rounds = [{name: it.cost(work, PLANS) for name, work in ways.items()} for _ in range(4)][1:]
    best = {name: Cost(*(min(r[name][k] for r in rounds) for k in (0, 1))) for name in ways}
    print(f"a plan, {PLANS} at a time, least of {len(rounds)} rounds; ratio to the plan asked for alone")
    for name, cost in best.items():
        wall, cpu = (mine / alone for mine, alone in zip(cost, best["alone"], strict=True))
        print(f"  {name:<16} {cost.wall_ms:7.2f} ms wall {wall:6.2f}   {cost.cpu_ms:7.2f} ms CPU {cpu:6.2f}")


def memory() -> None:
    """Print the worker's peak memory for few and for many lines, sent and read at the same time."""
    for count in LINES:
        with server() as it:
            it.post("/v1/plans", json.dumps(next(plans(1))).encode())
            before = it.peak_mib()
            size = _streamed(it, count)
            print(
                f"  {count:6,} lines, {size / 2**20:6.1f} MiB of answers: "
                f"peak {it.peak_mib():6.1f} MiB, {it.peak_mib() - before:+.1f} on one plan"
            )


def _streamed(it: Server, count: int) -> int:
    """Send lines by a thread of its own while this one reads; the size of the answers [bytes]."""
    from threading import Thread

    it.connection.putrequest("POST", "/v1/plans/stream")
    it.connection.putheader("Content-Type", "application/x-ndjson")
    it.connection.putheader("Transfer-Encoding", "chunked")
    it.connection.endheaders()
    raw = it.connection.sock

    def send() -> None:
        for plan in _again(count):
            line = json.dumps(plan).encode() + b"\n"
            raw.sendall(f"{len(line):x}\r\n".encode() + line + b"\r\n")
        raw.sendall(b"0\r\n\r\n")

    sender = Thread(target=send)
    sender.start()
    answer, size = it.connection.getresponse(), 0
    while block := answer.read(65536):
        size += len(block)
    sender.join()
    return size


def _again(count: int) -> Iterator[dict[str, Any]]:
    """The same few hundred plans over and over: one that needs more than all before would look like a leak."""
    for done in range(0, count, PLANS):
        yield from plans(min(PLANS, count - done))


def report() -> None:
    """Print both."""
    costs()
    memory()
