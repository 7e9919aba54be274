"""Serving with gunicorn: what it is told, as a file for it (docker/gunicorn.conf.py) and from the command line."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any

from flask import Flask
from gunicorn.app.base import BaseApplication  # type: ignore[import-untyped]

from .api.ops.json_logs import configuration
from .api.ops.metrics import FOLDER
from .api.ops.settings import Settings

SHARED_MEMORY = Path("/dev/shm")  # noqa: S108 - for heartbeats alone, which gunicorn keeps in files without a name


def gunicorn_settings(settings: Settings) -> dict[str, Any]:
    """What gunicorn is told; DEVELOPERS.md has the measurements behind the numbers."""
    return {
        "bind": settings.bind,
        "workers": settings.workers,
        "worker_class": "rimpoise_service.gunicorn_worker.PatientWorker",
        "threads": settings.threads,
        "worker_connections": settings.connections,
        "preload_app": True,  # read once, shared by all workers; and what is wrong is said before any port is open
        "keepalive": 75,  # longer than the idle time-out of the proxies in docker/, so that they close first
        "timeout": 30,  # the worker's heartbeat, not a request's: those are bounded by their work
        "graceful_timeout": settings.graceful_s,
        "max_requests": settings.max_requests,
        "max_requests_jitter": settings.max_requests // 10,
        "limit_request_line": 4094,
        "limit_request_fields": 64,
        "limit_request_field_size": 8190,
        "worker_tmp_dir": str(SHARED_MEMORY) if SHARED_MEMORY.is_dir() else None,
        "control_socket_disable": True,  # gunicorn would put a socket into the user's home
        "accesslog": None,  # the application writes one line per request, with more in it
        "logconfig_dict": configuration(settings),
        "child_exit": forget_worker,
    }


def prepare_metrics() -> None:
    """A folder for the workers' metrics: the one that is named, emptied, or a fresh one.

    To be called before prometheus_client is imported, and in the parent of all workers.
    """
    folder = os.environ.setdefault(FOLDER, "") or tempfile.mkdtemp(prefix="rimpoise-metrics-")
    os.environ[FOLDER] = folder
    for left_over in Path(folder).glob("*.db"):
        left_over.unlink()


def forget_worker(_: object, worker: Any) -> None:
    """A worker is gone: what it was doing no longer counts, what it has done does."""
    from prometheus_client import multiprocess

    multiprocess.mark_process_dead(worker.pid)  # type: ignore[no-untyped-call]


class GunicornApp(BaseApplication):  # type: ignore[misc]
    """gunicorn, as the settings say."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        super().__init__()

    def load_config(self) -> None:
        """Take our settings; gunicorn's own command line and files are not read."""
        for name, value in gunicorn_settings(self.settings).items():
            self.cfg.set(name, value)

    def load(self) -> Flask:
        """The application."""
        from .api.app import create_app  # after prepare_metrics

        return create_app(self.settings)
