"""An independent mutator: valid requests of the contract, mangled without a look at the schema; answers judged.

``MANGLED``: how many requests (default 24,000). The same ones each time: request n depends on n alone.
"""

from __future__ import annotations

import http.client
import json
import os
import re
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from random import Random
from typing import Any
from urllib.parse import unquote

import jsonschema_rs
import yaml

from rimpoise_service.api.http.problems import KINDS

from .near_misses import mangled
from .service import ROOT, running
from .table import table

COUNT = int(os.environ.get("MANGLED", "24000"))
SEED = "rimpoise"
TIMEOUT_S = 60.0
CALLERS = 2
LINES = "application/x-ndjson"
TYPES = {f"/problems/{kind.slug}": kind.status for kind in KINDS}
LOCATED = {"/problems/malformed-json", "/problems/invalid-request", "/problems/rule-broken"}
"""Types of problem that are about a place in the body."""

NO_NUMBER = re.compile(r"(?<![\w.-])(-?Infinity|-?inf|NaN|nan)(?![\w-])")


@dataclass(frozen=True, slots=True)
class Valid:
    """A valid request of the contract: path, media type, value (of lines a list), the check of a good answer."""

    path: str
    media_type: str
    value: Any
    conforms: jsonschema_rs.Draft202012Validator | None


def valid(document: dict[str, Any]) -> list[Valid]:
    """All of the document's examples of requests."""
    found = []
    for path, operations in document["paths"].items():
        if "post" not in operations:
            continue
        operation = operations["post"]
        ((media_type, requested),) = operation["requestBody"]["content"].items()
        ((_, answered),) = operation["responses"]["200"]["content"].items()
        schema = answered.get("schema", {})
        if media_type == LINES:
            schema = {"$ref": "#/components/schemas/PlanResult"}
        reported = {"components": document["components"]} | schema
        conforms = None if schema.get("type") == "string" else jsonschema_rs.Draft202012Validator(reported)
        for example in requested["examples"].values():
            text = example["value"]
            value = [json.loads(line) for line in text.splitlines()] if media_type == LINES else text
            found.append(Valid(path, media_type, value, conforms))
    return found


def written(request: Valid, n: int) -> tuple[str, bytes]:
    """The body of request n, and how it was mangled."""
    luck = Random(f"{SEED} {n}")
    if request.media_type != LINES:
        return mangled(luck, request.value)
    made = [mangled(luck, line) for line in request.value]
    return " | ".join(names for names, _ in made), b"\n".join(body for _, body in made)


def strictly(text: str | bytes) -> Any:
    """The value of a JSON text. Raises ValueError for NaN, infinity, and what becomes it."""

    def number(digits: str) -> float:
        if digits.strip("-") in ("NaN", "Infinity") or float(digits) in (float("inf"), float("-inf")):
            raise ValueError(f"{digits} is no number")
        return float(digits)

    return json.loads(text, parse_constant=number, parse_float=number)


def resolves(pointer: str, value: Any) -> bool:
    """Whether a JSON pointer leads to something in a value, or to what is missing in it."""
    steps = [s.replace("~1", "/").replace("~0", "~") for s in unquote(pointer[2:]).split("/")]
    for step in steps[:-1] if pointer != "#" else []:
        try:
            value = value[int(step)] if isinstance(value, list) else value[step]
        except (KeyError, IndexError, ValueError, TypeError):
            return False
    return pointer[:1] == "#"


def wrong_problem(problem: dict[str, Any], sent: Any = None) -> str:
    """What is wrong with a problem, "" if nothing is; with the value that was sent, if it was JSON."""
    kind, status, errors = problem["type"], problem["status"], problem["errors"]
    if status >= 500 or TYPES.get(kind) != status:
        return f"{status} of type {kind}"
    if not problem["detail"] or (kind in LOCATED and not errors):
        return "a problem that says nothing"
    astray = [
        e["pointer"] for e in errors if not e["detail"] or (sent is not None and not resolves(e["pointer"], sent))
    ]
    return f"pointers to nowhere, or without a word: {astray}" if astray else ""


def wrong(request: Valid, body: bytes, status: int, media_type: str, answer: bytes) -> str:
    """What is wrong with an answer, "" if nothing is."""
    try:
        sent = json.loads(body)
    except (ValueError, RecursionError):
        sent = None
    if media_type == "application/problem+json":
        problem = strictly(answer)
        return wrong_problem(problem, sent) or ("" if problem["status"] == status else "two statuses")
    if status != 200:
        return f"{status} that is no problem"
    if media_type not in ("application/json", LINES):
        found = NO_NUMBER.search(answer.decode())
        return f"{found[0]} in a page" if found else ""
    for text in answer.splitlines() if media_type == LINES else [answer]:
        value = strictly(text)
        assert request.conforms is not None
        if not request.conforms.is_valid(value):
            return "; ".join(e.message[:200] for e in request.conforms.iter_errors(value))
        for each in [value, *value.get("results", [])]:
            if each.get("problem") and (bad := wrong_problem(each["problem"])):
                return bad
    return ""


def ask(port: int, request: Valid, n: int) -> tuple[str, int, str]:
    """The path and status of request n, and what was wrong with its answer."""
    names, body = written(request, n)
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=TIMEOUT_S)
    try:
        connection.request("POST", request.path, body, {"Content-Type": request.media_type})
        answer = connection.getresponse()
        found = wrong(request, body, answer.status, answer.headers.get_content_type(), answer.read())
        status = answer.status
    except (OSError, http.client.HTTPException, ValueError) as error:
        status, found = 0, f"{type(error).__name__}: {error}"
    finally:
        connection.close()
    if found:
        print(f"request {n} to {request.path} ({names}), {status}: {found}\n  {body[:1500]!r}", flush=True)
    return request.path, status, found


def report() -> None:
    """Send them all, print how many got which status, and fail if any answer was wrong."""
    there = valid(yaml.load((ROOT / "openapi.yaml").read_text("utf-8"), Loader=yaml.CSafeLoader))
    with running() as service, ThreadPoolExecutor(CALLERS) as callers:
        reported = list(callers.map(lambda n: ask(service.port, there[n % len(there)], n), range(COUNT)))
    counts = Counter((path, status) for path, status, _ in reported)
    statuses = sorted({status for _, status in counts})
    rows = [
        [path, *(counts[path, status] for status in statuses)] for path in dict.fromkeys(r.path for r in there)
    ]
    sums = [sum(n for (_, each), n in counts.items() if each == status) for status in statuses]
    table(("mangled requests", *map(str, statuses)), [*rows, [f"all {len(reported):,}", *sums]])
    assert not any(found for _, _, found in reported)
