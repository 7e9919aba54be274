"""POST /v1/plans/batch and /stream: what the single operation says of each; a bad one spoils no other."""

from __future__ import annotations

import io
import json
import logging
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.exceptions import ClientDisconnected, RequestEntityTooLarge
from werkzeug.test import TestResponse

from rimpoise_service.api.endpoints import plan_batch
from rimpoise_service.api.http.ndjson import MAX_LINE, read_lines
from rimpoise_service.api.schemas.plans import PlanRequestSchema
from rimpoise_service.planning.advice import advise
from tests.api.fixture_types import Ask, Conforms, Example, Pointers
from tests.clock import Clock

PATH, BY_LINE = "/v1/plans/batch", "/v1/plans/stream"
NAMES = ["hidden", "own_stock", "steel_wheel", "repair_first"]


@pytest.fixture(scope="session")
def singly(ask: Ask) -> Callable[[Any], Any]:
    """What the single operation says: a plan, or a problem without the id that is new every time."""

    def of(body: Any) -> Any:
        response = ask("/v1/plans", body)
        this, other = ("plan", "problem") if response.status_code == 200 else ("problem", "plan")
        return {this: response.get_json(), other: None}

    return of


@pytest.fixture(scope="session")
def by_line(client: FlaskClient) -> Callable[[bytes], TestResponse]:
    """Post lines."""
    return lambda body: client.post(BY_LINE, data=body, content_type="application/x-ndjson", buffered=True)


def comparable(result: Any) -> Any:
    """A result without what is new every time, and without its place."""
    if result["problem"]:
        assert result["problem"]["instance"].startswith("urn:uuid:")
        result["problem"]["instance"] = ""
    result.pop("index", None)
    return result


@pytest.fixture
def mixed(example: Example) -> list[Any]:
    """Good plans and bad ones, in many ways."""
    good = [example("planFitting", name) for name in NAMES]
    broken_rule = example("planFitting", "own_stock")
    broken_rule["inspection"] = ["none", "bent_wheel"]
    bad_wheel = example("planFitting", "hidden")
    bad_wheel["wheel"]["lands"][1]["radius_mm"] = "200"
    return [good[0], None, good[1], {}, broken_rule, [], good[2], bad_wheel, good[0], 3, good[3], "plan", good[1]]


def test_each_is_answered_as_if_it_were_alone(
    mixed: list[Any],
    ask: Ask,
    by_line: Callable[[bytes], TestResponse],
    singly: Callable[[Any], Any],
    conforms: Conforms,
) -> None:
    expected = [comparable(singly(json.dumps(body).encode())) for body in mixed]
    response = ask(PATH, {"plans": mixed})
    assert response.status_code == 200
    assert conforms("PlanBatch", response.get_json())
    results = response.get_json()["results"]
    assert [r["index"] for r in results] == list(range(len(mixed)))
    assert [comparable(r) for r in results] == expected
    lines = by_line(b"\n".join(json.dumps(body).encode() for body in mixed))
    assert lines.content_type == "application/x-ndjson"
    assert [comparable(json.loads(line)) for line in lines.data.splitlines()] == expected


def test_what_is_recalled_is_not_mixed_up(example: Example, ask: Ask, singly: Callable[[Any], Any]) -> None:
    """Shelves and wheels that differ in one small thing: 1 and 1.0 are alike, 1 and true are not."""
    bodies = []
    for count in (2, 2.0, 3, True, 2):
        body = example("planFitting", "own_stock")
        body["stock"]["strips"][0]["on_hand"] = count
        bodies.append(body)
    for width in (32, 31.5, 32):
        body = example("planFitting", "hidden")
        body["wheel"]["spokes"]["width_deg"] = width
        body["preferences"]["max_pieces_per_plane"] = 1
        bodies.append(body)
    results = ask(PATH, {"plans": bodies}).get_json()["results"]
    assert [comparable(r) for r in results] == [comparable(singly(body)) for body in bodies]
    assert results[3]["problem"]["errors"][0]["pointer"] == "#/stock/strips/0/on_hand"


def test_more_wheels_than_are_remembered(example: Example, ask: Ask, singly: Callable[[Any], Any]) -> None:
    bodies = []
    for n in (*range(80), 0, 79):
        body = example("planFitting", "steel_wheel")
        body["wheel"]["offset_mm"] = n
        body["wheel"]["rim_size"] = "6Jx15"
        body["preferences"] = {"max_pieces_per_plane": 1}
        bodies.append(body)
    results = ask(PATH, {"plans": bodies}).get_json()["results"]
    assert [comparable(r) for r in results] == [comparable(singly(body)) for body in bodies]


BAD_LINES = [b"{", b"\xff", b'{"a": NaN}', b'{"a": 1, "a": 2}', b"[" * 5000]


def test_lines_that_are_no_json(example: Example, by_line: Callable[[bytes], TestResponse]) -> None:
    good = json.dumps(example("planFitting", "repair_first")).encode()
    body = b"\n".join(x for line in BAD_LINES for x in (line, good, b"", b"  \r"))
    results = [json.loads(line) for line in by_line(body).data.splitlines()]
    assert [r["index"] for r in results] == list(range(2 * len(BAD_LINES)))
    for bad, fine in zip(results[::2], results[1::2], strict=True):
        assert bad["plan"] is None
        assert bad["problem"]["type"] == "/problems/malformed-json"
        assert fine["plan"]["decision"] == "repair_first"


@pytest.mark.parametrize("ending", [b"", b"\n", b"\r\n", b"\n\n"])
def test_the_last_line_may_end_as_it_likes(
    ending: bytes, example: Example, by_line: Callable[[bytes], TestResponse]
) -> None:
    good = json.dumps(example("planFitting", "repair_first")).encode()
    assert len(by_line(good + b"\n" + good + ending).data.splitlines()) == 2


def test_no_lines_no_answers(by_line: Callable[[bytes], TestResponse]) -> None:
    response = by_line(b"")
    assert (response.status_code, response.data) == (200, b"")


def test_a_line_has_its_limit_and_is_skipped_to_its_end(
    example: Example, by_line: Callable[[bytes], TestResponse]
) -> None:
    good = json.dumps(example("planFitting", "repair_first")).encode()
    fits = good + b" " * (MAX_LINE - len(good) - 1)
    results = [json.loads(x) for x in by_line(b"\n".join([good, fits, fits + b"  ", good])).data.splitlines()]
    assert [r["problem"] and r["problem"]["status"] for r in results] == [None, None, 413, None]
    assert results[2]["problem"]["type"] == "/problems/body-too-large"


def test_the_limits_of_a_document(example: Example, ask: Ask, pointers: Pointers) -> None:
    small = {"inspection": 1}
    assert len(ask(PATH, {"plans": [small] * 1000}).get_json()["results"]) == 1000
    for plans in ([], [small] * 1001):
        response = ask(PATH, {"plans": plans})
        assert (response.status_code, pointers(response)) == (400, ["#/plans"])
    body = json.dumps({"plans": [example("planFitting", "repair_first")]}).encode()
    assert ask(PATH, body + b" " * (plan_batch.MAX_BODY - len(body))).status_code == 200
    assert ask(PATH, body + b" " * (plan_batch.MAX_BODY - len(body) + 1)).status_code == 413


def test_a_batch_may_cost_so_much(
    example: Example, ask: Ask, by_line: Callable[[bytes], TestResponse], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two heavy plans are let through, however the third is sent; each plan adds its share."""
    heavy, light = example("planFitting", "steel_wheel"), example("planFitting", "repair_first")
    work, each = advise(PlanRequestSchema().load(heavy)).plan.work, 100
    assert work > 1000
    assert advise(PlanRequestSchema().load(light)).plan.work == 0
    monkeypatch.setattr(plan_batch, "WORK_EACH", each)
    body = {"plans": [heavy, light, heavy, heavy]}
    enough = 2 * work - 3 * each
    for allowance, refused in ((enough, []), (enough - 1, [3]), (work - each, [3]), (work - each - 1, [1, 2, 3])):
        monkeypatch.setattr(plan_batch, "BATCH_WORK", allowance)
        results = ask(PATH, body).get_json()["results"]
        assert [r["index"] for r in results if r["problem"]] == refused
        assert all(r["problem"]["type"] == "/problems/batch-too-heavy" for r in results if r["problem"])
        lines = by_line(b"\n".join(json.dumps(body).encode() for body in body["plans"])).data.splitlines()
        assert [comparable(json.loads(line)) for line in lines] == [comparable(r) for r in results]


@pytest.mark.parametrize("media_type", ["text/plain", "application/ndjson", "", "application/jsonlines"])
def test_other_media_types(media_type: str, client: FlaskClient, pointers: Pointers) -> None:
    for path, taken in ((PATH, "application/json"), (BY_LINE, "application/x-ndjson")):
        response = client.post(path, data=b"{}", headers={"Content-Type": media_type})
        assert (response.status_code, pointers(response)) == (415, [])
        assert "application/json" not in response.get_json()["title"], "a type of problem is of every path"
        assert response.get_json()["detail"].startswith(f"Send {taken}")


def test_the_example_of_lines_is_the_document_s(
    example: Example, ask: Ask, by_line: Callable[[bytes], TestResponse]
) -> None:
    lines = by_line(example("planStream", "three_wheels").encode()).data.splitlines()
    results = ask(PATH, example("planBatch", "three_wheels")).get_json()["results"]
    assert [comparable(json.loads(line)) for line in lines] == [comparable(result) for result in results]
    assert [result["problem"] is None for result in results] == [True, False, True]


def test_a_fault_of_ours_stays_in_its_place(
    example: Example, ask: Ask, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    calls = iter(range(3))

    def fail_once(*args: Any) -> Any:
        if next(calls) == 1:
            raise RuntimeError("the secret of the house")
        return advise(*args)

    monkeypatch.setattr("rimpoise_service.api.endpoints.plans.advise", fail_once)
    with caplog.at_level(logging.ERROR):
        results = ask(PATH, {"plans": [example("planFitting", "repair_first")] * 3}).get_json()["results"]
    assert [r["problem"] and r["problem"]["status"] for r in results] == [None, 500, None]
    assert "secret" not in json.dumps(results)
    assert results[1]["problem"]["instance"] in caplog.text


class Body(io.BufferedIOBase):
    """A body that breaks off, or counts how far it was read."""

    def __init__(self, lines: Iterator[bytes]) -> None:
        self.lines = lines

    def readline(self, size: int | None = -1, /) -> bytes:  # noqa: ARG002
        """The next line."""
        return next(self.lines, b"")


def test_a_body_that_breaks_off_ends_with_a_problem() -> None:
    def broken() -> Iterator[bytes]:
        yield b"{}\n"
        raise ClientDisconnected

    first, last = list(read_lines(Body(broken())))
    assert first == b"{}", "without its break, beyond which no fault of this line is"
    assert isinstance(last, ClientDisconnected)
    (result,) = plan_batch.results([last])
    assert json.loads(result)["problem"]["status"] == 400


def test_a_body_that_is_malformed_after_answers_ends_with_a_problem(caplog: pytest.LogCaptureFixture) -> None:
    def broken() -> Iterator[bytes]:
        yield b"{}\n"
        raise RuntimeError("a part of the body, which a server's parser may cite")

    caplog.set_level("INFO")
    _, last = list(read_lines(Body(broken())))
    assert ("malformed: RuntimeError" in caplog.text, "a part" in caplog.text) == (True, False)
    problem = json.loads(*plan_batch.results([last]))["problem"]
    assert (problem["status"], problem["type"]) == (400, "/problems/malformed-request")
    assert "chunks" in problem["detail"]


def test_lines_are_answered_while_they_come() -> None:
    read = []

    def endless() -> Iterator[bytes]:
        while True:
            read.append(b'{"no": "plan"}\n')
            yield read[-1]

    answers = plan_batch.results(read_lines(Body(endless())))
    for n in range(1, 200):
        next(answers)
        assert len(read) == n


def test_a_document_goes_out_in_pieces_that_are_large_or_old() -> None:
    clock = Clock()

    def slowly(sizes: Iterable[int], seconds: float) -> Iterator[bytes]:
        for size in sizes:
            clock.now += seconds
            yield b"1" * size

    def sent(size: int, seconds: float) -> list[int]:
        parts = list(plan_batch._as_document(slowly([size] * 20, seconds), clock))
        assert b"".join(parts) == b'{"results":[' + b",".join([b"1" * size] * 20) + b"]}"
        return [part.count(b"1") // size for part in parts]

    assert sent(8_000, 0.01) == [5, 5, 5, 5, 0]
    assert sent(8_000, 0.3) == [2] * 10 + [0]
    assert sent(8_000, 6) == [1] * 20 + [0]
    assert sent(10, 0.01) == [20]


def test_a_document_of_no_plans_is_whole() -> None:
    assert list(plan_batch._as_document(iter(()))) == [b'{"results":[]}']


def test_a_long_line_is_skipped_in_pieces() -> None:
    body = io.BufferedReader(io.BytesIO(b"x" * (3 * MAX_LINE) + b"\nshort\n"))
    first, second = read_lines(body)
    assert isinstance(first, RequestEntityTooLarge)
    assert second == b"short"
