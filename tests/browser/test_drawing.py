"""Drawings as a browser sets them: what overlaps, what crosses what, and how large it is on a phone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from playwright.sync_api import Page

from rimpoise_service.api.schemas.plans import PlanRequestSchema
from rimpoise_service.drawing.page import draw, face_view, section_view
from rimpoise_service.drawing.subject import Subject, subject_of
from rimpoise_service.messages.reader import Reader, reading_as
from rimpoise_service.model.arcs import Arc
from rimpoise_service.model.wheel import KeepOut, even_spokes
from rimpoise_service.planning.planner import make_plan
from tests.browser.usual import USUAL
from tests.factories.drawn import ALLOY, plan_request
from tests.factories.seeded import shop_job

pytestmark = pytest.mark.browser

JOBS = range(60)
PX_PER_MM = 96 / 25.4
"""Of CSS, by definition."""

MEASURE = """
() => {
  const box = e => { const b = e.getBoundingClientRect(); return [b.left, b.top, b.right, b.bottom]; };
  const texts = [...document.querySelectorAll("svg text")].filter(e => e.textContent).map(e => ({
    words: e.textContent, box: box(e), size: parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a,
  }));
  const leaders = [...document.querySelectorAll("#face-labels > path")].map(e => {
    const length = e.getTotalLength(), ctm = e.getScreenCTM(), points = [];
    for (let i = 0; i <= 200; i++) {
      const p = e.getPointAtLength(length * i / 200).matrixTransform(ctm);
      points.push([p.x, p.y]);
    }
    return points;
  });
  return {texts, leaders, sheet: box(document.querySelector("svg")), wide: document.documentElement.scrollWidth};
}
"""


@pytest.fixture(scope="module")
def subjects() -> list[Subject]:
    """Sixty random plans, and those of usual wheels."""
    usual = [PlanRequestSchema().load(body) for body in USUAL.values()]
    found = [subject_of(job, make_plan(job)) for job in (*map(shop_job, JOBS), *usual)]
    assert sum(bool(subject.parts) for subject in found) > 40
    return found


def measured(page: Page, svg: str, width_px: int) -> Any:
    """The drawing in a page of that width."""
    page.set_viewport_size({"width": width_px, "height": 740})
    page.set_content(f"<style>body{{margin:8px}}svg{{display:block;width:100%;height:auto}}</style>{svg}")
    return page.evaluate(MEASURE)


def overlaps(a: list[float], b: list[float], slack_px: float) -> bool:
    """Whether two boxes share more than the slack in both directions; a line's box is higher than its letters."""
    across, down = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    return across > slack_px and down > slack_px


READERS = (Reader(), Reader("de", "us"), Reader("es"), Reader("en-US", "us"))


@pytest.mark.parametrize("reader", READERS, ids=lambda r: f"{r.language}-{r.units}")
@pytest.mark.parametrize(("view", "width_px"), [(face_view, 360), (section_view, 560), (draw, 800)])
def test_no_words_lie_on_others_and_none_leave_the_sheet(
    view: Callable[[Subject], str], width_px: int, reader: Reader, subjects: list[Subject], page: Page
) -> None:
    for number, subject in enumerate(subjects):
        with reading_as(reader):
            drawn = view(subject)
        found = measured(page, drawn, width_px)
        assert found["wide"] <= width_px
        texts, sheet = found["texts"], found["sheet"]
        for i, one in enumerate(texts):
            slack = 0.22 * one["size"]
            assert overlaps(one["box"], sheet, 0), (number, one)
            assert one["box"][0] >= sheet[0] - 1, (number, one)
            assert one["box"][2] <= sheet[2] + 1, (number, one)
            clash = [other for other in texts[i + 1 :] if overlaps(one["box"], other["box"], slack)]
            assert not clash, (number, one, clash)


@pytest.mark.parametrize(("view", "width_px"), [(face_view, 360), (draw, 800)])
def test_no_leader_crosses_a_label(
    view: Callable[[Subject], str], width_px: int, subjects: list[Subject], page: Page
) -> None:
    crossings = 0
    for number, subject in enumerate(subjects):
        found = measured(page, view(subject), width_px)
        labels = [t for t in found["texts"] if not t["words"].startswith("K") and t["words"] != "clockwise"]
        for leader in found["leaders"]:
            crossings += 1
            for label in labels:
                left, top, right, bottom = label["box"]
                inside = [(x, y) for x, y in leader if left + 1 < x < right - 1 and top + 2 < y < bottom - 2]
                assert not inside, (number, label, inside[0])
    assert crossings > 60


def test_letters_on_a_phone_are_three_millimetres_high(subjects: list[Subject], page: Page) -> None:
    """The size of the letters, at 360 px and 96 px an inch."""
    for subject in subjects:
        sizes = [text["size"] for text in measured(page, face_view(subject), 360)["texts"]]
        assert min(sizes) >= 3.0 * PX_PER_MM


def test_many_keep_outs_and_long_names_stay_apart(page: Page) -> None:
    spokes = even_spokes(15, 5.0, 9.0)
    lands = (
        ALLOY.lands[0],
        replace(ALLOY.lands[1], name="the outer land, which has a rather long name for a land"),
    )
    keep_out = tuple(KeepOut("inner land", Arc(11.0 * i, 2.0), f"weld {i}") for i in range(30))
    wheel = replace(ALLOY, spokes=spokes, lands=lands, keep_out=keep_out)
    request = replace(plan_request(max_pieces=4, reference="W" * 100), wheel=wheel)
    subject = subject_of(request, make_plan(request))
    assert subject.parts
    texts = measured(page, draw(subject), 800)["texts"]
    kept = [t for t in texts if not t["words"].startswith("K")]
    for i, one in enumerate(kept):
        assert not [t for t in kept[i + 1 :] if overlaps(one["box"], t["box"], 0.22 * one["size"])], one
