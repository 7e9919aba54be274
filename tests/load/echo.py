"""The service with two echoes beside it: what a plan is compared with, in the same process and gunicorn.

``/v1/echo`` loads a plan request through its schema and tells the same plan each time through its schema:
everything but the plan itself. ``/bare`` gives the body back and does nothing else.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints import plans
from rimpoise_service.api.ops.settings import read_settings
from rimpoise_service.planning.advice import advise

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse

LIP = {"present": True, "thickness_mm": 3.2}
READING = {
    "kind": "two_plane",
    "planes": [
        {"kind": "position", "position_mm": -133.9, "radius_mm": 218.3, "mass_g": 22, "angle_deg": 40},
        {"kind": "position", "position_mm": 43.9, "radius_mm": 218.3, "mass_g": 17, "angle_deg": 150},
    ],
}
TWO_CLIPS: dict[str, Any] = {
    "reading": READING,
    "wheel": {
        "material": "alloy",
        "origin": "aftermarket",
        "vehicle_class": "car",
        "rim_size": "7Jx17 ET45",
        "flanges": {"inboard": LIP, "outboard": LIP},
    },
    "stock": {"kind": "builtin", "name": "metric"},
}
LANDS = [
    {"name": "inner land", "side": "inboard", "position_mm": -110, "radius_mm": 200, "width_mm": 30},
    {"name": "spoke land", "side": "outboard", "position_mm": -25, "radius_mm": 190, "width_mm": 40},
]
SIX_LAYOUTS: dict[str, Any] = TWO_CLIPS | {
    "wheel": TWO_CLIPS["wheel"]
    | {
        "lands": [land | {"behind_spokes": bool(n), "visible": bool(n)} for n, land in enumerate(LANDS)],
        "spokes": {"kind": "even", "count": 5, "first_deg": 0, "width_deg": 36},
    }
}
HEADERS = [("Content-Type", "application/json")]
Environ = dict[str, Any]


def make() -> Callable[[Environ, StartResponse], Iterable[bytes]]:
    """The application, with the settings of the environment, as the service itself has them."""
    asks = plans.plans.asks
    assert asks
    plan = advise(asks.load(json.loads(json.dumps(TWO_CLIPS))))
    echo = replace(plans.plans, path="/v1/echo", operation_id="echo", view=lambda _: plan)
    flask = create_app(read_settings(os.environ))
    flask.add_url_rule(echo.path, echo.operation_id, echo, methods=["POST"])

    def app(environ: Environ, start: StartResponse) -> Iterable[bytes]:
        if environ["PATH_INFO"] != "/bare":
            return flask.wsgi_app(environ, start)
        body = environ["wsgi.input"].read(int(environ["CONTENT_LENGTH"] or 0))
        start("200 OK", [*HEADERS, ("Content-Length", str(len(body)))])
        return [body]

    return app


app = make()
