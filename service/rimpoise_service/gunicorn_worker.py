"""gunicorn's threaded worker, in which a thread is given only to a request that is all here.

gunicorn gives a thread to each connection, which then waits for bytes as long as the caller likes: eight who send
a byte now and then take all threads. Here the one thread that polls reads what comes, and hands a request on when
all of it is here (of lines: the first 1 MiB). What it holds is bounded in time and size, each and all together.
"""

from __future__ import annotations

import socket
import sys
import time
from collections.abc import Callable
from concurrent.futures import Future
from functools import partial
from http import HTTPStatus
from selectors import EVENT_READ, EVENT_WRITE
from typing import Any

from gunicorn.http import errors  # type: ignore[import-untyped]
from gunicorn.workers.gthread import TConn, ThreadWorker  # type: ignore[import-untyped]
from werkzeug.exceptions import BadRequest

from .api.http.problems import refused
from .api.ops.arrival import Arrival
from .api.ops.callers import hung_up
from .api.ops.instrumentation import METRICS, THREAD_WAIT_S, log_refusal
from .api.ops.metrics import Metrics
from .api.schemas.said import Said
from .gunicorn_connection import RECEIVE, SILENT_S, Connection, Lingering, Socket, knocked, send
from .gunicorn_refusal import refusal, refuse_head, status_of

MAX_HELD = 64 * 1024 * 1024
"""Of all requests that are not answered yet, and answers that are not taken [bytes]; above it the largest goes."""

HEAD_S = 10.0
"""From a connection's opening, or a request's first byte, to the end of the headers [s]."""

WAITED_S = 0.1
"""After so long in the queue [s] it is worth looking whether the caller is still there: others wait as long."""

SWITCH_S = 0.0005
"""A thread that computes lets another have the interpreter after so long [s]. A request needs it again after each
step that waits for the system, some ten times; beside a heavy one that was ten times Python's own 5 ms."""

YIELD_S, MOST_YIELDS = 0.00025, 4
"""For each request that a worker has, up to so many, it lets others go before it for so long [s] at the door."""

SWEEP_S = 0.25
"""Between two looks for those who are too late [s]."""


class PatientWorker(ThreadWorker):  # type: ignore[misc]
    """A ThreadWorker whose threads wait for nobody; DEVELOPERS.md has what it answers beside slow callers.

    It reads ahead in the clear: TLS and HTTP/2 end at the proxy in front.
    """

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.arriving: dict[Connection, None] = {}
        self.queued: dict[Connection, Future[bool]] = {}  # until they are answered
        self.sending: dict[Connection, Future[bool]] = {}
        self.lingering = Lingering(self.worker_connections)
        self.held = 0
        self.request_s = 20.0  # from a request's first byte to its last, and for each piece of an answer
        self.metrics: Metrics | None = None
        self.on_tick: Callable[[], None] = lambda: None
        self._sweep_at = 0.0

    def init_process(self) -> None:
        """Begin to run."""
        sys.setswitchinterval(SWITCH_S)
        super().init_process()

    def load_wsgi(self) -> None:
        """Load the application, and find where it counts, if it is ours."""
        super().load_wsgi()
        self.metrics = getattr(self.wsgi, "extensions", {}).get(METRICS)
        if self.metrics:
            self.metrics.threads.set(self.cfg.threads)
            self.metrics.connections.set_function(lambda: self.nr_conns)
            self.wsgi.register_error_handler(
                errors.ParseException, lambda _: refused(BadRequest(Said("chunks_malformed")))
            )

    def notify(self) -> None:
        """A sign of life, once a second or more often."""
        super().notify()
        self.on_tick()

    # ---- in the thread that polls

    def set_accept_enabled(self, enabled: bool) -> None:
        """Listen or not. To stop, take who has connected already and close: who comes now is refused, not lost."""
        super().set_accept_enabled(enabled)
        while self.sockets and not (enabled or self.alive):
            listener = self.sockets.pop()
            while self.accept(listener):
                continue
            listener.close()

    def accept(self, listener: socket.socket) -> bool:
        """Take a new connection; False if none is there, or no more can be open."""
        if self.queued and self.alive and self.cfg.workers > 1:
            time.sleep(YIELD_S * min(len(self.queued), MOST_YIELDS))
        try:
            sock, client = listener.accept()
        except OSError:
            return False
        self.nr_conns += 1
        server = listener.getsockname()
        self.enqueue_req(Connection(self.cfg, Socket(sock), client, server, self.request_s, self.linger))
        return True

    def linger(self, conn: Connection) -> None:
        """After the last answer."""
        self.lingering.add(self.poller, conn)

    def enqueue_req(self, conn: Connection) -> None:
        """Begin with the next request on a connection: whatever came, kept alive or new, passes here."""
        conn.sock.setblocking(False)
        conn.arrival, conn.began = Arrival(conn.parser.unreader.take_buffered()), time.monotonic()
        self._hold(conn, len(conn.arrival))
        self.arriving[conn] = None
        self.poller.register(conn.sock, EVENT_READ, partial(self._receive, conn))
        self._go_on(conn)
        self._receive(conn, None)

    def _receive(self, conn: Connection, _: object) -> None:
        if conn not in self.arriving or (data := conn.sock.receive()) is None:
            return
        if not data:
            self._leave(conn)
            return
        if not conn.arrival:
            conn.began = time.monotonic()
        conn.arrival.add(data)
        self._hold(conn, len(conn.arrival))
        self._make_room()
        if conn in self.arriving:
            self._go_on(conn)

    def _go_on(self, conn: Connection) -> None:
        arrival = conn.arrival
        if arrival.refusal:
            self._refuse(conn, arrival.refusal)
        elif arrival.whole:
            self._take_off(conn)
            conn.whole_at = time.monotonic()
            self.queued[conn] = done = self.tpool.submit(self.handle, conn)
            done.add_done_callback(lambda done: self.method_queue.defer(self.finish_request, conn, done))
        elif arrival.wants_continue:
            arrival.wants_continue = False
            send(conn.sock, b"HTTP/1.1 100 Continue\r\n\r\n")

    def _hold(self, conn: Connection, size: int) -> None:
        self.held += size - conn.held
        conn.held = size

    def _make_room(self) -> None:
        """While more is held than may be, let the largest go, unless a thread has it; small ones make no room."""
        while self.held > MAX_HELD:
            waiting = (conn for conn, done in self.queued.items() if not (done.running() or done.done()))
            largest = max((*self.arriving, *self.sending, *waiting), key=lambda conn: conn.held, default=None)
            if largest is None or largest.held < RECEIVE:
                return
            if largest in self.arriving:
                self._refuse(largest, HTTPStatus.SERVICE_UNAVAILABLE)
            elif largest in self.sending:
                self._stop_sending(largest)
            elif self.queued[largest].cancel():
                self._hold(largest, 0)  # it is refused when it comes back

    def _take_off(self, conn: Connection) -> None:
        self.poller.unregister(conn.sock)
        del self.arriving[conn]

    def _leave(self, conn: Connection) -> None:
        self._take_off(conn)
        self._drop(conn)

    def _refuse(self, conn: Connection, status: HTTPStatus) -> None:
        self._take_off(conn)
        self._answer_last(conn, status)

    def _answer_last(self, conn: Connection, status: HTTPStatus) -> None:
        self._hold(conn, 0)
        conn.arrival = Arrival()  # what has come is of no use any more
        self._answer(conn.sock, conn.client, status)
        self.nr_conns -= 1
        self.linger(conn)

    def _drop(self, conn: Connection) -> None:
        self._hold(conn, 0)
        self.nr_conns -= 1
        TConn.close(conn)

    def murder_pending(self) -> None:
        """End what is too late; while others wait at the door what is slow; when it is to stop what is silent."""
        now = time.monotonic()
        if now < self._sweep_at:
            return
        self._sweep_at = now + SWEEP_S
        pressed = self.nr_conns >= self.worker_connections and knocked(self.sockets)
        for conn in [c for c in self.arriving if self._too_late(c, now, pressed)]:
            if conn.arrival:
                self._refuse(conn, HTTPStatus.REQUEST_TIMEOUT)
            else:
                self._leave(conn)
        end = now - self.request_s
        for conn in [c for c in self.sending if c.began <= end or (pressed and c.is_slow(now, c.taken))]:
            self._stop_sending(conn)
        if pressed:
            for conn in self.keepalived_conns:
                conn.timeout = min(conn.timeout, conn.idle_at + SILENT_S)
            self.murder_keepalived()
        self.lingering.sweep(self.poller, now)

    def _too_late(self, conn: Connection, now: float, pressed: bool) -> bool:
        if (pressed or not (self.alive or conn.arrival)) and conn.is_slow(now, len(conn.arrival)):
            return True
        most_s = self.request_s if conn.arrival.head_here else min(self.request_s, HEAD_S)
        return now >= conn.began + most_s

    def finish_request(self, conn: Connection, done: Future[bool]) -> None:
        """A thread is done with a request: what its caller has not taken yet goes out from here."""
        self.queued.pop(conn, None)
        if done.cancelled():
            self._answer_last(conn, HTTPStatus.SERVICE_UNAVAILABLE)
            return
        conn.taken = 0
        self._hold(conn, len(conn.sock.unsent))
        if not conn.sock.unsent:
            super().finish_request(conn, done)
            return
        conn.began, self.sending[conn] = time.monotonic(), done
        self.poller.register(conn.sock, EVENT_WRITE, partial(self._send_on, conn))
        self._make_room()

    def _send_on(self, conn: Connection, _: object) -> None:
        if conn not in self.sending:
            return
        try:
            conn.sock.flush()
        except OSError:
            self._stop_sending(conn)
            return
        conn.taken += conn.held - len(conn.sock.unsent)
        self._hold(conn, len(conn.sock.unsent))
        if not conn.sock.unsent:
            self.poller.unregister(conn.sock)
            super().finish_request(conn, self.sending.pop(conn))

    def _stop_sending(self, conn: Connection) -> None:
        self.poller.unregister(conn.sock)
        del self.sending[conn]
        self._drop(conn)

    # ---- in a thread

    def handle(self, conn: Connection) -> Any:
        """Answer a request that is here, unless its caller has left while it waited."""
        waited_s = time.monotonic() - conn.whole_at
        if waited_s > WAITED_S and hung_up(conn.sock):
            return False
        if not self.metrics:
            return super().handle(conn)
        THREAD_WAIT_S.set(waited_s)
        self.metrics.waited.labels("for a thread").observe(waited_s)
        with self.metrics.busy.track_inprogress():
            return super().handle(conn)

    def handle_request(self, req: Any, conn: Connection) -> bool:
        """Answer; one who does not take the answer is left."""
        refuse_head(req)
        try:
            return bool(super().handle_request(req, conn))
        except TimeoutError:
            raise StopIteration("the answer was not taken") from None

    def _keepalive_after(self, conn: Connection, keepalive: bool) -> bool:
        unreader = conn.parser.unreader
        unreader.hurry()
        kept = bool(super()._keepalive_after(conn, keepalive))
        unreader.unread(unreader.take_buffered())  # where gunicorn looks for the next request
        return kept

    def handle_error(self, _: Any, client: Socket, addr: Any, exc: Exception) -> None:
        """What gunicorn's parser refuses, and what went wrong outside the application."""
        if not isinstance(exc, errors.ParseException):
            self.log.error("outside the application", exc_info=exc)
        self._answer(client, addr, status_of(exc))

    def _answer(self, sock: Socket, client: Any, status: HTTPStatus) -> None:
        """Write an answer of our own, as far as it goes at once, and its line in the log."""
        data, request_id = refusal(status)
        send(sock, data)
        log_refusal(self.metrics, client[0] if client else None, status, request_id)
