"""A Chromium of the system, driven by Playwright; without one these tests are skipped and say so."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all."""
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.skip(f"no browser here: none of {', '.join(NAMES)} is on the path; apt-get install chromium")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A page 360 px wide, as on a phone; a test may make it larger."""
    page = browser.new_page(viewport={"width": 360, "height": 740})
    yield page
    page.close()


def violations(page: Page) -> list[str]:
    """What axe-core finds wrong, as "rule: first element"."""
    found = Axe().run(page).response["violations"]
    return [f"{each['id']}: {each['nodes'][0]['html'][:200]}" for each in found]
