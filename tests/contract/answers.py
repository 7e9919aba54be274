"""The answers that the document shows: ``python -m tests.contract.answers`` writes them, tests compare them.

Of the worked requests of an operation the one with the shortest answer is shown, unless SHOWN names another. Of a
text the beginning is shown, of the reference two rows of each table. What differs each time is the same here.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import rimpoise_service
from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.http.endpoint import Endpoint
from rimpoise_service.api.ops.settings import Settings

FILE = Path(rimpoise_service.__file__).parent / "api/endpoints/examples/answers.json"
SHOWN = {"planFitting": "at_places"}
BEGINNING = 160
"""Characters of a text that are shown."""

ROWS = 2
"""Rows of each table of the reference that are shown."""

AN_ID = "urn:uuid:0f8fad5b-d9cb-469f-a165-70867728950e"
SAME = {"document_sha256": "0" * 64}


def answers(slow: bool = True) -> Iterator[tuple[Endpoint, str, Any]]:
    """Each operation with the name of a worked request and what it is answered now; without what takes seconds."""
    client = create_app(Settings(work_rate=0)).test_client()
    for operation in ENDPOINTS:
        found = {}
        for name, example in (
            operation.examples.items() if slow or operation.operation_id != "forecastDemand" else ()
        ):
            data = example.body if operation.by_line else json.dumps(example.body)
            kind = operation.media_type if operation.by_line else "application/json"
            found[name] = client.post(operation.path, data=data, content_type=kind).text
        if operation.method == "GET":
            found = {"now": client.get(operation.path).text}
        if found:
            name = SHOWN.get(operation.operation_id) or min(found, key=lambda each: len(found[each]))
            yield operation, name, shown(operation, found[name])


def shown(operation: Endpoint, text: str) -> Any:
    """An answer as it is shown."""
    if not operation.answers and not operation.by_line:
        return text[:BEGINNING]
    text = re.sub("urn:uuid:[-0-9a-f]{36}", AN_ID, text)
    if operation.by_line:
        return text[:BEGINNING]
    reported = json.loads(text)
    reported |= {name: value for name, value in SAME.items() if name in reported}
    return _cut(reported) if operation.operation_id == "getReference" else reported


def _cut(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _cut(each) for name, each in value.items()}
    return [_cut(each) for each in value[:ROWS]] if isinstance(value, list) else value


def main() -> None:
    """Write them."""
    reported = {operation.operation_id: [name, value] for operation, name, value in answers()}
    FILE.write_text(json.dumps(reported, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
