"""The page to try the service, as somebody fills it in."""

from __future__ import annotations

from playwright.sync_api import BrowserContext, Page

STEEL = {"marking": "6Jx15 ET40"}
READING = {"inboard_mass": "35", "inboard_angle": "80", "outboard_mass": "25", "outboard_angle": "255"}
GOOD_SPIN = {"after_inboard_mass": "0", "after_outboard_mass": "0"}


class Trial:
    """The page in a browser of its own, and what it complained of."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.page: Page = context.new_page()
        self.page.set_default_timeout(10_000)
        self.complaints: list[str] = []
        self.elsewhere: list[str] = []
        self.page.on("console", lambda said: self.complaints.append(said.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on(
            "request", lambda sent: None if sent.url.startswith(address) else self.elsewhere.append(sent.url)
        )
        self.address = address
        self.open()

    def open(self) -> None:
        """Load it, and wait until its script has begun."""
        self.page.goto(f"{self.address}/try")
        self.page.wait_for_selector("body[data-ready]")

    def fill(self, **values: str) -> None:
        """Fields by their id."""
        for name, value in values.items():
            field = self.page.locator(f"#{name}")
            if field.evaluate("e => e.tagName") == "SELECT":
                field.select_option(value)
            else:
                field.fill(value)

    def plan(self) -> None:
        """Ask for the sheet."""
        self.page.locator("#job button.go").click()

    def sheet(self) -> None:
        """A sheet for a steel wheel."""
        self.fill(material="steel", **STEEL, **READING)
        self.plan()
        self.page.wait_for_selector("#answer:not([hidden])")
