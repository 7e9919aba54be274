"""POST /v1/drawings: each form of the request, and the answer's head. What is drawn is tested in tests/drawing."""

from __future__ import annotations

import json
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.api.fixture_types import Ask, Example
from tests.drawing.svg_reading import NS, parsed, part, words

HOSTILE = "</text><script>alert('&amp;')</script><!-- \ufffe ]]>"


def drawn(response: TestResponse) -> ET.Element:
    """The SVG's root, after a look at its head."""
    assert response.status_code == 200, response.text
    assert response.content_type == "image/svg+xml"
    return parsed(response.data)


def of(body: Any) -> dict[str, Any]:
    """The request for the drawing of a plan request's plan."""
    return {"kind": "request", "request": body}


@pytest.mark.parametrize(("paper", "size"), [("a4", ("210mm", "297mm")), ("letter", ("215.9mm", "279.4mm"))])
def test_the_paper(paper: str, size: tuple[str, str], example: Example, ask: Ask) -> None:
    """ISO 216; ANSI/ASME Y14.1."""
    svg = drawn(ask("/v1/drawings", example("drawPlan", "plan_request") | {"paper": paper}))
    assert (svg.attrib["width"], svg.attrib["height"]) == size


@pytest.mark.parametrize("name", ["hidden", "own_stock", "steel_wheel"])
def test_an_answer_sent_back_is_drawn_as_the_request_is(name: str, example: Example, ask: Ask) -> None:
    body = example("planFitting", name)
    answer = ask("/v1/plans", body).get_json()
    requested = drawn(ask("/v1/drawings", of(body)))
    given = drawn(ask("/v1/drawings", {"kind": "plan", "plan": answer, "wheel": body["wheel"]}))
    for view in ("face-labels", "parts", "section-dimensions", "title-block"):
        assert words(part(given, view)) == words(part(requested, view))
    bare = drawn(ask("/v1/drawings", {"kind": "plan", "plan": answer}))
    assert words(part(bare, "face-labels")) == words(part(requested, "face-labels"))
    assert "Wheel not described" in " ".join(words(part(bare, "legend")))


@pytest.mark.parametrize("name", ["repair_first", "hidden"])
def test_a_plan_without_weights_is_drawn_too(name: str, example: Example, ask: Ask) -> None:
    body = example("planFitting", name)
    for plane in body["reading"]["planes"]:
        plane["mass_g"] = 1
    svg = drawn(ask("/v1/drawings", of(body)))
    assert "No weights." in words(part(svg, "parts"))


def test_hostile_texts_stay_texts(example: Example, ask: Ask) -> None:
    body = example("planFitting", "own_stock") | {"reference": HOSTILE}
    wheel = body["wheel"]
    wheel["lands"][0]["name"] = wheel["keep_out"][0]["place"] = HOSTILE
    wheel["keep_out"][0]["reason"] = HOSTILE
    wheel["spokes"] = {"kind": "windows", "windows": [{"name": HOSTILE, "centre_deg": 80, "width_deg": 40}]}
    for item in (*body["stock"]["clip_ons"], *body["stock"]["strips"]):
        item["sku"] = item["label"] = item["location"] = f"{item['sku']}<script>"
    response = ask("/v1/drawings", of(body))
    svg = drawn(response)
    assert not list(svg.iter(f"{{{NS['s']}}}script"))
    assert "<script" not in response.text
    assert "</text><script>" in " ".join(words(svg))
    for way in ("/v1/plans", "/v1/drawings"):
        assert ask(way, {"surplus": HOSTILE}).status_code == 400


def test_a_browser_is_told_to_run_and_load_nothing(example: Example, ask: Ask) -> None:
    headers = ask("/v1/drawings", example("drawPlan", "plan_request")).headers
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert "script-src" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize(
    ("accept", "status"),
    [("image/svg+xml", 200), ("image/*", 200), ("*/*", 200), ("text/html,*/*;q=0.1", 200), ("image/png", 406)],
)
def test_what_is_accepted(accept: str, status: int, example: Example, client: FlaskClient) -> None:
    body = json.dumps(example("drawPlan", "plan_request"))
    response = client.post("/v1/drawings", data=body, content_type="application/json", headers={"Accept": accept})
    assert response.status_code == status
    if status == 406:
        assert response.content_type == "application/problem+json"
        assert "image/svg+xml" in response.get_json()["detail"]
