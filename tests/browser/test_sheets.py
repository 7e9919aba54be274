"""Sheets in a browser: on paper, on a phone, on a tablet, in the dark, and to readers who can't see them."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from playwright.sync_api import Browser, Page

from rimpoise_service.api.app import create_app
from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.ops.settings import Settings
from rimpoise_service.api.pages.try_page import SHEET_PATH
from rimpoise_service.messages.reader import LANGUAGES
from tests.browser import usual
from tests.browser.conftest import violations

pytestmark = pytest.mark.browser

USUAL = ("hidden", "own_words", "own_stock", "steel_wheel", "at_places", "by_grade", "repair_first")
EXAMPLES = {(o.operation_id, name): e.body for o in ENDPOINTS for name, e in o.examples.items()}
PAGES = [(f"/{SHEET_PATH}", "planFitting", name) for name in USUAL]
PAGES += [("/v1/vehicles/sheet", "printVehicle", name) for name in ("front_axle", "spare")]
PAGES += [
    (o.path, o.operation_id, name) for o in ENDPOINTS if o.path == "/v1/run-outs/sheet" for name in o.examples
]

CLIENT: FlaskClient = create_app(Settings(work_rate=0)).test_client()
Sheet = Callable[[str, str, str], str]


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    """An example's sheet."""

    def get(path: str, operation: str, name: str) -> str:
        response = CLIENT.post(path, json=EXAMPLES[operation, name])
        assert response.status_code == 200, response.text
        return response.text

    return get


WHEELS = {**{name: EXAMPLES["planFitting", name] for name in USUAL}, **usual.USUAL}
PAPER = {"A4": (210, 297), "Letter": (215.9, 279.4)}
ROOM_PX = 8
"""What is left on a page at least, so that another printer's letters fit too."""


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", WHEELS)
def test_a_usual_wheel_is_one_page(name: str, language: str, page: Page) -> None:
    body = WHEELS[name]
    if language == "en-US":
        body = {**body, "preferences": {**body.get("preferences", {}), "units": "us"}}
    response = CLIENT.post(f"/{SHEET_PATH}", json=body, headers={"Accept-Language": language})
    assert response.status_code == 200, response.text
    page.emulate_media(media="print")
    page.set_content(response.text)
    for paper, (width_mm, height_mm) in PAPER.items():
        found = len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper)))
        page.set_viewport_size({"width": round((width_mm - 20) / 25.4 * 96), "height": 500})
        high = page.evaluate("document.documentElement.scrollHeight")
        assert (found, high <= (height_mm - 16) / 25.4 * 96 - ROOM_PX) == (1, True), (paper, high)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_drawing_is_one_page(paper: str, page: Page, tmp_path: Path) -> None:
    body = {"kind": "request", "request": EXAMPLES["planFitting", "hidden"], "paper": paper}
    svg = CLIENT.post("/v1/drawings", json=body).text
    page.set_content(f"<style>@page{{size:{paper};margin:0}}body{{margin:0}}svg{{display:block}}</style>{svg}")
    file = tmp_path / "drawing.pdf"
    page.pdf(path=file, prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", file.read_bytes())) == 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("path", "operation", "name"), PAGES)
def test_axe_finds_nothing(
    path: str, operation: str, name: str, scheme: Any, sheet: Sheet, browser: Browser
) -> None:
    page = browser.new_page(viewport={"width": 820, "height": 1180}, color_scheme=scheme)
    page.set_content(sheet(path, operation, name))
    assert violations(page) == []
    if page.locator("summary").count():
        page.locator("summary").click()
        assert violations(page) == []
    page.close()


def test_axe_sees_what_is_wrong(page: Page) -> None:
    page.set_content("<html><body><img src='x.png'><p style='color:#999;background:#aaa'>pale</p></body></html>")
    rules = {each.partition(":")[0] for each in violations(page)}
    assert {"image-alt", "color-contrast", "html-has-lang"} <= rules


@pytest.mark.parametrize("width_px", [360, 820])
@pytest.mark.parametrize(("path", "operation", "name"), PAGES)
def test_nothing_is_wider_than_the_screen(
    path: str, operation: str, name: str, width_px: int, sheet: Sheet, page: Page
) -> None:
    page.set_viewport_size({"width": width_px, "height": 740})
    page.set_content(sheet(path, operation, name))
    assert page.evaluate("document.documentElement.scrollWidth") <= width_px


def test_a_phone_has_the_face_alone_and_a_tablet_both_views(sheet: Sheet, page: Page) -> None:
    page.set_content(sheet(f"/{SHEET_PATH}", "planFitting", "hidden"))
    assert page.locator("figure.face").is_visible()
    assert not page.locator("figure.section").is_visible()
    page.set_viewport_size({"width": 820, "height": 1180})
    assert page.locator("figure.section").is_visible()
    face, listed = page.locator("figure.face").bounding_box(), page.locator("ol.weights").bounding_box()
    assert face
    assert listed
    assert face["x"] > listed["x"] + listed["width"] - 1  # beside, not below


def test_the_first_weight_is_on_a_phones_first_screen(sheet: Sheet, page: Page) -> None:
    page.set_content(sheet(f"/{SHEET_PATH}", "planFitting", "hidden"))
    first = page.locator("ol.weights li").first.bounding_box()
    assert first
    assert first["y"] + first["height"] < 740


def test_the_decision_is_in_words_and_sign_as_well(sheet: Sheet, page: Page) -> None:
    """In print without colours too: each tone has a border of its own."""
    borders = {}
    for name, word in (("hidden", "Fit"), ("repair_first", "Repair first")):
        page.set_content(sheet(f"/{SHEET_PATH}", "planFitting", name))
        assert page.locator(".decision strong").inner_text() == word
        borders[name] = page.locator(".decision").evaluate("e => getComputedStyle(e).borderTopStyle")
    assert len(set(borders.values())) == 2


def test_more_opens_by_keyboard(sheet: Sheet, page: Page) -> None:
    page.set_content(sheet(f"/{SHEET_PATH}", "planFitting", "hidden"))
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.tagName") == "SUMMARY"
    page.keyboard.press("Enter")
    assert page.locator("#alternatives").is_visible()
