"""``python -m rimpoise_service.health_check``: whether the service of this environment's settings is well.

It asks the operator's port, which answers while every worker is busy, or the public one where that is off.
The exit status is 0 if that answers 200, else 1.
"""

from __future__ import annotations

import os
import sys
from http import HTTPStatus
from http.client import HTTPConnection, HTTPException

from .api.ops.settings import Settings, read_settings

PATIENCE_S = 2.0
"""For the answer [s]."""

LOOPBACK = {"0.0.0.0": "127.0.0.1", "[::]": "[::1]"}  # noqa: S104 - to know them
"""Where to find here what listens everywhere."""


def asked(settings: Settings) -> tuple[str, int]:
    """Host and port whose health is asked."""
    bind = settings.bind if settings.operator_bind == "off" else settings.operator_bind
    host, _, port = bind.rpartition(":")
    return LOOPBACK.get(host, host).strip("[]"), int(port)


def main() -> int:
    """Ask; the exit status."""
    connection = HTTPConnection(*asked(read_settings(os.environ)), timeout=PATIENCE_S)
    try:
        connection.request("GET", "/healthz")
        return int(connection.getresponse().status != HTTPStatus.OK)
    except (OSError, HTTPException) as error:
        print(f"no answer from {connection.host} at {connection.port}: {error}", file=sys.stderr)
        return 1
    finally:
        connection.close()


if __name__ == "__main__":
    sys.exit(main())
