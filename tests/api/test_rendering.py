"""Drawings and sheets in a real browser, where there is one: what its own fonts make of the lettering; the print.

Chromium, headless, without a network; skipped where it is not installed (see DEVELOPERS.md).
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

CHROMIUM = shutil.which("chromium") or ""
pytestmark = pytest.mark.skipif(not CHROMIUM, reason="no chromium here")

Example = Callable[[str, str], Any]

MEASURE = """
<script>
const told = [...document.querySelectorAll('svg')].map(svg => {
  const own = svg.getBoundingClientRect();
  return [...svg.querySelectorAll('text')].map(text => {
    const box = text.getBBox(), group = text.closest('g[id]');
    return {words: text.textContent, group: group ? group.id : '', x: box.x, y: box.y, right: box.x + box.width,
            bottom: box.y + box.height, width: svg.viewBox.baseVal.width, height: svg.viewBox.baseVal.height};
  });
});
document.body.innerHTML = '<pre id="told"></pre>';
document.getElementById('told').textContent = JSON.stringify(told);
</script>
"""
APART = ("face-labels", "parts", "legend", "title-block", "section-dimensions")
"""Groups whose texts may not run into each other."""

TOUCH_MM = 0.7
"""A text's box has air above and below the letters: boxes may touch by so much."""


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., str]:
    """Run Chromium on a page; what it prints."""
    place = tmp_path_factory.mktemp("chromium")

    def run(page: str, *options: str) -> str:
        file = place / "page.html"
        file.write_text(page, encoding="utf-8")
        quiet = (
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        )
        command = [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", *quiet]
        command += [f"--user-data-dir={place / 'profile'}", *options, file.as_uri()]
        return subprocess.run(command, check=True, capture_output=True, text=True, timeout=120).stdout

    return run


def post(client: FlaskClient, path: str, body: Any, accept: str) -> str:
    """The text of an answer."""
    data = json.dumps(body)
    response = client.post(path, data=data, content_type="application/json", headers={"Accept": accept})
    assert response.status_code == 200, response.text
    return response.text


def wheels(example: Example) -> list[Any]:
    """Plan requests with few and many spokes, weights close together, many keep-outs and long names."""
    hidden, ounces, prices = (example("planFitting", name) for name in ("hidden", "steel_wheel", "own_stock"))
    close = example("planFitting", "hidden") | {"preferences": {"styles": ["clip_on"]}}
    for plane, angle in zip(close["reading"]["planes"], (88, 91), strict=True):
        plane["angle_deg"] = angle
    many = example("planFitting", "hidden") | {"preferences": {"styles": ["adhesive"]}, "reference": "W" * 100}
    many["wheel"]["spokes"] = {"kind": "even", "count": 15, "first_deg": 5, "width_deg": 9}
    many["wheel"]["lands"][1]["name"] = "the outer land, which has a rather long name for a land"
    many["wheel"]["keep_out"] = [
        {"place": "inner land", "from_deg": 11 * i, "to_deg": 11 * i + 2, "reason": f"weld {i}"} for i in range(30)
    ]
    many["reading"]["planes"][0]["mass_g"] = 90
    return [hidden, ounces, prices, close, many, example("planFitting", "repair_first")]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_text_is_clipped_or_runs_into_another(
    paper: str, example: Example, client: FlaskClient, browser: Callable[..., str]
) -> None:
    svgs = [
        post(client, "/v1/drawings", {"kind": "request", "request": b, "paper": paper}, "image/svg+xml")
        for b in wheels(example)
    ]
    shown = browser(f"<meta charset='utf-8'><body>{''.join(svgs)}{MEASURE}", "--dump-dom")
    match = re.search(r'<pre id="told">(.*?)</pre>', shown, re.DOTALL)
    assert match
    drawings = json.loads(unescape(match.group(1)))
    assert len(drawings) == len(svgs)
    for texts in drawings:
        for text in texts:
            assert text["x"] >= 10, text
            assert text["right"] <= text["width"] - 10, text
            assert text["y"] >= 10, text
            assert text["bottom"] <= text["height"] - 10 + TOUCH_MM, text
        assert [(a["words"], b["words"]) for a, b in pairs(texts) if overlap(a, b)] == []


def pairs(texts: list[dict[str, Any]]) -> list[tuple[dict[str, Any], dict[str, Any]]]:
    """All pairs of texts of a group that must stay apart."""
    kept = [t for t in texts if t["group"] in APART]
    return [(a, b) for i, a in enumerate(kept) for b in kept[i + 1 :] if a["group"] == b["group"]]


def overlap(a: dict[str, Any], b: dict[str, Any]) -> bool:
    """Whether two texts run into each other."""
    wide = min(a["right"], b["right"]) - max(a["x"], b["x"])
    high = min(a["bottom"], b["bottom"]) - max(a["y"], b["y"])
    return bool(wide > 0.2 and high > TOUCH_MM)


def test_the_prints(example: Example, client: FlaskClient, browser: Callable[..., str], tmp_path: Path) -> None:
    """A drawing is one page; a sheet of an ordinary plan is two, its drawing, steps and cautions on the first."""
    body = example("planFitting", "hidden")
    page = "<style>@page {{ size: {size}; margin: 0 }} body {{ margin: 0 }} svg {{ display: block }}</style>{svg}"
    for paper in ("a4", "letter"):
        svg = post(client, "/v1/drawings", {"kind": "request", "request": body, "paper": paper}, "image/svg+xml")
        assert pages(browser, page.format(size=paper, svg=svg), tmp_path / "drawing.pdf") == 1
    assert pages(browser, post(client, "/v1/plans", body, "text/html"), tmp_path / "sheet.pdf") == 2


def pages(browser: Callable[..., str], page: str, pdf: Path) -> int:
    """How many pages a print has."""
    browser(page, f"--print-to-pdf={pdf}", "--no-pdf-header-footer")
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))
