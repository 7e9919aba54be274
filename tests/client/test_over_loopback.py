"""The client against a real server on a loopback port that misbehaves by script."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest
import requests

from rimpoise import (
    AnswerError,
    Client,
    ConnectionFailed,
    CorrectionSet,
    Retry,
    RimpoiseError,
    ServerError,
    TimedOut,
    TooManyRequests,
    TransportError,
    __version__,
)
from tests.client.misbehaving import (
    HANG_S,
    Act,
    Server,
    break_off,
    busy,
    hang_up,
    html,
    say_nothing,
    stall,
    static,
)
from tests.load.service import until

QUICK = Retry(3, first_wait_s=0.01)


@pytest.fixture
def client(server: Server) -> Iterator[Client]:
    """A client of that server that is quick to ask again."""
    with Client(server.url, timeout=HANG_S, retries=QUICK) as client:
        yield client


def ask(client: Client, mass_g: float = 30.0) -> CorrectionSet:
    """A question whose answer the server mirrors."""
    return client.corrections(static(mass_g))


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
    assert time.monotonic() - start >= 1.0
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
def test_lasting_trouble_is_reported(
    server: Server, client: Client, trouble: Act, error: type[RimpoiseError]
) -> None:
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
    assert 0.4 <= time.monotonic() - start < HANG_S / 2
    assert until(lambda: len(server.seen) == 2)


def test_a_timeout_is_repeated(server: Server) -> None:
    server.script = [say_nothing, stall]
    with Client(server.url, timeout=0.2, retries=Retry(50, first_wait_s=0.01, longest_wait_s=0.01)) as client:
        assert ask(client).gain == 1.0


def test_a_page_in_place_of_an_answer_is_reported_at_once(server: Server, client: Client) -> None:
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
            assert "_Connection" not in str(raised.value)
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
    with Client(server.url, timeout=HANG_S, retries=patient) as client, ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda mass: ask(client, mass), masses))
    assert [answer.corrections[0].mass_g for answer in answers] == masses
