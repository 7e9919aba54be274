"""Every type of problem leads to its page; 405 and 406 say what there is instead."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from flask.testing import FlaskClient
from markupsafe import escape

from rimpoise_service.api.http.problems import KINDS
from rimpoise_service.api.schemas.rules import RULES
from rimpoise_service.messages.page_words import PageWords
from rimpoise_service.messages.reader import LANGUAGES, Language, Reader, reading_as


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.slug)
def test_a_type_leads_to_its_page(kind: Any, client: FlaskClient) -> None:
    page = client.get(kind.type)
    assert (page.status_code, page.content_type) == (200, "text/html; charset=utf-8")
    assert page.text.count(kind.title.replace("'", "&#39;")) == 2
    assert kind.advice.replace("'", "&#39;") in page.text
    assert f"<dd>{kind.status}</dd>" in page.text
    assert "style-src 'sha256-" in page.headers["Content-Security-Policy"]
    assert "Accept" in page.headers["Vary"]


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.slug)
def test_or_to_its_row_of_the_reference(kind: Any, client: FlaskClient) -> None:
    rows = {row["type"]: row for row in client.get("/v1/reference").get_json()["problems"]}
    reported = client.get(kind.type, headers={"Accept": "application/json"})
    assert reported.content_type == "application/json"
    assert reported.get_json() == rows[kind.type]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.slug)
def test_it_is_in_the_readers_language(kind: Any, language: Language, client: FlaskClient) -> None:
    page = client.get(kind.type, headers={"Accept-Language": language})
    assert page.headers["Content-Language"] == language
    assert "Accept-Language" in page.headers["Vary"]
    assert f'<html lang="{language}">' in page.text
    with reading_as(Reader(language)):
        words = PageWords("problem_page")
        said = (kind.title, kind.advice, words("type"), words("status"))
    assert all(str(escape(text)) in page.text for text in said)


def test_the_page_of_rules_lists_them(client: FlaskClient) -> None:
    text = client.get("/problems/rule-broken").text
    assert all(f"<td>{name}</td>" in text for name in RULES)
    assert "<td>" not in client.get("/problems/not-found").text


@pytest.mark.parametrize(
    ("accept", "html"),
    [("text/html,application/xhtml+xml,*/*;q=0.8", True), ("application/json;q=0.9, text/html;q=0.1", False)],
)
def test_a_browser_gets_the_page(accept: str, html: bool, client: FlaskClient) -> None:
    assert ("html" in client.get("/problems/too-slow", headers={"Accept": accept}).content_type) is html


def test_another_type_is_none(client: FlaskClient) -> None:
    response = client.get("/problems/%3Cscript%3E")
    assert response.status_code == 404
    assert "malformed-json" in response.get_json()["detail"]


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("GET", "/v1/plans", {"POST", "OPTIONS"}),
        ("DELETE", "/v1/reference", {"GET", "HEAD", "OPTIONS"}),
        ("POST", "/healthz", {"GET", "HEAD", "OPTIONS"}),
    ],
)
def test_a_405_names_the_methods(method: str, path: str, allowed: set[str], client: FlaskClient) -> None:
    response = client.open(path, method=method)
    assert response.status_code == 405
    assert set(re.findall("[A-Z]{3,}", response.get_json()["detail"])) == allowed
    assert set(response.headers["Allow"].split(", ")) == allowed


def test_every_problem_s_type_resolves(client: FlaskClient) -> None:
    """As callers meet them: whatever was sent, the type is a page here."""
    requested = [
        client.post("/v1/plans", data=b"{", content_type="application/json"),
        client.post("/v1/plans", json={}),
        client.post("/v1/plans", data=b"{}", content_type="text/plain"),
        client.post("/v1/plans", data=json.dumps({}), headers={"Accept": "image/png"}),
        client.get("/nowhere"),
        client.get("/v1/plans"),
    ]
    for response in requested:
        assert client.get(response.get_json()["type"]).status_code == 200
