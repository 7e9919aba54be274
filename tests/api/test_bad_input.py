"""What comes in when something else than our own client sends it."""

from __future__ import annotations

import json
import logging
from io import BytesIO
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import create_environ, run_wsgi_app

from rimpoise_service.api import app as application
from rimpoise_service.api.http import endpoint
from rimpoise_service.api.schemas.status import HealthSchema
from tests.api.fixture_types import Ask, Example, Pointers

NOT_JSON = {
    "empty": (b"", "the body is empty, at line 1, column 1; send a JSON object"),
    "cut off": (b'{"reading": ', "the body ends too early, at line 1"),
    "trailing": (b"{} {}", "column 4"),
    "single quotes": (b"{'a': 1}", "double quotes"),
    "comment": (b"{} // no", "unexpected `/` at line 1, column 4; nothing may follow"),
    "trailing comma": (b'{"a": 1,}', "line 1"),
    "NaN": (b'{"NaN":\n["\\"NaN", NaN]}', "NaN is not JSON, at line 2, column 11"),
    "Infinity": (b'{"mass_g": Infinity}', "Infinity is not JSON"),
    "minus Infinity": (b'{"mass_g": -Infinity}', "-Infinity is not JSON, at line 1, column 12"),
    "1e999": (b'{"mass_g": [11e999]}', "too large, at line 1, column 13"),
    "NaN and more": (b'{"mass_g": NaNs}', "NaN is not JSON, at line 1, column 12"),
    "1e999 and more": (b'{"mass_g": 1e999.5}', "the number 1e999 is too large, at line 1, column 12"),
    "5,000 digits": (
        b'{"mass_g": ' + b"9" * 5000 + b"}",
        "begins 9999999999999999999999999999999999999999 has 5000 digits, at line 1, column 12",
    ),
    "duplicate key": (
        b'{"planes": [], "planes": []}',
        '"planes" is given twice in one object, the second time at line 1, column 16',
    ),
    "duplicate key inside": (
        b'{"kind": {"kind": "kind",\n "k\\u0069nd": 2}}',
        '"kind" is given twice in one object, the second time at line 2, column 2',
    ),
    "too deep": (b"[" * 100_000, "too deeply"),
    "deep and closed": (b"[" * 100_000 + b"]" * 100_000, "too deeply"),
    "bad UTF-8": (b'{"name": "\xff"}', "byte 10 is not UTF-8"),
    "UTF-16": ('{"a": 1}'.encode("utf-16"), "not UTF-8"),
    "byte order mark": (b"\xef\xbb\xbf{}", "begins with a byte order mark; send it without"),
    "lone surrogate": (b'{"name": "\\ud800"}', 'stands alone at the end of `{"name": "\\ud800`'),
    "lone surrogate in a key": (b'{"\\udfff": 1}', 'stands alone at the end of `{"\\udfff`'),
    "raw control character": (b'{"name": "a\x01b"}', "unexpected `\\u0001` at line 1, column 12; in a text"),
    "raw line break": (
        b'{"name": "a\nb"}',
        "unexpected `\\u000a` at line 1, column 12; in a text a line break is \\n",
    ),
    "escape that is none": (b'{"name": "a\\qb"}', "unknown escape at line 1, column 12; after a backslash"),
    "escape cut short": (b'{"name": "\\u12"}', "unknown escape at line 1, column 12"),
    "text without end": (b'{"name": "abc}', "begins at line 1, column 10 has no end"),
    "UTF-16 without its mark": ('{"a": 1}'.encode("utf-16-le"), "unexpected `\\u0000` at line 1, column 2"),
}


@pytest.mark.parametrize("name", NOT_JSON)
def test_what_is_not_strict_json(name: str, ask: Ask, pointers: Pointers) -> None:
    body, said = NOT_JSON[name]
    response = ask("/v1/corrections", body)
    assert (response.status_code, pointers(response)) == (400, ["#"])
    assert response.get_json()["type"] == "/problems/malformed-json"
    assert said in response.get_json()["errors"][0]["detail"]


def test_surrogates_that_come_in_pairs_are_text(example: Example, ask: Ask) -> None:
    body = json.dumps(example("computeCorrections", "textbook"))
    response = ask("/v1/corrections", body.replace('"name": "A"', '"name": "\\ud83d\\ude80"').encode())
    assert response.get_json()["corrections"][0]["plane"] == "\N{ROCKET}"


@pytest.mark.parametrize("body", [b"[]", b"null", b"3", b'"text"', b"true", b"[{}]"])
def test_a_body_that_is_no_object(body: bytes, ask: Ask, pointers: Pointers) -> None:
    response = ask("/v1/plans", body)
    assert (response.status_code, pointers(response)) == (400, ["#"])
    assert response.get_json()["type"] == "/problems/invalid-request"
    assert "must be an object" in response.text


@pytest.mark.parametrize(
    "headers",
    [
        {"Content-Type": "text/plain"},
        {"Content-Type": "application/x-www-form-urlencoded"},
        {"Content-Type": "application/problem+json"},
        {},
        {"Content-Type": "application/json", "Content-Encoding": "gzip"},
    ],
)
def test_media_types_that_are_not_plain_json(
    headers: dict[str, str], client: FlaskClient, pointers: Pointers
) -> None:
    response = client.post("/v1/corrections", data=b"{}", headers=headers)
    assert (response.status_code, pointers(response)) == (415, [])


def test_a_charset_does_no_harm(client: FlaskClient) -> None:
    response = client.post("/v1/corrections", data=b"{}", content_type="application/json; charset=utf-8")
    assert response.status_code == 400


def _padded(body: Any, size: int) -> bytes:
    text = json.dumps(body).encode()
    return text + b" " * (size - len(text))


@pytest.mark.parametrize(("size", "status"), [(2**20 - 1, 200), (2**20, 200), (2**20 + 1, 413), (3 * 2**20, 413)])
def test_the_limit_of_a_body(size: int, status: int, example: Example, ask: Ask) -> None:
    assert ask("/v1/corrections", _padded(example("computeCorrections", "textbook"), size)).status_code == status


@pytest.mark.parametrize(("size", "status"), [(2**20 - 1, 200), (2**20, 413), (3 * 2**20, 413)])
def test_the_limit_of_a_chunked_body(
    size: int, status: int, example: Example, client: FlaskClient, pointers: Pointers
) -> None:
    response = client.post(
        "/v1/corrections",
        input_stream=BytesIO(_padded(example("computeCorrections", "textbook"), size)),
        content_type="application/json",
        headers={"Transfer-Encoding": "chunked"},
        environ_overrides={"wsgi.input_terminated": True},
    )
    assert response.status_code == status
    if status == 413:
        assert pointers(response) == []


@pytest.mark.parametrize("path", ["/", "/v1", "/v1/plan", "/v1/plans/", "/v1/corrections/1", "/docs/../healthz"])
def test_paths_that_are_not_there(path: str, client: FlaskClient, pointers: Pointers) -> None:
    response = client.get(path)
    assert (response.status_code, pointers(response)) == (404, [])
    assert response.get_json()["type"] == "/problems/not-found"


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("GET", "/v1/plans", {"POST", "OPTIONS"}),
        ("DELETE", "/v1/corrections", {"POST", "OPTIONS"}),
        ("PUT", "/v1/splits", {"POST", "OPTIONS"}),
        ("POST", "/healthz", {"GET", "HEAD", "OPTIONS"}),
        ("POST", "/v1/reference", {"GET", "HEAD", "OPTIONS"}),
    ],
)
def test_methods_that_are_not_there(
    method: str, path: str, allowed: set[str], client: FlaskClient, pointers: Pointers
) -> None:
    response = client.open(path, method=method)
    assert (response.status_code, pointers(response)) == (405, [])
    assert set(response.headers["Allow"].split(", ")) == allowed


def test_pointers_are_escaped(ask: Ask, pointers: Pointers) -> None:
    found = pointers(ask("/v1/corrections", {"a~b/c d": 1, "%": 2, "ü": 3}))
    assert {"#/a~0b~1c%20d", "#/%25", "#/%C3%BC"} < set(found)


def test_a_fault_of_ours_tells_an_id_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, pointers: Pointers
) -> None:
    def fail() -> None:
        raise RuntimeError("the secret of the house")

    broken = endpoint.get("/broken", "breakDown", tag="service", answers=HealthSchema)(fail)
    monkeypatch.setattr(application, "ENDPOINTS", (broken,))
    with caplog.at_level(logging.ERROR):
        response = application.create_app().test_client().get("/broken")
    assert (response.status_code, pointers(response)) == (500, [])
    assert "secret" not in response.text
    assert response.get_json()["instance"] in caplog.text
    assert "the secret of the house" in caplog.text


def test_an_answer_that_is_not_json_is_a_fault_of_ours(monkeypatch: pytest.MonkeyPatch) -> None:
    broken = endpoint.get("/broken", "breakDown", tag="service")(lambda: "")
    reported = endpoint.Endpoint(
        "/nan",
        "GET",
        "tellNan",
        "service",
        lambda: {"mass_g": float("nan")},
        None,
        _Raw(),  # type: ignore[arg-type]
    )
    monkeypatch.setattr(application, "ENDPOINTS", (broken, reported))
    assert application.create_app().test_client().get("/nan").status_code == 500


class _Raw:
    """A schema that lets everything through."""

    def dump(self, value: object) -> object:
        """Unchanged."""
        return value


@pytest.mark.parametrize("path", ["/v1//reference", "//v1/reference", "///healthz", "/v1/reference/"])
def test_a_path_has_one_spelling_and_nobody_is_sent_elsewhere(client: FlaskClient, path: str) -> None:
    """As a server hands it on: a client for tests would tidy it. A redirect would name the caller's host."""
    environ = create_environ("/", "http://elsewhere.test") | {"PATH_INFO": path}
    _, status, _ = run_wsgi_app(client.application, environ)
    assert status == "404 NOT FOUND"
