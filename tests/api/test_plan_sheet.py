"""The sheet: POST /v1/plans/sheet. What it says is what POST /v1/plans says."""

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

from rimpoise_service.drawing.part import weighed
from rimpoise_service.messages.catalogue import word
from rimpoise_service.planning.fitting_steps import FITTING
from tests.api.fixture_types import Ask, Example
from tests.detail import with_detail
from tests.drawing.svg_reading import spoken

Get = Callable[[Any], TestResponse]

HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'&amp;"
NAMES = ["hidden", "own_stock", "steel_wheel", "repair_first"]
VOID = {"meta", "link", "img", "br"}


class Page(HTMLParser):
    """Tags with their attributes, the weights of the list, and all text; unbalanced tags fail."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.items: list[str] = []
        self.in_list = False
        self.text = ""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self.open += [] if tag in VOID else [tag]
        if tag == "ol":
            self.in_list = ("class", "weights") in attrs
        if tag == "li" and self.in_list:
            self.items.append("")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag
        self.in_list = self.in_list and tag != "ol"

    def handle_data(self, data: str) -> None:
        self.text += data
        if self.in_list and self.items:
            self.items[-1] += data


@pytest.fixture
def sheet_of(client: FlaskClient) -> Get:
    """Ask for a sheet."""

    def get(body: Any) -> TestResponse:
        return client.post("/v1/plans/sheet", data=json.dumps(body), content_type="application/json")

    return get


@pytest.mark.parametrize(
    ("stock", "said"),
    [
        ({"kind": "own"}, "No known place on this wheel takes a weight in stock."),
        ({"kind": "builtin", "name": "metric"}, "Where weights can go on this wheel isn't known yet."),
    ],
)
def test_a_sheet_without_weights_claims_no_more_than_is_known(
    stock: dict[str, str], said: str, ask: Ask, sheet_of: Get
) -> None:
    reading = {"kind": "static", "plane": {"kind": "position", "position_mm": -40, "radius_mm": 200}}
    reading["plane"] |= {"mass_g": 30, "angle_deg": 80}  # type: ignore[operator]
    body = {"reading": reading, "stock": stock}
    body["wheel"] = {"material": "alloy", "origin": "factory", "vehicle_class": "car"}
    answer, page = ask("/v1/plans", body).get_json(), Page(sheet_of(body).text)
    assert (answer["decision"], answer["headline"]["text"]) == ("none_possible", said)
    assert f"No weights found {said}" in page.text
    assert "Fit nothing" not in page.text  # the headline says it, and better
    assert "No weight that fits" not in page.text


@pytest.mark.parametrize("name", NAMES)
def test_it_says_what_the_answer_says(name: str, example: Example, ask: Ask, sheet_of: Get) -> None:
    body = with_detail(example("planFitting", name), "full")
    answer, page = ask("/v1/plans", body).get_json(), Page(sheet_of(body).text)
    (decision,) = [a for tag, a in page.tags if tag == "p" and "data-decision" in a]
    assert decision["data-decision"] == answer["decision"]
    assert answer["headline"]["text"] in page.text
    for kind in ("cautions", "next_steps", "warnings", "derived", "reasons"):
        for said in answer[kind]:
            assert said["text"] in page.text
    for step in answer["fitting_steps"]:
        assert (step["text"] in page.text) != (step["code"] in FITTING)
    for layout in answer["alternatives"]:
        assert spoken(layout["name"]) in page.text
        assert layout["compared"]["text"] in page.text
        assert (
            " + ".join(f"{weighed(p['mass_g'])} at {round(p['angle_deg'])}°" for p in layout["pieces"])
            in page.text
        )
    for residual in (answer["before"], (answer["recommended"] or {}).get("residual")):
        for vector in residual["planes"] if residual else ():
            plane, mass = word(vector["plane"]).replace("_", " "), vector["mass_g"]
            grams = f"{mass:.0f}" if mass >= 9.95 else f"{round(mass, 1):g}"
            assert f"{plane} {grams}\u00a0g at {round(vector['angle_deg'])}°" in page.text
    for out in answer["ruled_out"]:
        assert spoken(out["layout"]) in page.text
        assert all(reason["text"] in page.text for reason in out["reasons"])
    if answer["reference"]:
        assert f"Fitting sheet: {answer['reference']}" in page.text


@pytest.mark.parametrize("name", [*NAMES, "own_words", "at_places", "by_grade"])
def test_every_weight_is_in_the_list(name: str, example: Example, ask: Ask, sheet_of: Get) -> None:
    body = example("planFitting", name)
    layout, page = ask("/v1/plans", body).get_json()["recommended"], Page(sheet_of(body).text)
    pieces = layout["pieces"] if layout else []
    assert len(page.items) == len(pieces)  # none of these has strips end to end
    for number, (item, piece) in enumerate(zip(page.items, pieces, strict=True), 1):
        assert item.split()[0] == str(number)
        reported = [weighed(piece["mass_g"]), f"at {round(piece['angle_deg'])}°", piece["sku"]]
        reported += [piece[key] for key in ("window", "location") if piece[key]]
        reported += [piece["label"]] if body["stock"]["kind"] == "own" and piece["label"] else []
        reported += [word(piece["place"]).replace("_", " "), "not visible" if piece["hidden"] else "visible"]
        assert [each for each in reported if each not in item] == []
    assert [tag for tag, _ in page.tags].count("svg") == (2 if layout else 0)


def test_the_reading_is_written_as_it_was_shown(example: Example, sheet_of: Get) -> None:
    """In the balancer's own unit, sense and words; what is not known is left blank."""
    text = sheet_of(example("planFitting", "own_words")).text.replace("\u00a0", " ")
    assert "inner 1.25 oz at 292°; outer 0.75 oz at 255°" in text
    assert "bay 2, step 0.05 oz" in text
    assert "off when read" in text
    body = example("planFitting", "own_words")
    for plane in ("inboard", "outboard"):
        body["reading"]["shown"][plane] = {"mass": 1.25, "valve_at": {"kind": "clock", "clock": "4:00"}}
    text = sheet_of(body).text.replace("\u00a0", " ")
    assert "inner 1.25 oz, valve at 4:00; outer 1.25 oz, valve at 4:00" in text


def test_what_the_request_lacks_is_left_to_fill_in(example: Example, sheet_of: Get) -> None:
    page = Page(sheet_of(example("planFitting", "hidden")).text)
    labels = ("Plate or VIN", "Position", "Tyre size", "Check spin", "Tyre pressure", "Torque of nuts or bolts")
    for label in (*labels, "Torque again after", "Old weights taken off", "Fitted by", "Date, time", "Signature"):
        assert label in page.text
    graded = Page(sheet_of(example("planFitting", "by_grade")).text)
    assert "225/45 R17" in graded.text
    assert page.text.count("to fill in by hand") == graded.text.count("to fill in by hand") + 1


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


def test_a_text_turns_nothing_around_it(example: Example, sheet_of: Get) -> None:
    """What would change the direction of writing, or steer a printer, is shown as a mark."""
    page = sheet_of(example("planFitting", "own_stock") | {"reference": "K\u202e17\x9b\u2066"}).text
    assert "Fitting sheet: K\ufffd17\ufffd\ufffd" in page


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
    assert ("html", {"lang": "en-GB"}) in page.tags
    assert "@media print" in response.text
    assert "@media screen and (max-width" in response.text


def test_the_same_request_gets_the_same_bytes(example: Example, sheet_of: Get) -> None:
    body = example("planFitting", "hidden")
    assert sheet_of(body).data == sheet_of(body).data


def test_an_error_is_a_problem(sheet_of: Get) -> None:
    assert sheet_of({}).content_type == "application/problem+json"


def test_a_static_sheet_has_no_gaps_and_promises_no_more_than_its_headline(sheet_of: Get) -> None:
    """20 g on the rim of a motorcycle: no planes to list, and the chance rounds to all."""
    rim = {"name": "rim", "side": "inboard", "position_mm": 0, "radius_mm": 205, "width_mm": 40}
    body = {
        "reading": {"kind": "static", "plane": {"kind": "at", "place": "rim", "mass_g": 20, "angle_deg": 10}},
        "wheel": {
            "material": "alloy",
            "origin": "factory",
            "vehicle_class": "motorcycle",
            "rim_size": "MT3.50x17",
            "lands": [rim | {"behind_spokes": False, "visible": True}],
        },
        "stock": {"kind": "builtin", "name": "metric"},
    }
    page = sheet_of(body).text
    assert "Before, heavy side</dt><dd>static 20" in page
    assert "99 times in 100" in page
    assert "99% pass" in page
    assert "100% pass" not in page
