"""The page to try the service, in a browser: a whole job, what is refused, no network, keyboard, gloves, axe."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Route, expect

from rimpoise_service.api.app import create_app
from rimpoise_service.api.ops.api_keys import new_key
from rimpoise_service.api.ops.settings import Settings
from rimpoise_service.messages.page_words import TABLES
from rimpoise_service.messages.reader import LANGUAGES, Language
from tests.browser.conftest import violations
from tests.browser.trial import GOOD_SPIN, READING, STEEL, Trial
from tests.served import serving

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """A service on the loopback."""
    with serving(create_app(Settings(work_rate=0))) as url:
        yield url


@pytest.fixture
def trial(browser: Browser, address: str) -> Iterator[Trial]:
    """On a tablet, in English, nothing remembered; it may complain of nothing and ask nobody else."""
    context = browser.new_context(viewport={"width": 820, "height": 1180}, locale="en-GB")
    found = Trial(context, address)
    yield found
    assert found.complaints == []
    assert found.elsewhere == []
    context.close()


def test_the_whole_job(trial: Trial) -> None:
    trial.sheet()
    page = trial.page
    assert page.locator("#sheet .decision").get_attribute("data-decision") == "fit"
    assert page.locator("#sheet ol.weights li").count() == 2
    assert page.locator("#sheet figure.face svg").is_visible()
    assert page.evaluate("document.activeElement.id") == "answer-head"
    trial.fill(**GOOD_SPIN)
    page.locator("#spin button.go").click()
    expect(page.locator("#verdict .decision")).to_have_attribute("data-verdict", "pass")
    trial.fill(after_outboard_mass="25", after_outboard_angle="255")
    page.locator("#spin button.go").click()
    expect(page.locator("#verdict .decision")).to_have_attribute("data-verdict", "adjust")
    assert "weight" in page.locator("#verdict .decision").inner_text()


def test_where_the_valve_stands_instead_of_degrees(trial: Trial) -> None:
    """A valve at 4:00 with the spot at 12 is 240° of the mark."""
    trial.fill(direction="valve", material="steel", **STEEL)
    trial.fill(inboard_mass="35", inboard_valve="4:00", outboard_mass="25", outboard_valve="13:00")
    trial.plan()
    assert (
        "Outer side (outboard), Valve at, like 4:00: enter a time" in trial.page.locator("#trouble").inner_text()
    )
    trial.fill(outboard_valve="9:00")
    trial.plan()
    trial.page.wait_for_selector("#answer:not([hidden])")
    assert "valve at 4:00" in trial.page.locator("#sheet").inner_text()
    assert "240°" in trial.page.locator("#sheet ol.weights").inner_text()


def test_one_plane_with_strips_inside_the_barrel(trial: Trial) -> None:
    trial.fill(planes="one", static_mass="30,5", static_angle="75", styles="adhesive", **STEEL)
    trial.fill(has_inside="yes", inside_depth="110", inside_diameter="360", inside_width="40")
    trial.fill(static_place="inside")
    trial.fill(spokes="5", first_spoke="0", spoke_width="30", valve="0", stock="metric")
    trial.plan()
    trial.page.wait_for_selector("#answer:not([hidden])")
    assert "inside the barrel" in trial.page.locator("#sheet ol.weights").inner_text()
    assert "30.5" in trial.page.locator("#sheet").inner_text()


def test_what_is_missing_is_requested_in_words(trial: Trial) -> None:
    trial.plan()
    page = trial.page
    said = page.locator("#trouble").inner_text()
    assert "Inner side (inboard), Mass: enter a number." in said
    assert "Marking on the rim, like 7Jx17 ET45: enter it as marked." in said
    assert page.evaluate("document.activeElement.id") == "trouble"
    assert page.locator("[aria-invalid=true]").count() == 5
    page.locator("#trouble a").first.click()
    assert page.evaluate("document.activeElement.id") == "inboard_mass"
    assert page.locator("#answer").is_hidden()
    assert violations(page) == []


def test_a_refused_reading_is_reported_at_its_field(trial: Trial) -> None:
    trial.fill(material="steel", **READING)
    trial.fill(marking="7Jx1x", inboard_mass="-3")
    trial.plan()
    page = trial.page
    expect(page.locator("#trouble")).to_contain_text("This can't be right")
    for name in ("inboard_mass", "marking"):
        assert page.locator(f"#{name}").get_attribute("aria-invalid") == "true"
        assert page.locator(f"#{name}-wrong").inner_text().startswith("must be ")  # its label stands above it
    assert page.locator("#answer").is_hidden()
    assert len(trial.complaints) == 1  # the browser's own line on the 400
    trial.complaints.clear()
    trial.fill(marking=STEEL["marking"], inboard_mass="35")
    trial.plan()
    page.wait_for_selector("#answer:not([hidden])")
    assert page.locator("[aria-invalid]").count() == 0


def test_a_service_that_is_out_of_reach(trial: Trial) -> None:
    """What was entered is kept, over a reload too, and the next try goes through."""
    trial.fill(material="steel", **STEEL, **READING)
    trial.page.route("**/v1/**", lambda route: route.abort("connectionrefused"))
    trial.plan()
    expect(trial.page.locator("#trouble")).to_contain_text("can't be reached")
    trial.page.unroute("**/v1/**")
    trial.complaints.clear()  # the browser's own line on the failed request
    trial.open()
    assert trial.page.locator("#inboard_mass").input_value() == "35"
    trial.plan()
    trial.page.wait_for_selector("#answer:not([hidden])")


def test_a_service_in_trouble(trial: Trial) -> None:
    def busy(route: Route) -> None:
        route.fulfill(status=503, content_type="text/plain", body="no JSON at all")

    trial.fill(material="steel", **STEEL, **READING)
    trial.page.route("**/v1/**", busy)
    trial.plan()
    expect(trial.page.locator("#trouble")).to_contain_text("could not answer (503)")
    expect(trial.page.locator("#job button.go")).to_be_enabled()
    trial.complaints.clear()


def test_a_service_that_wants_a_key(browser: Browser, tmp_path: Path) -> None:
    keys = tmp_path / "keys"
    key, line = new_key("workshop")
    keys.write_text(line, encoding="utf-8")
    with serving(create_app(Settings(work_rate=0, keys_file=keys))) as address:
        context = browser.new_context(locale="en-GB")
        trial = Trial(context, address)
        trial.fill(material="steel", **STEEL, **READING)
        assert trial.page.locator("#key").is_hidden()
        trial.plan()
        expect(trial.page.locator("#trouble")).to_contain_text("needs a key")
        trial.fill(key=key)
        trial.plan()
        trial.page.wait_for_selector("#answer:not([hidden])")
        assert key not in trial.page.evaluate("JSON.stringify({...localStorage})")
        context.close()


def test_device_and_wheels_are_remembered(trial: Trial) -> None:
    page = trial.page
    trial.fill(wheel_name="winter set", marking="7Jx16 ET31", material="steel", unit="oz", device_label="bay 2")
    page.locator("#save").click()
    assert page.locator("#wheel_name-wrong").inner_text() == "Saved in this browser: winter set"
    trial.fill(marking="8Jx18 ET40", material="alloy", inner_lip="3", outer_lip="3", **READING)
    trial.fill(inboard_mass="1.25", outboard_mass="0.75")
    trial.plan()
    page.wait_for_selector("#answer:not([hidden])")
    trial.open()
    assert page.locator("#unit").input_value() == "oz"
    assert page.locator("#device_label").input_value() == "bay 2"
    trial.fill(saved="winter set")
    assert page.locator("#marking").input_value() == "7Jx16 ET31"
    assert page.locator("#material").input_value() == "steel"
    page.locator("#delete").click()
    assert page.locator("#saved option").count() == 1
    trial.open()
    assert page.locator("#saved option").count() == 1


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_is_in_the_chosen_language(language: Language, browser: Browser, address: str) -> None:
    """At first in the browser's, and later in the chosen one."""
    context = browser.new_context(locale={"de": "de-DE", "es": "es-MX"}.get(language, language))
    trial, words = Trial(context, address), TABLES[language]["try"]
    page = trial.page
    assert page.evaluate("document.documentElement.lang") == language
    said = page.evaluate(
        "[...document.querySelectorAll('[data-word]')].map(each => [each.dataset.word, each.textContent])"
    )
    assert len(said) > 60
    assert all(words[key] == text for key, text in said)
    trial.plan()
    assert words["missing"] in page.locator("#trouble").inner_text()
    trial.fill(language="de")
    assert page.locator("h1").inner_text() == TABLES["de"]["try"]["title"]
    trial.open()
    assert page.evaluate("document.documentElement.lang") == "de"
    context.close()


def test_a_motorcycle_has_left_and_right_and_places_have_the_readers_names(browser: Browser, address: str) -> None:
    context = browser.new_context(locale="de-DE")
    trial = Trial(context, address)
    page, words = trial.page, TABLES["de"]["try"]
    assert words["sense"] in page.locator("#job").inner_text()
    trial.fill(vehicle_class="motorcycle", marking="MT3.50x17", inner_flange="no", outer_flange="no")
    shown = page.locator("#job").inner_text()
    for key in ("sense", "inboard", "outboard", "inner_flange", "outer_flange"):
        assert words[f"{key}_rider"] in shown
        assert words[key] not in shown
    trial.fill(planes="one", static_mass="25", static_angle="75", static_place="inside")
    trial.fill(has_inside="yes", inside_depth="0", inside_diameter="380", inside_width="30")
    trial.plan()
    page.wait_for_selector("#answer:not([hidden])")
    assert words["inside"] in page.locator("#sheet ol.weights").inner_text()
    assert "Von rechts gesehen" in page.locator("#sheet figure.face").inner_text()
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(scheme: Any, browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 820, "height": 1180}, color_scheme=scheme, locale="en-GB")
    trial = Trial(context, address)
    assert violations(trial.page) == []
    trial.sheet()
    trial.fill(**GOOD_SPIN)
    trial.page.locator("#spin button.go").click()
    trial.page.wait_for_selector("#verdict .decision")
    assert violations(trial.page) == []
    context.close()


def test_every_target_is_large_enough_for_gloves(trial: Trial) -> None:
    """48 px a side, and no two of them overlap."""
    trial.sheet()
    targets = trial.page.locator("button:visible, select:visible, input:visible, summary:visible")
    boxes = [box for at in range(targets.count()) if (box := targets.nth(at).bounding_box())]
    assert len(boxes) > 25
    assert min(min(box["width"], box["height"]) for box in boxes) >= 48


@pytest.mark.parametrize("width_px", [360, 820])
def test_nothing_is_wider_than_the_screen(width_px: int, trial: Trial) -> None:
    trial.page.set_viewport_size({"width": width_px, "height": 740})
    trial.sheet()
    assert trial.page.evaluate("document.documentElement.scrollWidth") <= width_px


def test_the_whole_job_by_keyboard(trial: Trial) -> None:
    page, values = trial.page, {**READING, **STEEL}
    reached: list[str] = []
    for _ in range(80):
        page.keyboard.press("Tab")
        at = page.evaluate("document.activeElement.id || document.activeElement.className")
        reached.append(at)
        if at in values:
            page.keyboard.type(values[at])
        if at == "material":
            page.keyboard.type("steel")
        assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
        if at == "go":
            page.keyboard.press("Enter")
            break
    assert set(values) <= set(reached)
    page.wait_for_selector("#answer:not([hidden])")


def test_printing_prints_the_sheet_alone(trial: Trial) -> None:
    trial.sheet()
    trial.page.emulate_media(media="print")
    assert trial.page.locator("#sheet").is_visible()
    for hidden in ("#job", "#spin", "#print", "body > header", "body > footer"):
        assert trial.page.locator(hidden).is_hidden()


def test_without_scripts_it_says_so(browser: Browser, address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{address}/try")
    assert "needs scripts" in page.locator("noscript").inner_text()
    context.close()
