"""The image's health check, against real ports: it asks where the settings say."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread

import pytest

from rimpoise_service.api.ops.settings import Settings
from rimpoise_service.health_check import asked, main
from tests.load.service import free_port

DOCKERFILE = (Path(__file__).parents[2] / "docker" / "Dockerfile").read_text(encoding="utf-8")


class Health(BaseHTTPRequestHandler):
    """Says 200 at /healthz and 503 elsewhere; or 503 everywhere, of a server that is not well."""

    server: HTTPServer

    def do_GET(self) -> None:
        well = self.path == "/healthz" and self.server.server_name != "ill"
        self.send_response(200 if well else 503)
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:
        """No news."""


@contextmanager
def answering(*, well: bool = True) -> Iterator[int]:
    with HTTPServer(("127.0.0.1", 0), Health) as server:
        server.server_name = "well" if well else "ill"
        thread = Thread(target=server.serve_forever)
        thread.start()
        yield server.server_port
        server.shutdown()
        thread.join()


@pytest.fixture(scope="module")
def well() -> Iterator[int]:
    with answering() as port:
        yield port


@pytest.mark.parametrize(
    ("bind", "operator", "found"),
    [
        ("0.0.0.0:8080", "0.0.0.0:8081", ("127.0.0.1", 8081)),
        ("0.0.0.0:8080", "off", ("127.0.0.1", 8080)),
        ("[::]:9000", "off", ("::1", 9000)),
        ("0.0.0.0:8080", "10.0.0.7:9100", ("10.0.0.7", 9100)),
    ],
)
def test_it_asks_the_operators_port_or_where_there_is_none_the_public_one(
    bind: str, operator: str, found: tuple[str, int]
) -> None:
    assert asked(Settings(bind=bind, operator_bind=operator)) == found


def test_the_image_is_well_without_an_operators_port(well: int) -> None:
    """The Dockerfile's own command in the image's own environment, but for the ports."""
    command = json.loads(re.search(r"HEALTHCHECK .*?\n\s+CMD (\[.*\])", DOCKERFILE)[1])  # type: ignore[index]
    environ = dict(re.findall(r"(RIMPOISE_(?!DRAIN)\w+)=(\S+)", DOCKERFILE))
    environ |= {"PYTHONPATH": str(Path(__file__).parents[2] / "service"), "http_proxy": "http://127.0.0.1:1"}
    off = {"RIMPOISE_BIND": f"0.0.0.0:{well}", "RIMPOISE_OPERATOR_BIND": "off"}
    nobody = {"RIMPOISE_OPERATOR_BIND": f"0.0.0.0:{free_port()}"}
    status = [
        subprocess.run([sys.executable, *command[1:]], env=environ | ports, check=False, timeout=60).returncode
        for ports in (off, nobody)
    ]
    assert status == [0, 1]


@pytest.mark.parametrize(("is_well", "status"), [(True, 0), (False, 1)])
def test_a_port_that_says_otherwise_is_not_well(
    is_well: bool, status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    with answering(well=is_well) as port:
        monkeypatch.setenv("RIMPOISE_OPERATOR_BIND", f"127.0.0.1:{port}")
        assert main() == status
