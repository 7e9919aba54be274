"""The independent mutator: the same requests each time, all ways do something, and no bad answer passes."""

from __future__ import annotations

import json
from collections import Counter
from random import Random
from typing import Any

import pytest
import yaml

from tests.load.mangle import Valid, strictly, valid, written, wrong
from tests.load.near_misses import WAYS, encoded, mangled
from tests.load.service import ROOT

VALUE: dict[str, Any] = {
    "reading": {"kind": "static", "plane": {"mass_g": 25, "angle_deg": 70.5}},
    "planes": [{"name": "a"}, {"name": "b", "on": True}],
}
GOOD: dict[str, Any] = {
    "type": "/problems/invalid-request",
    "title": "t",
    "status": 400,
    "detail": "Something is wrong.",
    "instance": "urn:uuid:1",
    "errors": [{"pointer": "#/reading/plane/mass_g", "detail": "must be larger", "rule": None}],
}
PROBLEM = "application/problem+json"


@pytest.fixture(scope="module")
def requests() -> list[Valid]:
    return valid(yaml.load((ROOT / "openapi.yaml").read_text("utf-8"), Loader=yaml.CSafeLoader))


def test_every_operation_with_a_body_takes_part(requests: list[Valid]) -> None:
    document = yaml.load((ROOT / "openapi.yaml").read_text("utf-8"), Loader=yaml.CSafeLoader)
    assert {r.path for r in requests} == {path for path, o in document["paths"].items() if "post" in o}
    assert all(isinstance(r.value, list if r.path.endswith("/stream") else dict) for r in requests)


def test_request_n_is_always_the_same(requests: list[Valid]) -> None:
    for n in range(200):
        request = requests[n % len(requests)]
        assert written(request, n) == written(request, n)
    assert len({written(requests[0], n)[1] for n in range(100)}) > 90


@pytest.mark.parametrize("way", WAYS, ids=lambda way: str(way.__name__))
def test_a_way_changes_what_is_sent(way: Any) -> None:
    """Mostly: a swap may meet itself."""
    changed = 0
    for seed in range(50):
        made = way(Random(seed), json.loads(json.dumps(VALUE)))
        changed += (made if isinstance(made, bytes) else encoded(made)) != encoded(VALUE)
    assert changed > 30


def test_the_whole_spectrum_is_sent() -> None:
    """Valid JSON and broken, the value itself never spoiled for the next one."""
    kinds: Counter[str] = Counter()
    for seed in range(400):
        _, body = mangled(Random(seed), VALUE)
        try:
            kinds["same" if json.loads(body) == VALUE else "other"] += 1
        except ValueError:
            kinds["broken"] += 1
    assert kinds["other"] > 200
    assert kinds["broken"] > 40
    assert VALUE["planes"][1] == {"name": "b", "on": True}


@pytest.mark.parametrize("text", ["[NaN]", "[-Infinity]", "[1e999]", "{"])
def test_no_number_that_is_none_passes(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        strictly(text)


def judged(status: int, media_type: str, answer: Any, request: Valid) -> str:
    body = answer if isinstance(answer, bytes) else json.dumps(answer).encode()
    return wrong(request, json.dumps(VALUE).encode(), status, media_type, body)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({}, ""),
        ({"status": 500, "type": "/problems/internal-error"}, "500"),
        ({"type": "/problems/unheard-of"}, "unheard-of"),
        ({"errors": []}, "says nothing"),
        ({"detail": ""}, "says nothing"),
        ({"errors": [{"pointer": "#/reading/nowhere/mass_g", "detail": "x"}]}, "nowhere"),
        ({"errors": [{"pointer": "#/reading/missing", "detail": "x"}]}, ""),
        ({"errors": [{"pointer": "#/planes/1/on", "detail": ""}]}, "without a word"),
    ],
)
def test_problems_are_judged(changes: dict[str, Any], says: str, requests: list[Valid]) -> None:
    problem = GOOD | changes
    found = judged(problem["status"], PROBLEM, problem, requests[0])
    assert says in found if says else found == ""


def test_answers_are_judged(requests: list[Valid]) -> None:
    by_path = {r.path: r for r in requests}
    document = yaml.load((ROOT / "openapi.yaml").read_text("utf-8"), Loader=yaml.CSafeLoader)
    reported = document["paths"]["/v1/corrections"]["post"]["responses"]["200"]["content"]["application/json"]
    good = next(iter(reported["examples"].values()))["value"]
    corrections, batch, page = (by_path[p] for p in ("/v1/corrections", "/v1/plans/batch", "/v1/plans/sheet"))
    assert judged(200, "application/json", good, corrections) == ""
    assert "corrections" in judged(200, "application/json", {}, corrections)
    assert "no problem" in judged(400, "text/html", b"<p>Bad request</p>", corrections)
    assert "two statuses" in judged(422, PROBLEM, GOOD, corrections)
    failed = GOOD | {"status": 500, "type": "/problems/internal-error"}
    assert "500" in judged(
        200, "application/json", {"results": [{"index": 0, "plan": None, "problem": failed}]}, batch
    )
    assert judged(200, "text/html", b"<p>12 g at 30</p>", page) == ""
    assert "nan" in judged(200, "text/html", b"<p>nan g</p>", page)
