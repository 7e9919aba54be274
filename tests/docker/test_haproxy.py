"""The load balancer, as far as it answers itself: a real one on loopback, in front of one replica or of none."""

from __future__ import annotations

import json
import select
import shutil
import socket
import subprocess
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from http.client import HTTPConnection
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Event, Thread
from time import sleep
from uuid import UUID

import pytest

from tests.api.raw_callers import SOON_S
from tests.load.hostile import slow_bodies
from tests.load.replicas import configuration
from tests.load.service import free_port, running, until, wait_until_listened_at

pytestmark = pytest.mark.skipif(shutil.which("haproxy") is None, reason="the machine has no HAProxy")
PLAN = b"POST /v1/plans HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"


@contextmanager
def balancer(folder: Path, *replicas: int, bind: str = "") -> Iterator[int]:
    """Its port, when it answers. On a busy machine a check may take longer than it does where each has its own."""
    port, file = free_port(), folder / "haproxy.cfg"
    text = configuration(port, list(replicas)).replace("timeout check 1s", "timeout check 20s")
    file.write_text(text.replace(f":{port}\n", f":{port} {bind}\n"), encoding="utf-8")
    process = subprocess.Popen(["haproxy", "-db", "-f", str(file)], stdout=subprocess.DEVNULL)
    try:
        wait_until_listened_at(port)
        yield port
    finally:
        process.kill()
        process.wait(10)


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    with balancer(tmp_path_factory.mktemp("alone"), free_port()) as port:
        yield port


def reported(port: int, data: bytes) -> tuple[int, dict[str, str], bytes]:
    """What it answers to some bytes."""
    with socket.create_connection(("127.0.0.1", port), timeout=20) as one:
        one.sendall(data)
        return answer_on(one)


def answer_on(connection: socket.socket) -> tuple[int, dict[str, str], bytes]:
    """Status, headers and body of the answer that comes on it."""
    with connection.makefile("rb") as file:
        status = int(file.readline().split()[1])
        headers = dict[str, str]()
        while line := file.readline().decode().strip():
            name, _, value = line.partition(":")
            headers[name.lower()] = value.strip()
        return status, headers, file.read(int(headers["content-length"]))


@pytest.mark.parametrize(
    ("data", "status"),
    [
        (b"TRACE / HTTP/1.1\r\nHost: x\r\n\r\n", 405),
        (b"INVENTED / HTTP/1.1\r\nHost: x\r\n\r\n", 405),
        (PLAN + b"Content-Length: 4194305\r\n\r\n", 413),
        (PLAN + b"Content-Length: 1048577\r\n\r\n", 413),
        (b"GET /healthz HTTP/1.1\r\nHost: x\r\n\r\n", 503),
    ],
)
def test_what_it_answers_itself_is_a_problem(alone: int, data: bytes, status: int) -> None:
    found, headers, body = reported(alone, data)
    assert (found, headers["content-type"]) == (status, "application/problem+json")
    problem = json.loads(body)
    assert set(problem) == {"type", "title", "status", "detail", "instance", "errors"}
    assert problem["status"] == status
    assert problem["instance"] == f"urn:uuid:{UUID(headers['x-request-id'])}"
    assert headers["x-content-type-options"] == "nosniff"
    assert ("retry-after" in headers) == (status == 503)


@pytest.mark.parametrize("path", [b"/v1/plans", b"/v1/plans/batch"])
def test_chunks_that_are_none_are_a_problem(alone: int, path: bytes) -> None:
    """Once the head was good. It must have been seen first: bytes that come with it are still the parser's."""
    head = b"POST " + path + b" HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\n"
    with socket.create_connection(("127.0.0.1", alone), timeout=20) as one:
        one.sendall(head)
        sleep(0.5)
        one.sendall(b"no size\r\n")
        status, headers, body = answer_on(one)
    assert (status, headers["content-type"]) == (400, "application/problem+json")
    assert json.loads(body)["type"] == "/problems/malformed-request"
    assert json.loads(body)["instance"] == f"urn:uuid:{UUID(headers['x-request-id'])}"
    assert (headers["x-content-type-options"], headers["cache-control"]) == ("nosniff", "no-store")


def test_one_address_holds_a_part_of_the_connections_and_no_more(alone: int) -> None:
    """250 of 1,000, whether it says anything or not; others are answered. Its threads take them in no order."""
    with ExitStack() as stack:
        many = {each.fileno(): each for each in (stack.enter_context(socket.socket()) for _ in range(260))}
        heard = select.poll()
        for number, each in many.items():
            each.bind(("127.0.0.9", 0))
            each.connect(("127.0.0.1", alone))
            heard.register(number, select.POLLIN)
        assert until(lambda: len(heard.poll(0)) >= 10)
        ends = heard.poll(0)
        assert len(ends) < 20
        for number, _ in ends:
            with pytest.raises(ConnectionResetError):
                many[number].recv(1)
        assert reported(alone, b"TRACE / HTTP/1.1\r\nHost: x\r\n\r\n")[0] == 405


class Mute(ThreadingHTTPServer):
    """An instance that is ready, takes requests, and hangs up on them."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), MuteRequest)
        self.reached = Event()


class MuteRequest(BaseHTTPRequestHandler):
    """One of them."""

    server: Mute

    def do_GET(self) -> None:
        """What the balancer's checks ask for."""
        self.send_response(200)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def do_POST(self) -> None:
        """No answer, once all of it has come."""
        self.server.reached.set()
        with suppress(ConnectionResetError):
            self.rfile.read(int(self.headers["Content-Length"]))
        self.close_connection = True

    def log_message(self, *_: object) -> None:
        """Nothing."""


@pytest.fixture(scope="module")
def mute() -> Iterator[Mute]:
    with Mute() as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield server
        server.shutdown()


@pytest.fixture(scope="module")
def before_mute(mute: Mute, tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """A balancer in front of it."""
    with balancer(tmp_path_factory.mktemp("mute"), mute.server_port) as port:
        yield port


def test_an_instance_that_hangs_up_is_a_problem(before_mute: int) -> None:
    status, headers, body = reported(before_mute, PLAN + b"Content-Length: 2\r\n\r\n{}")
    assert (status, headers["retry-after"]) == (502, "1")
    assert json.loads(body)["type"] == "/problems/bad-gateway"


@pytest.mark.parametrize(("path", "source"), [(b"plans/batch", "127.0.0.11"), (b"plans/%62atch", "127.0.0.12")])
def test_one_address_sends_one_body_at_a_time_that_does_not_fit_the_buffer(
    mute: Mute, before_mute: int, path: bytes, source: str
) -> None:
    """There are few places for what may come slowly. Each from its own address: a place is freed late."""
    second_waits_for_first(mute, before_mute, path, source=source)


def test_one_network_of_ipv6_is_one_address(mute: Mute, tmp_path: Path) -> None:
    """As the service counts it: whoever has one has 2^64 addresses."""
    with balancer(tmp_path, mute.server_port, bind="accept-proxy") as port:
        first, second = (b"PROXY TCP6 2001:db8::%d ::1 9 9\r\n" % n for n in (1, 2))
        second_waits_for_first(mute, port, b"plans/batch", first, second)
    text = configuration(1, [])
    assert text.count("src,ipmask(32,64)") == text.count(" track-sc")


def second_waits_for_first(
    mute: Mute, port: int, path: bytes, first: bytes = b"", second: bytes = b"", source: str = "127.0.0.1"
) -> None:
    """While a large body comes in, of which the instance has the beginning, another one gets a problem."""
    part = PLAN.replace(b"plans", path) + b"Content-Length: 2000000\r\n\r\n" + b" " * 1_200_000
    mute.reached.clear()
    with ExitStack() as stack:
        one, other = (
            stack.enter_context(socket.create_connection(("127.0.0.1", port), 20, (source, 0))) for _ in range(2)
        )
        one.sendall(first + part)
        assert mute.reached.wait(20)
        other.sendall(second + part)
        status, headers, body = answer_on(other)
        assert (status, headers["retry-after"]) == (429, "1")
        assert json.loads(body)["type"] == "/problems/too-many-requests"


def test_slow_bodies_take_no_place_from_others(tmp_path: Path) -> None:
    """Sixty callers who have sent 140 kB of 1 MB, and hold on: seven times as many as a replica has places."""
    with ExitStack() as stack:
        replica = stack.enter_context(running(workers="1", connections="10"))
        port = stack.enter_context(balancer(tmp_path, replica.port))
        stack.enter_context(slow_bodies(port, 60))
        for _ in range(10):
            connection = HTTPConnection("127.0.0.1", port, timeout=SOON_S)
            connection.request("GET", "/v1/reference", headers={"X-Forwarded-For": "192.0.2.1"})
            assert connection.getresponse().status == 200
            connection.close()
