"""The page to try the service: what it may load, its words, and that its fields are those of the contract."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from typing import Any

import pytest
from flask.testing import FlaskClient

from rimpoise_service.messages.page_words import TABLES
from rimpoise_service.messages.reader import Language

ENGLISH = TABLES["en-GB"]["try"]


class Tags(HTMLParser):
    """All tags with their attributes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))


@pytest.fixture(scope="module")
def tags(client: FlaskClient) -> list[tuple[str, dict[str, str | None]]]:
    """Of the page."""
    return Tags(client.get("/try").text).tags


def test_it_may_load_from_here_alone_and_run_nothing_inline(
    client: FlaskClient, tags: list[tuple[str, dict[str, str | None]]]
) -> None:
    page = client.get("/try")
    assert page.content_type == "text/html; charset=utf-8"
    policy = page.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self';")
    assert "unsafe" not in policy
    assert "http" not in policy
    for tag, attributes in tags:
        assert tag != "style"
        assert tag != "script" or attributes["src"] == "try/try.js"
        assert not any(key.startswith("on") or key == "style" for key in attributes)


@pytest.mark.parametrize("language", TABLES)
def test_it_says_in_which_language_it_comes(client: FlaskClient, language: Language) -> None:
    page = client.get("/try", headers={"Accept-Language": language})
    assert f"<title>{TABLES[language]['try']['title']}</title>" in page.text
    assert f'<html lang="{language}">' in page.text
    assert page.headers["Content-Language"] == language


def test_everything_it_loads_is_here(client: FlaskClient, tags: list[tuple[str, dict[str, str | None]]]) -> None:
    loaded = {a.get("src") or a.get("href") for tag, a in tags if tag in ("script", "link")}
    assert len(loaded) == 3
    for path in loaded:
        response = client.get(f"/{path}")
        assert response.status_code == 200
        assert "max-age=3600" in response.headers["Cache-Control"]
        kept = {"If-None-Match": response.headers["ETag"]}
        assert client.get(f"/{path}", headers=kept).status_code == 304
    first, _, _ = client.get("/try/try.js").text.partition("\n")
    words = json.loads(first.removeprefix("const WORDS = ").removesuffix(";"))
    assert words == {name: table["try"] for name, table in TABLES.items()}


@pytest.mark.parametrize("name", ["try.html", "en.toml", "..%2ftry_page.py", "%2e%2e/__init__.py"])
def test_nothing_else_is_served(name: str, client: FlaskClient) -> None:
    assert client.get(f"/try/{name}").status_code == 404


def test_the_sheet_is_requested_where_it_is(
    tags: list[tuple[str, dict[str, str | None]]], published: dict[str, Any]
) -> None:
    (body,) = [a for tag, a in tags if tag == "body"]
    for name in ("data-plan", "data-sheet", "data-check"):
        assert f"/{body[name]}" in published["paths"]
    assert (body["data-sheet"] == "v1/plans/sheet") == ("/v1/plans/sheet" in published["paths"])


def test_every_word_is_in_the_files(client: FlaskClient, tags: list[tuple[str, dict[str, str | None]]]) -> None:
    """Those of the page, and those that its script says."""
    script = client.get("/try/try.js").text
    used = {a["data-word"] for _, a in tags if "data-word" in a} | set(re.findall(r'say\("(\w+)"', script))
    used |= {"write_number", "write_clock", "write_something", "pass", "adjust", "recheck_setup"}  # by name
    riders = {key for key in ENGLISH if key.endswith("_rider")}
    assert {key.removesuffix("_rider") for key in riders} < used
    assert used | {"no_script"} == set(ENGLISH) - riders


def test_every_field_is_one_of_the_contract(
    tags: list[tuple[str, dict[str, str | None]]], published: dict[str, Any]
) -> None:
    """The pointers that tie a problem's errors to fields lead somewhere in a request's schema."""
    names: set[str] = set()
    for schema in published["components"]["schemas"].values():
        names |= set(schema.get("properties", {}))
    pointers = [a["data-pointer"] for _, a in tags if a.get("data-pointer")]
    assert len(pointers) > 30
    for pointer in pointers:
        assert set((pointer or "").strip("/").split("/")) <= names, pointer


def test_every_choice_is_a_word_of_the_contract(
    tags: list[tuple[str, dict[str, str | None]]], published: dict[str, Any]
) -> None:
    words = {word for s in published["components"]["schemas"].values() for word in s.get("enum", [])}
    own = {"", "en-GB", "en-US", "de", "es", "two", "one", "degrees", "valve", "inside", "behind", "both"}
    own |= {"inboard_flange", "outboard_flange", "metric", "ounce"}
    chosen = {a["value"] for tag, a in tags if tag == "option"}
    assert chosen - own <= words


def test_every_field_has_a_label(tags: list[tuple[str, dict[str, str | None]]]) -> None:
    labels = {a["for"] for tag, a in tags if tag == "label"}
    fields = [a["id"] for tag, a in tags if tag in ("input", "select")]
    assert len(fields) == len(set(fields))
    assert set(fields) == labels
