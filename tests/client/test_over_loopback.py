"""The client against a real server on a loopback port that misbehaves by script."""

from __future__ import annotations

import json
import socket
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
import requests

from rimpoise import (
    AnswerError,
    Client,
    ConnectionFailed,
    CorrectionSet,
    CorrectionsRequest,
    Plane,
    PositionPlane,
    Retry,
    RimpoiseError,
    ServerError,
    StaticReading,
    TimedOut,
    TooManyRequests,
    TransportError,
    __version__,
)

QUICK = Retry(3, first_wait_s=0.01)
HANG_S = 3.0


class Handler(BaseHTTPRequestHandler):
    """Does the next act of the server's script, or answers well when there is none left."""

    protocol_version = "HTTP/1.1"
    server: Server

    def do_POST(self) -> None:
        """Read the question, then act."""
        self.body = self.rfile.read(int(self.headers["Content-Length"]))
        with self.server.lock:
            self.server.seen.append((self.command, self.path, dict(self.headers)))
            act = self.server.script.pop(0) if self.server.script else well
        act(self)

    def answer(self, status: int, content_type: str, body: bytes, **headers: str) -> None:
        """A whole answer."""
        self.send_response(status)
        for name, value in {"Content-Type": content_type, "Content-Length": str(len(body)), **headers}.items():
            self.send_header(name.replace("_", "-"), value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        """Quiet."""


class Server(ThreadingHTTPServer):
    """Keeps its script and what it saw."""

    daemon_threads = True
    block_on_close = False

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.script: list[Act] = []
        self.seen: list[tuple[str, str, dict[str, str]]] = []
        self.lock = threading.Lock()
        self.over = threading.Event()

    @property
    def url(self) -> str:
        """Where it listens."""
        return f"http://127.0.0.1:{self.server_port}"

    def handle_error(self, request: object, client_address: object) -> None:
        """A client that hung up is no news."""


Act = Callable[[Handler], None]


def well(handler: Handler) -> None:
    """As the contract says: the mass and angle asked about come back as the correction."""
    reading = json.loads(handler.body)["reading"]["plane"]
    correction = {
        "plane": "a",
        "mass_g": reading["mass_g"],
        "angle_deg": reading["angle_deg"],
        "unbalance_gmm": reading["mass_g"] * reading["radius_mm"],
    }
    left = {"static_gmm": 0, "static_angle_deg": 0, "couple_gmm2": 0, "couple_angle_deg": 0}
    answer = {"corrections": [correction], "residual": left, "gain": 1.0, "warnings": []}
    handler.answer(200, "application/json", json.dumps(answer).encode())


def busy(retry_after: str, status: int = 503) -> Act:
    """A problem with a Retry-After."""
    return lambda h: h.answer(status, "application/problem+json", b'{"title": "Busy"}', Retry_After=retry_after)


def html(status: int) -> Act:
    """A page, as proxies send it."""
    return lambda h: h.answer(status, "text/html", b"<html><body>Something in between</body></html>")


def hang_up(handler: Handler) -> None:
    """Close without a word."""
    handler.close_connection = True
    handler.connection.shutdown(socket.SHUT_RDWR)


def break_off(handler: Handler) -> None:
    """Promise more than is sent."""
    handler.send_response(200)
    handler.send_header("Content-Type", "application/json")
    handler.send_header("Content-Length", "1000")
    handler.end_headers()
    handler.wfile.write(b'{"corrections": [')
    hang_up(handler)


def say_nothing(handler: Handler) -> None:
    """Keep the caller waiting."""
    handler.server.over.wait(HANG_S)
    handler.close_connection = True


def stall(handler: Handler) -> None:
    """Begin to answer and stop."""
    handler.send_response(200)
    handler.send_header("Content-Type", "application/json")
    handler.send_header("Content-Length", "1000")
    handler.end_headers()
    handler.wfile.write(b"{")
    say_nothing(handler)


@pytest.fixture
def server() -> Iterator[Server]:
    """A server that runs for one test."""
    with Server() as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        yield server
        server.over.set()
        server.shutdown()
        thread.join()


@pytest.fixture
def client(server: Server) -> Iterator[Client]:
    """A client of that server that doesn't wait long."""
    with Client(server.url, timeout=2.0, retries=QUICK) as client:
        yield client


def ask(client: Client, mass_g: float = 30.0) -> CorrectionSet:
    """A question whose answer the server mirrors."""
    return client.corrections(
        CorrectionsRequest(StaticReading(PositionPlane(0, 200, mass_g, 12)), [Plane("a", 0, 200)])
    )


def test_a_question_is_answered(server: Server, client: Client) -> None:
    assert ask(client).corrections[0].unbalance_gmm == 6000.0
    ((command, path, headers),) = server.seen
    assert (command, path) == ("POST", "/v1/corrections")
    assert headers["User-Agent"] == f"rimpoise-python/{__version__}"
    assert headers["Content-Type"] == "application/json"


def test_a_retry_after_is_waited_for(server: Server, client: Client) -> None:
    server.script = [busy("1")]
    start = time.monotonic()
    assert ask(client).gain == 1.0
    assert 1.0 <= time.monotonic() - start < 2.0
    assert len(server.seen) == 2


@pytest.mark.parametrize("trouble", [busy("0"), busy("0", 429), html(502), html(504), hang_up, break_off])
def test_passing_trouble_is_lived_through(server: Server, client: Client, trouble: Act) -> None:
    server.script = [trouble, trouble]
    assert ask(client).gain == 1.0
    assert len(server.seen) == 3


@pytest.mark.parametrize(
    ("trouble", "error"),
    [
        (busy("0", 429), TooManyRequests),
        (html(502), ServerError),
        (hang_up, ConnectionFailed),
        (break_off, ConnectionFailed),
    ],
)
def test_lasting_trouble_is_told(server: Server, client: Client, trouble: Act, error: type[RimpoiseError]) -> None:
    server.script = [trouble] * 4
    with pytest.raises(error):
        ask(client)
    assert len(server.seen) == 4


@pytest.mark.parametrize("trouble", [say_nothing, stall])
def test_a_service_that_hangs_times_out(server: Server, trouble: Act) -> None:
    server.script = [trouble] * 2
    start = time.monotonic()
    with Client(server.url, timeout=0.2, retries=Retry(1, first_wait_s=0)) as client, pytest.raises(TimedOut):
        ask(client)
    assert 0.4 <= time.monotonic() - start < HANG_S
    assert len(server.seen) == 2


def test_a_timeout_is_repeated(server: Server) -> None:
    server.script = [say_nothing, stall]
    with Client(server.url, timeout=0.2, retries=QUICK) as client:
        assert ask(client).gain == 1.0


def test_a_page_in_place_of_an_answer_is_told_at_once(server: Server, client: Client) -> None:
    server.script = [html(200)]
    with pytest.raises(AnswerError, match="Something in between") as raised:
        ask(client)
    assert raised.value.status == 200
    assert len(server.seen) == 1


def test_a_redirect_is_not_followed(server: Server, client: Client) -> None:
    server.script = [lambda h: h.answer(307, "text/plain", b"", Location="/elsewhere")]
    with pytest.raises(AnswerError, match="redirected to /elsewhere"):
        ask(client)
    assert len(server.seen) == 1


def test_nobody_there(server: Server) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound, and not listening
        url = f"http://127.0.0.1:{taken.getsockname()[1]}"
        with Client(url, timeout=1, retries=Retry(2, first_wait_s=0)) as client:
            with pytest.raises(ConnectionFailed, match=f"^{url}/v1/corrections: .*refused") as raised:
                ask(client)
            assert "retries" not in str(raised.value)
    assert server.seen == []


def test_an_address_that_is_none_is_not_repeated() -> None:
    with Client("http://*.test", retries=Retry(3, first_wait_s=60, total_wait_s=600)) as client:
        with pytest.raises(TransportError) as raised:
            ask(client)
        assert type(raised.value) is TransportError


def test_a_session_of_the_callers_is_used_with_its_own_headers(server: Server) -> None:
    with requests.Session() as session:
        session.headers["User-Agent"] = "front-desk/3"
        session.headers["X-Shop"] = "north"
        with Client(server.url, session=session, retries=0) as client:
            ask(client)
        ask(Client(server.url, session=session, retries=0))  # still open
        assert session.headers["User-Agent"] == "front-desk/3"
        assert "Content-Type" not in session.headers
    for _, _, headers in server.seen:
        assert (headers["User-Agent"], headers["X-Shop"]) == ("front-desk/3", "north")


def test_a_session_without_a_name_of_its_own_gets_ours_for_our_calls_only(server: Server) -> None:
    with requests.Session() as session:
        ask(Client(server.url, session=session, retries=0))
        assert session.headers["User-Agent"] == requests.utils.default_user_agent()
    assert server.seen[0][2]["User-Agent"].startswith("rimpoise-python/")


def test_a_connection_is_kept_and_a_kept_one_may_die(server: Server, client: Client) -> None:
    ask(client)
    server.script = [hang_up]
    assert ask(client).gain == 1.0


def test_threads_may_share_a_client(server: Server) -> None:
    masses = [float(m) for m in range(1, 201)]
    server.script = [hang_up, busy("0")] * 10
    patient = Retry(20, first_wait_s=0.001, longest_wait_s=0.01)  # one thread may meet all of the trouble
    with Client(server.url, timeout=2.0, retries=patient) as client, ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda mass: ask(client, mass), masses))
    assert [answer.corrections[0].mass_g for answer in answers] == masses
