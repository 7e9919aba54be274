"""Bytes into the JSON entry, guided by coverage: read strictly, as the standard library would, or refused.

Two oracles. What is read equals what Python reads (which takes more, never less), and once written again
it reads the same. And the service answers the same bytes as the body of a correction with 200, 400 or 422 only.
"""

from __future__ import annotations

import json
import sys

try:
    import atheris
except ImportError:
    print("skipped: atheris is not installed")
    sys.exit(0)

with atheris.instrument_imports(include=["rimpoise_service.api", "json"]):
    from rimpoise_service.api.app import create_app
    from rimpoise_service.api.http import strict_json

CLIENT = create_app().test_client()
SEEDS = (
    b'{"reading": {"kind": "static", "plane": {"kind": "position", "position_mm": -120, "radius_mm": 216, '
    b'"mass_g": 25, "angle_deg": 70}}, '
    b'"planes": [{"name": "a", "position_mm": -110, "radius_mm": 198}]}',
    b'[1, -2.5e3, "\\ud83d\\ude80", null, true, {"a": {"a": []}}]',
)


def one(data: bytes) -> None:
    """One input."""
    try:
        value = strict_json.loads(data)
    except strict_json.BadJson:
        value = None
    else:
        assert json.loads(data) == value
        assert strict_json.loads(json.dumps(value).encode()) == value
    answer = CLIENT.post("/v1/corrections", data=data, content_type="application/json")
    assert answer.status_code in (200, 400, 422), answer.status_code


def main() -> None:
    """As libFuzzer wants to be started; its last argument is the folder of inputs."""
    for n, seed in enumerate(SEEDS):
        with open(f"{sys.argv[-1]}/seed{n}", "wb") as file:
            file.write(seed)
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()


main()
