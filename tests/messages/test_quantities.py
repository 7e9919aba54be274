"""Numbers as they are read: whole where they are, in the reader's units, with his language's digits."""

from __future__ import annotations

import pytest

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.messages.message import Message, message
from rimpoise_service.messages.quantities import quantity
from rimpoise_service.messages.reader import Language, Reader, current_reader, reading_as

METRIC, US, GERMAN = Reader(), Reader("en-US", "us"), Reader("de")
OUNCE_G = 28.349523125


@pytest.mark.parametrize(
    ("name", "value", "spec", "reader", "text"),
    [
        ("mass_g", 35.0, "weight", METRIC, "35 g"),
        ("mass_g", 12.5, "weight", METRIC, "12.5 g"),
        ("mass_g", 12.5, "weight", GERMAN, "12,5 g"),
        ("mass_g", 1.25 * OUNCE_G, "weight", METRIC, "1.25 oz (35 g)"),
        ("mass_g", 0.25 * OUNCE_G, "weight", US, "0.25 oz (7.1 g)"),
        ("mass_g", 35.0, "weight", US, "1.23 oz (35 g)"),
        ("left_g", 36.43, "", METRIC, "36 g"),
        ("left_g", 0.52, "", METRIC, "0.5 g"),
        ("left_g", 9.97, "", METRIC, "10 g"),
        ("left_g", -0.001, "", METRIC, "0 g"),
        ("left_g", 1163.0, "", GERMAN, "1.163 g"),
        ("left_g", OUNCE_G, "", US, "1 oz"),
        ("left_g", 24.31, "up", METRIC, "24.4 g"),
        ("width_in", 6.5, "", GERMAN, "6,5 Zoll"),
        ("rim_mm", 38.2, "", Reader("es", "us"), "1,5 pulg."),
        ("rim_mm", 38.2, "", METRIC, "38 mm"),
        ("rim_mm", 38.2, "", US, "1.5 in"),
        ("total_mm", 0.354, "fine", METRIC, "0.35 mm"),
        ("total_mm", 0.354, "fine", US, "0.014 in"),
        ("angle_deg", 110.0, "", METRIC, "110°"),
        ("angle_deg", 359.6, "", METRIC, "0°"),
        ("share_pct", 72.4, "", METRIC, "72%"),
        ("share_pct", 72.4, "", GERMAN, "72\u00a0%"),
        ("torque_nm", 110.0, "", METRIC, "110 N·m"),
        ("torque_nm", 110.0, "", US, "81 lb·ft"),
        ("low_km", 50.0, "", US, "30 mi"),
        ("least_c", 16.0, "", US, "61 °F"),
        ("low_km", 50.0, "bare", METRIC, "50"),
        ("angle_deg_2", 12.0, "", METRIC, "12°"),
        ("angle", -68.4, "whole", METRIC, "\u221268"),
    ],
)
def test_a_quantity_in_words(name: str, value: float, spec: str, reader: Reader, text: str) -> None:
    assert quantity(name, value, spec, reader) == text


@pytest.mark.parametrize(
    ("angle_deg", "language", "text"),
    [
        (0.0, "en-GB", "12 o'clock"),
        (359.0, "en-GB", "12 o'clock"),
        (351.0, "en-GB", "a little before 12 o'clock"),
        (112.0, "en-GB", "a little before 4 o'clock"),
        (125.0, "en-GB", "a little after 4 o'clock"),
        (105.0, "en-GB", "between 3 and 4 o'clock"),
        (345.0, "en-GB", "between 11 and 12 o'clock"),
        (15.0, "de", "zwischen 12 und 1 Uhr"),
        (30.0, "es", "a la 1"),
        (100.0, "es", "poco después de las 3"),
    ],
)
def test_the_clock_is_a_help_to_find_a_spot(angle_deg: float, language: str, text: str) -> None:
    values = {"mass_g": 5, "angle_deg": angle_deg}
    assert f"({text})" in text_of(Message("add_one", values), Reader(language))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("mass_g", "units", "text"),
    [
        (106.311, "metric", "3.75 oz (106 g)"),
        (106.311, "us", "3.75 oz (106 g)"),
        (35.0 + 35.437, "metric", "70.4 g"),
        (82.5, "metric", "82.5 g"),
        (60.0, "us", "2.12 oz (60 g)"),
        (60.0, "metric", "60 g"),
    ],
)
def test_the_headline_weighs_as_the_steps_do(mass_g: float, units: str, text: str) -> None:
    """Ounce weights as printed on them; else to the tenth of a gram: no shop weighs to a hundredth."""
    message = Message("headline_fit", {"count": 3, "mass_g": mass_g, "passes": 9, "tries": 10})
    said = text_of(message, Reader("en-GB", units))  # type: ignore[arg-type]
    assert said == f"Fit 3 weights, {text} in all: passes the check spin 9 times in 10."


@pytest.mark.parametrize("language", ["en-GB", "en-US", "de", "es"])
def test_weights_to_fit_or_to_look_for_are_read_as_printed(language: Language) -> None:
    masses_g, decimal = (12.5, 1.25 * OUNCE_G), "." if language.startswith("en") else ","
    several = message("renew_by_readings", numbers=(1, 2), masses_g=masses_g, angles_deg=(8.0, 9.0))
    assert f"12{decimal}5 g, 1{decimal}25 oz (35 g)" in text_of(several, Reader(language))
    for code in ("take_off_old", "old_weight_left"):
        assert f"12{decimal}5 g" in text_of(message(code, size_g=12.5, direction_deg=8.0), Reader(language))


def test_what_is_missing_leaves_its_bracket_out() -> None:
    given = {"number": 1, "sku": "A", "mass_g": 5.0, "place": "inboard_flange", "angle_deg": 90.0}
    way = {"rim_mm": 38.0, "direction": "clockwise", "from": "called_spot", "along": "lip_edge"}
    short = "Weight 1: clip-on A, 5 g, inner flange, at 90° (3 o'clock)"
    assert text_of(message("fit_clip_on", **given)) == f"{short}."
    assert text_of(message("fit_clip_on", **given, **way)) == (
        f"{short}, 38 mm clockwise of the called spot along the lip."
    )


def test_names_of_the_callers_stay_and_lists_are_joined() -> None:
    given = {"numbers": (1, 2), "count": 2, "skus": ("lead", "B"), "mass_g": 20.0, "angle_deg": 0.0}
    given |= {"masses_g": (7.5, 12.5)}
    said = text_of(message("fit_strips_together", **given, place="my_land"), Reader("de"))
    order = "2 Riegel Stoß an Stoß, im Uhrzeigersinn in dieser Reihenfolge"
    assert said.startswith(f"Gewichte 1, 2: {order} (lead, B: 7,5 g,")
    assert "12,5 g), zusammen 20 g, my_land," in said


def test_what_two_layouts_differ_by_is_as_exact_as_what_they_weigh() -> None:
    """110 g and 82.5 g stand beside it."""
    assert text_of(message("weighs_more", by_g=27.5)) == "27.5 g heavier"


def test_a_position_on_the_vehicle_is_put_together() -> None:
    said = text_of(message("open_torque", position="axle_2_left_inner"), Reader("de"))
    assert said == "Achse 2 links innen: Anzugsdrehmoment nicht notiert."


def test_a_reader_is_of_its_block() -> None:
    with reading_as(Reader("es", "us")):
        assert text_of(Message("no_clip_ons")).startswith("No hay")
    assert current_reader() == Reader()


def test_weights_that_are_renewed_are_listed_as_printed() -> None:
    masses, angles = (17.5, 1.25 * OUNCE_G), (71.2, 250.0)
    renewed = message("renew_by_readings", numbers=(1, 3), masses_g=masses, angles_deg=angles)
    assert text_of(renewed).startswith(
        "Take off weights 1 and 3 and fit new ones in their order, 17.5 g, 1.25 oz (35 g), at 71°, 250°: "
    )
    assert text_of(renewed, GERMAN).startswith("Gewichte 1 und 3 abnehmen")


@pytest.mark.parametrize(
    ("kept", "said"), [({"sd_g": 0.7}, "the usual 0.02 oz is kept"), ({"sd_deg": 2.0}, "the usual 2° is kept")]
)
def test_a_shops_spread_is_in_the_readers_units(kept: dict[str, float], said: str) -> None:
    name = "machine_sd_g" if "sd_g" in kept else "angle_sd_deg"
    assert said in text_of(Message("spread_default_kept", {"name": name, "what": name, **kept}), US)


@pytest.mark.parametrize(
    ("count", "reader", "said"),
    [
        (1, METRIC, "Fit 1 weight, 20 g: passes"),
        (2, METRIC, "Fit 2 weights, 20 g in all: passes"),
        (1, GERMAN, "1 Gewicht montieren, 20 g: "),
        (2, GERMAN, "2 Gewichte montieren, zusammen 20 g: "),
    ],
)
def test_one_weight_has_no_sum(count: int, reader: Reader, said: str) -> None:
    values = {"count": count, "mass_g": 20.0, "passes": 9, "tries": 10}
    assert text_of(Message("headline_fit", values), reader).startswith(said)


def test_one_of_many_is_once() -> None:
    hardly = {"count": 2, "passes": 1, "tries": 100}
    assert text_of(Message("headline_seldom_passes", hardly)).endswith("passes the check spin only once in 100.")
