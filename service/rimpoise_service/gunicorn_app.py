"""Serving with gunicorn: its settings, for its file (docker/gunicorn.conf.py) and from the command line."""

from __future__ import annotations

import os
import time
from functools import cache
from pathlib import Path
from typing import Any

from flask import Flask
from gunicorn.app.base import BaseApplication  # type: ignore[import-untyped]
from gunicorn.glogging import Logger  # type: ignore[import-untyped]

from . import heap
from .api.ops import spans
from .api.ops.json_logs import configuration
from .api.ops.settings import Settings, read_settings
from .gunicorn_connection import room_for
from .gunicorn_worker import PatientWorker
from .operator_port import OperatorPort
from .worker_reports import packed, packed_end

REPORT_S = 1.0
"""Between two reports of a worker to the operator's port [s]."""

SHARED_MEMORY = Path("/dev/shm")  # noqa: S108 - for heartbeats alone, which gunicorn keeps in files without a name


def gunicorn_settings(settings: Settings) -> dict[str, Any]:
    """gunicorn's settings; DEVELOPERS.md has the measurements behind the numbers."""
    return {
        "bind": settings.bind,
        "workers": settings.workers,
        "worker_class": "rimpoise_service.gunicorn_worker.PatientWorker",
        "threads": settings.threads,
        "worker_connections": room_for(settings.connections, settings.threads + 1),
        "preload_app": True,  # read once, shared by all workers; and what is wrong is said before any port is open
        "keepalive": 75,  # longer than the idle time-out of the proxies in docker/, so that they close first
        "timeout": 30,  # the worker's heartbeat, not a request's: those are bounded by their work
        "graceful_timeout": settings.graceful_s,
        "limit_request_line": 4094,
        "limit_request_fields": 64,
        "limit_request_field_size": 8190,
        "forwarder_headers": "",  # no caller says what path or scheme it asked for, from this machine neither
        "secure_scheme_headers": {},
        "worker_tmp_dir": str(SHARED_MEMORY) if SHARED_MEMORY.is_dir() else None,
        "control_socket_disable": True,  # gunicorn would put a socket into the user's home
        "logger_class": "rimpoise_service.gunicorn_app.Quiet",
        "logconfig_dict": configuration(settings),
        **Hooks(settings).named(),
    }


@cache
def from_environment() -> dict[str, Any]:
    """The same as the environment says, which is read once. Raises BadSettings.

    gunicorn reads its file again with every SIGHUP: it must then find the operator's port that is open, and no
    fault with what was good at the start.
    """
    return gunicorn_settings(read_settings(os.environ))


def warm_up() -> None:
    """Make a plan, and with it what is made once: workers share it, and their first callers don't wait for it."""
    from .api.endpoints.plans import plans

    worked = next(iter(plans.examples.values()))
    if plans.answers:
        plans.answers.to_json(plans.compute(worked.body))


def end_draining(drain: Path | None) -> None:
    """What drains has been stopped since: a start takes requests. Raises SystemExit if the file can't be removed.

    Kubernetes drains before it restarts a container that fails its probe, and keeps the folder for the next one.
    """
    try:
        if drain:
            drain.unlink(missing_ok=True)
    except OSError as error:
        raise SystemExit(f"RIMPOISE_DRAIN_FILE is {drain}, which can't be removed: {error.strerror}") from error


class Quiet(Logger):  # type: ignore[misc]
    """gunicorn's log without a line per request, which would print queries: the application writes one."""

    def access(self, *_: Any) -> None:
        """Nothing."""


class Hooks:
    """What gunicorn calls while it starts, runs and ends workers: they report to the operator's port."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._port: OperatorPort | None = None

    def named(self) -> dict[str, Any]:
        """By gunicorn's names."""
        names = ("on_starting", "post_fork", "post_worker_init", "worker_abort", "worker_exit", "child_exit")
        return {name: getattr(self, name) for name in names}

    def on_starting(self, server: Any) -> None:
        """Open the port before there are workers, and end draining. Raises SystemExit if that can't be."""
        if (room := server.cfg.worker_connections) < self._settings.connections:
            server.log.warning("the limit of open files leaves each worker room for %d connections", room)
        if problem := spans.problem(os.environ):
            raise SystemExit(problem)
        heap.share()
        warm_up()
        bind = self._settings.operator_bind
        try:
            self._port = None if bind == "off" else OperatorPort(bind, self._settings.drain_file)
        except OSError as error:
            raise SystemExit(f"RIMPOISE_OPERATOR_BIND is {bind}, where nobody can listen: {error}") from error
        end_draining(self._settings.drain_file)

    def post_fork(self, _: object, worker: PatientWorker) -> None:
        """In a new worker, before it runs."""
        worker.request_s = self._settings.request_s

    def post_worker_init(self, worker: PatientWorker) -> None:
        """In a worker that is ready: report, and send spans, from now on."""
        spans.start(os.environ)
        due = 0.0

        def tick() -> None:
            nonlocal due
            if time.monotonic() >= due:
                due = time.monotonic() + REPORT_S
                self._report(worker)
                heap.trim()

        worker.on_tick = tick

    def worker_abort(self, worker: PatientWorker) -> None:
        """In a worker that is ended because it is stuck."""
        worker.alive = True  # it does not leave, it dies

    def worker_exit(self, _: object, worker: PatientWorker) -> None:
        """In a worker that ends: its last word."""
        if left := len(worker.sending) + sum(not done.done() for done in worker.queued.values()):
            worker.log.warning("requests that were not answered within RIMPOISE_GRACEFUL_S: %d", left)
        self._report(worker)

    def child_exit(self, _: object, worker: PatientWorker) -> None:
        """In gunicorn's first process: what the worker counted stays, what it was doing no longer counts."""
        if self._port:
            self._port.send(packed_end(worker.pid))

    def _report(self, worker: PatientWorker) -> None:
        if self._port and worker.metrics:
            self._port.send(packed(worker.pid, worker.metrics.registry.collect(), leaving=not worker.alive))


class GunicornApp(BaseApplication):  # type: ignore[misc]
    """gunicorn, as the settings say."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self._named = gunicorn_settings(settings)
        super().__init__()

    def load_config(self) -> None:
        """Take our settings, again with every SIGHUP; gunicorn's own command line and files are not read."""
        for name, value in self._named.items():
            self.cfg.set(name, value)

    def load(self) -> Flask:
        """The application."""
        from .api.app import create_app

        return create_app(self.settings)
