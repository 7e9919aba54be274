"""What the schemas of the document say, and which of them are sent and answered."""

from __future__ import annotations

import json
import re
from typing import Any


def properties_of(published: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    schemas = published["components"]["schemas"].items()
    return [(s, name, p) for s, schema in schemas for name, p in schema.get("properties", {}).items()]


def types_of(schema: dict[str, Any]) -> set[str]:
    kinds = schema.get("type", ())
    return {kinds} if isinstance(kinds, str) else set(kinds)


def reached(published: dict[str, Any], at: Any) -> set[str]:
    """The components that are referred to from there, and from those."""
    components, found, waiting = published["components"]["schemas"], set(), [at]
    while waiting:
        for name in re.findall(r"#/components/schemas/(\w+)", json.dumps(waiting.pop())):
            if name not in found:
                found.add(name)
                waiting.append(components[name])
    return found


def sent_in(published: dict[str, Any]) -> set[str]:
    operations = [operation for methods in published["paths"].values() for operation in methods.values()]
    return reached(published, [operation.get("requestBody") for operation in operations])


def answered_in(published: dict[str, Any]) -> set[str]:
    operations = [operation for methods in published["paths"].values() for operation in methods.values()]
    return reached(published, [[o["responses"] for o in operations], published["components"]["responses"]])
