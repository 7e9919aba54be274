"""How many files and calls of the service one plan takes: ``python -m tests.bench trace``.

Counted on the second answer, when schemas are compiled and what requests share is loaded.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from types import FrameType

import rimpoise_service
from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.ops.settings import Settings

HOME = str(Path(rimpoise_service.__file__).parent)
EXAMPLES = ("own_words", "steel_wheel", "own_stock")


def crossed(work: Callable[[], object]) -> Counter[str]:
    """How often functions of each of the service's files are entered while work is done."""
    found: Counter[str] = Counter()

    def look(frame: FrameType, event: str, _: object) -> None:
        if event == "call" and (path := frame.f_code.co_filename).startswith(HOME):
            found[path.removeprefix(HOME)] += 1

    sys.setprofile(look)
    try:
        work()
    finally:
        sys.setprofile(None)
    return found


def report() -> None:
    """Print files and calls of a whole request, and the files of its planning alone."""
    client = create_app(Settings(work_rate=0)).test_client()
    (plans,) = (operation for operation in ENDPOINTS if operation.path == "/v1/plans")
    for name in EXAMPLES:
        body = plans.examples[name].body
        client.post(plans.path, json=body)
        files = crossed(lambda body=body: client.post(plans.path, json=body))  # type: ignore[misc]
        below = sum(not path.startswith("/api/") for path in files)
        print(f"  {name:<12} {len(files)} files, {below} of them below api; {files.total():,} calls")
