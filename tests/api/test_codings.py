"""gzip where it is taken, tags on what may be kept, 304 for whoever has it."""

from __future__ import annotations

import gzip
import json
import zlib

import pytest
from flask.testing import FlaskClient

from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints import plan_batch
from rimpoise_service.api.http.codings import LEAST
from rimpoise_service.api.ops.settings import Settings
from tests.api.fixture_types import Example
from tests.contract_document import contract_document

KEPT = ["/v1/reference", "/openapi.yaml", "/docs/swagger-ui.css", "/problems/rule-broken"]
GZIP = {"Accept-Encoding": "gzip, deflate"}


@pytest.mark.parametrize(
    ("accepted", "coding"),
    [
        ("", None),
        ("gzip", "gzip"),
        ("gzip, deflate, br", "gzip"),
        ("*", "gzip"),
        ("br", None),
        ("gzip;q=0", None),
        ("*;q=0.5, gzip;q=0", None),
        ("gzip;q=0.1, identity;q=0.9", None),
        ("identity;q=0.1, gzip;q=0.9", "gzip"),
    ],
)
def test_the_coding_that_is_liked(
    accepted: str, coding: str | None, client: FlaskClient, example: Example
) -> None:
    """RFC 9110, section 12.5.3."""
    body = example("planFitting", "steel_wheel")
    plain = client.post("/v1/plans", json=body)
    answer = client.post("/v1/plans", json=body, headers={"Accept-Encoding": accepted})
    assert answer.headers.get("Content-Encoding") == coding
    assert {"Accept-Encoding", "Accept-Language"} <= set(answer.vary)
    assert answer.headers["Content-Language"] == "en-GB"
    assert int(answer.headers["Content-Length"]) == len(answer.data)
    if coding:
        assert len(answer.data) < len(plain.data) / 2
    assert (gzip.decompress(answer.data) if coding else answer.data) == plain.data


def test_what_is_short_goes_out_as_it_is(client: FlaskClient) -> None:
    answer = client.get("/healthz", headers=GZIP)
    assert len(answer.data) < LEAST
    assert "Content-Encoding" not in answer.headers


def test_problems_are_encoded_too(client: FlaskClient) -> None:
    body = {"nonsense " * 9 + str(n): n for n in range(50)}
    answer = client.post("/v1/plans", json=body, headers=GZIP)
    assert (answer.status_code, answer.headers["Content-Encoding"]) == (400, "gzip")
    assert json.loads(gzip.decompress(answer.data))["status"] == 400


def test_every_piece_of_a_document_can_be_read_when_it_is_out(
    client: FlaskClient, example: Example, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Callers give up when no byte comes for a while, and a batch may take long."""
    monkeypatch.setattr(plan_batch, "PIECE_S", 0)
    body = {"plans": [example("planFitting", "repair_first")] * 5}
    plain = client.post("/v1/plans/batch", json=body).data
    with client.post("/v1/plans/batch", json=body, headers=GZIP, buffered=False) as answer:
        assert answer.headers["Content-Encoding"] == "gzip"
        sent = list(answer.iter_encoded())
    reader = zlib.decompressobj(31)
    parts = [reader.decompress(part) for part in sent]
    assert (reader.eof, b"".join(parts)) == (True, plain)
    assert [part.count(b'"index"') for part in parts] == [1, 1, 1, 1, 1, 0, 0]
    assert sum(map(len, sent)) < len(plain) / 4


def test_every_line_can_be_read_when_it_is_out(client: FlaskClient, example: Example) -> None:
    lines = json.dumps(example("planFitting", "repair_first")).encode() + b"\n"
    headers = GZIP | {"Content-Type": "application/x-ndjson"}
    with client.post("/v1/plans/stream", data=lines * 4, headers=headers, buffered=False) as answer:
        assert answer.headers["Content-Encoding"] == "gzip"
        reader = zlib.decompressobj(31)
        parts = [reader.decompress(part) for part in answer.iter_encoded()]
    assert reader.eof
    assert [part.count(b"\n") for part in parts] == [1, 1, 1, 1, 0]
    assert [json.loads(part)["index"] for part in parts[:4]] == [0, 1, 2, 3]


LIMITED = {"RateLimit", "RateLimit-Policy"}


def test_what_a_limited_service_sends_with_a_304_is_documented() -> None:
    limited = create_app(Settings(rate_limit="9/minute")).test_client()
    kept = {"If-None-Match": limited.get("/v1/reference").headers["ETag"]}
    answer = limited.get("/v1/reference", headers=kept)
    documented = contract_document()["components"]["responses"]["NotModified"]["headers"]
    assert (answer.status_code, {*documented} - set(answer.headers.keys())) == (304, set())
    assert {name for name, _ in answer.headers if name.startswith("RateLimit")} <= {*documented}


@pytest.mark.parametrize("path", KEPT)
def test_what_may_be_kept_has_a_tag_for_each_coding(path: str, client: FlaskClient) -> None:
    plain, packed = client.get(path), client.get(path, headers=GZIP)
    assert gzip.decompress(packed.data) == plain.data
    documented = contract_document()["components"]["responses"]["NotModified"]["headers"]
    tags = [answer.headers["ETag"] for answer in (plain, packed)]
    assert tags == [client.get(path).headers["ETag"], client.get(path, headers=GZIP).headers["ETag"]]
    assert packed.data == client.get(path, headers=GZIP).data, "a strong tag means the same bytes"
    assert len(set(tags)) == 2
    assert all(tag.startswith('"') and "-en" in tag for tag in tags)
    assert plain.headers["Cache-Control"] == packed.headers["Cache-Control"] == "max-age=3600"
    for sent, tag in (({}, tags[0]), (GZIP, tags[1]), (GZIP, "*"), ({}, f'"other", W/{tags[0]}')):
        answer = client.get(path, headers={**sent, "If-None-Match": tag})
        assert (answer.status_code, answer.data) == (304, b"")
        assert {*documented, "Vary"} - LIMITED <= set(answer.headers.keys())
    for sent, tag in (({}, tags[1]), (GZIP, tags[0]), ({}, '"other"')):
        assert client.get(path, headers={**sent, "If-None-Match": tag}).status_code == 200
    for unheeded in ({"If-Match": '"other"'}, {"If-Unmodified-Since": "Wed, 01 Jan 2020 00:00:00 GMT"}):
        assert client.get(path, headers=unheeded).status_code == 200
    head = client.head(path)
    assert (head.status_code, head.data, head.headers["ETag"]) == (200, b"", tags[0])


def test_a_short_page_has_one_tag(client: FlaskClient) -> None:
    tags = {client.get("/docs", headers=headers).headers["ETag"] for headers in ({}, GZIP)}
    assert len(tags) == 1
    assert client.get("/docs", headers={"If-None-Match": tags.pop()}).status_code == 304


@pytest.mark.parametrize("path", ["/healthz", "/readyz", "/version", "/nowhere", "/problems/none"])
def test_the_rest_is_not_to_be_kept(path: str, client: FlaskClient) -> None:
    answer = client.get(path)
    assert "ETag" not in answer.headers
    assert answer.headers["Cache-Control"] == "no-store"


def test_an_answer_to_a_post_is_not_to_be_kept(client: FlaskClient, example: Example) -> None:
    answer = client.post("/v1/plans", json=example("planFitting", "steel_wheel"), headers={"If-None-Match": "*"})
    assert (answer.status_code, answer.headers["Cache-Control"]) == (200, "no-store")
    assert "ETag" not in answer.headers
