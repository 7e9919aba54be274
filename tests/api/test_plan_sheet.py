"""The sheet: POST /v1/plans under Accept: text/html. What it says is what the JSON answer says."""

from __future__ import annotations

import json
import re
from base64 import b64encode
from collections.abc import Callable
from hashlib import sha256
from html.parser import HTMLParser
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

Ask = Callable[[str, object], TestResponse]
Example = Callable[[str, str], Any]
Get = Callable[[Any], TestResponse]

HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'&amp;"
NAMES = ["hidden", "own_stock", "steel_wheel", "repair_first"]
VOID = {"meta", "link", "img", "br"}


class Page(HTMLParser):
    """Tags with their attributes, table cells, and all text; unbalanced tags fail."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.cells: list[str] = []
        self.text = ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.open += [] if tag in VOID else [tag]
        if tag == "td":
            self.cells.append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data
        if "td" in self.open:
            self.cells[-1] += data


@pytest.fixture
def sheet_of(client: FlaskClient) -> Get:
    """Ask for a sheet."""

    def get(body: Any) -> TestResponse:
        headers = {"Accept": "text/html"}
        return client.post("/v1/plans", data=json.dumps(body), content_type="application/json", headers=headers)

    return get


@pytest.mark.parametrize("name", NAMES)
def test_it_says_what_the_answer_says(name: str, example: Example, ask: Ask, sheet_of: Get) -> None:
    body = example("planFitting", name)
    answer, page = ask("/v1/plans", body).get_json(), Page(sheet_of(body).text)
    assert ("p", {"class": "decision", "data-decision": answer["decision"]}) in page.tags
    for kind in ("cautions", "fitting_steps", "next_steps", "warnings", "derived"):
        for said in answer[kind]:
            assert said["text"] in page.text
    for layout in answer["alternatives"]:
        assert layout["name"] in page.text
        assert layout["compared"]["text"] in page.text
        assert " + ".join(f"{p['mass_g']:g} g at {p['angle_deg']:.1f}°" for p in layout["pieces"]) in page.text
    for residual in (answer["before"], (answer["recommended"] or {}).get("residual")):
        for vector in residual["planes"] if residual else ():
            assert f"{vector['plane']} {vector['mass_g']:.1f} g at {vector['angle_deg']:.1f}°" in page.text
    for out in answer["ruled_out"]:
        assert out["layout"] in page.text
        assert all(reason["text"] in page.text for reason in out["reasons"])
    if answer["reference"]:
        assert f"Fitting sheet: {answer['reference']}" in page.text


@pytest.mark.parametrize("name", NAMES)
def test_every_weight_has_its_row(name: str, example: Example, ask: Ask, sheet_of: Get) -> None:
    body = example("planFitting", name)
    layout, page = ask("/v1/plans", body).get_json()["recommended"], Page(sheet_of(body).text)
    pieces = layout["pieces"] if layout else []
    rows = len(page.cells) // len(pieces) if pieces else 0
    assert len(page.cells) == rows * len(pieces)
    for index, piece in enumerate(pieces):
        row = page.cells[index * rows : (index + 1) * rows]
        told = [str(index + 1), f"{piece['mass_g']:g} g", f"{piece['angle_deg']:.1f}°", piece["clock"]]
        assert row[:4] == told
        rest = " ".join(row[4:])
        for key in ("sku", "label", "window", "location"):
            assert piece[key] is None or piece[key] in rest
        assert piece["place"].replace("_", " ") in rest
        assert ("hidden" if piece["hidden"] else "visible") in rest
    if layout:
        assert (
            f"{layout['pass_chance_pct']:.0f} % chance to pass; {layout['total_mass_g']:g} g in all" in page.text
        )
        assert [tag for tag, _ in page.tags].count("svg") == 2


def test_it_needs_no_script_and_fetches_nothing(example: Example, sheet_of: Get) -> None:
    for tag, attributes in Page(sheet_of(example("planFitting", "hidden")).text).tags:
        assert tag not in ("script", "link", "img", "iframe", "object", "form", "base")
        assert not any(key.startswith("on") or key in ("src", "href", "style") for key in attributes)


def test_hostile_texts_stay_texts(example: Example, sheet_of: Get) -> None:
    body = example("planFitting", "own_stock") | {"reference": HOSTILE}
    wheel = body["wheel"]
    wheel["lands"][0]["name"] = wheel["keep_out"][0]["place"] = HOSTILE
    wheel["keep_out"][0]["reason"] = HOSTILE
    wheel["flanges"]["inboard"] = {"present": True, "profile": HOSTILE}
    wheel["spokes"] = {"kind": "windows", "windows": [{"name": HOSTILE, "centre_deg": 290, "width_deg": 60}]}
    for item in (*body["stock"]["clip_ons"], *body["stock"]["strips"]):
        item["label"] = item["location"] = HOSTILE
        item["sku"] += "<script>"
    page = Page(sheet_of(body).text)
    assert "script" not in [tag for tag, _ in page.tags]
    assert "img" not in [tag for tag, _ in page.tags]
    assert page.text.count(HOSTILE) > 5


def test_a_browser_is_told_to_run_and_load_nothing(example: Example, sheet_of: Get) -> None:
    response = sheet_of(example("planFitting", "hidden"))
    assert response.content_type == "text/html; charset=utf-8"
    policy = response.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'")
    (style,) = re.findall(r"<style>(.*?)</style>", response.text, re.DOTALL)
    assert f"style-src 'sha256-{b64encode(sha256(style.encode()).digest()).decode()}'" in policy
    assert "unsafe" not in policy
    assert response.headers["X-Content-Type-Options"] == "nosniff"


def test_it_is_made_for_phones_and_paper(example: Example, sheet_of: Get) -> None:
    response = sheet_of(example("planFitting", "hidden"))
    page = Page(response.text)
    assert ("meta", {"name": "viewport", "content": "width=device-width, initial-scale=1"}) in page.tags
    assert ("html", {"lang": "en"}) in page.tags
    assert "@media print" in response.text
    assert "@media (max-width" in response.text


def test_the_same_request_gets_the_same_bytes(example: Example, sheet_of: Get) -> None:
    body = example("planFitting", "hidden")
    assert sheet_of(body).data == sheet_of(body).data


@pytest.mark.parametrize(
    ("accept", "content_type"),
    [
        (None, "application/json"),
        ("*/*", "application/json"),
        ("application/json, application/problem+json", "application/json"),
        ("application/json;q=0.5, text/html;q=0.4", "application/json"),
        ("text/html, application/xhtml+xml, application/xml;q=0.9, */*;q=0.8", "text/html; charset=utf-8"),
        ("text/*", "text/html; charset=utf-8"),
        ("application/xml", "application/problem+json"),
        ("application/json;q=0", "application/problem+json"),
    ],
)
def test_the_form_that_is_liked_best(
    accept: str | None, content_type: str, example: Example, client: FlaskClient
) -> None:
    """RFC 9110, sections 12.5.1 and 15.5.7."""
    response = client.post(
        "/v1/plans", json=example("planFitting", "steel_wheel"), headers={"Accept": accept} if accept else {}
    )
    assert response.content_type == content_type
    assert response.status_code == (406 if "problem" in content_type else 200)
    if response.status_code == 200:
        assert response.headers["Vary"] == "Accept, Accept-Language"


def test_an_error_is_a_problem_in_any_form(sheet_of: Get) -> None:
    assert sheet_of({}).content_type == "application/problem+json"
