"""Rim markings in the many ways people write them, and the geometry behind them."""

from __future__ import annotations

import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rimpoise_service.physics.rim_sizes import (
    EXAMPLES,
    MARKING_PATTERN,
    SPECIFIED_DIAMETER_MM,
    TAPERED,
    TAPERED_DIAMETER_MM,
    Rim,
    UnreadableMarking,
    parse_marking,
)


@pytest.mark.parametrize(
    ("text", "width_in", "contour", "code", "offset"),
    [
        ("7Jx17", 7, "J", 17, None),
        ("7Jx17 ET45", 7, "J", 17, 45),
        ("7 J x 17 H2 ET45", 7, "J", 17, 45),
        ("7 J x 17 H2", 7, "J", 17, None),
        ("7.0J-17", 7, "J", 17, None),
        ("17x7J", 7, "J", 17, None),
        ("17x7", 7, "J", 17, None),
        ("7x17", 7, "J", 17, None),
        ("7J×17", 7, "J", 17, None),
        ("7.5Jx18 ET-5", 7.5, "J", 18, -5),
        ("6.5Jx16 ET 37.5", 6.5, "J", 16, 37.5),
        ("10Jx20", 10, "J", 20, None),
        ("5.5JX14 H2ET35", 5.5, "J", 14, 35),
        ("4.5Bx13", 4.5, "B", 13, None),
        ("6JJx15", 6, "J", 15, None),
        ("6JKx15", 6, "J", 15, None),
        ("6Kx15", 6, "K", 15, None),
        ("  7Jx17 ET45  ", 7, "J", 17, 45),
        ("7Jx17 ET+45", 7, "J", 17, 45),
        ("7Jx17 ET0", 7, "J", 17, 0),
        ("16x7", 7, "J", 16, None),
        ("15x10J", 10, "J", 15, None),
        ("15x10", 10, "J", 15, None),
        ("10x15", 10, "J", 15, None),
        ("16x10 ET-20", 10, "J", 16, -20),
        ("7,5Jx17 ET37,5", 7.5, "J", 17, 37.5),
        ("5½Jx14", 5.5, "J", 14, None),
        ("5 1/2 J x 14", 5.5, "J", 14, None),
        ("15x6J", 6, "J", 15, None),
        ("7Jx17 IS45", 7, "J", 17, 45),
        ("7Jx17 +45", 7, "J", 17, 45),
        ("7Jx17 H2 5x114.3 +40", 7, "J", 17, 40),
        ("7Jx17 ET45 5x112", 7, "J", 17, 45),
        ("7Jx17 ET45 5/112", 7, "J", 17, 45),
        ("7Jx17 4x100", 7, "J", 17, None),
        ("MT3.50x17", 3.5, "MT", 17, None),
        ("17 M/C x MT 3.50", 3.5, "MT", 17, None),
        ("J17xMT5.50", 5.5, "MT", 17, None),
        ("1.85x18", 1.85, "J", 18, None),
        ("22.5x8.25", 8.25, "15°", 22.5, None),
        ("8.25x22.5", 8.25, "15°", 22.5, None),
        ("22,5x11,75 ET120", 11.75, "15°", 22.5, 120),
        ("17.5x6.00", 6, "15°", 17.5, None),
        ("24.5x8.25 10x285.75", 8.25, "15°", 24.5, None),
        ("7jx17 et45", 7, "J", 17, 45),
        ("8kx16", 8, "K", 16, None),
        ("7J*17", 7, "J", 17, None),
        ("7.0Jx17.0 ET45", 7, "J", 17, 45),
        ("8Jx18 LK5X112 ET45", 8, "J", 18, 45),
        ("8Jx18 5x112 ET45 CB57.1", 8, "J", 18, 45),
        ("8Jx18 ET45 5x112 ML66,6", 8, "J", 18, 45),
        ("mt3.50x17", 3.5, "MT", 17, None),
        ("4Jx8 H2", 4, "J", 8, None),
        ("8x4.00", 4, "J", 8, None),
        ("2.50C-8", 2.5, "C", 8, None),
        ("15x8", 8, "J", 15, None),
        ("17.5x10", 10, "15°", 17.5, None),
        ("16.5x6.75", 6.75, "15°", 16.5, None),
        ("4Tx16", 4, "T", 16, None),
        ("16 x 4T", 4, "T", 16, None),
        ("5.50F x 16 SDC", 5.5, "F", 16, None),
        ("6Lx15", 6, "L", 15, None),
        ("7.5jx17h2", 7.5, "J", 17, None),
        ("8.5Jx19 AH2", 8.5, "J", 19, None),
        ("6 J x 15 H 2", 6, "J", 15, None),
        ("7Jx17 H2 DOT ET45", 7, "J", 17, 45),
        ('17" x 7.5"', 7.5, "J", 17, None),
        ("17 inch x 7", 7, "J", 17, None),
        ("17x7-1/2J", 7.5, "J", 17, None),
        ("7J – 17", 7, "J", 17, None),
        ("7Jx17, ET 45 mm", 7, "J", 17, 45),
        ("7Jx17 ET−12", 7, "J", 17, -12),
        ("7Jx17 ET–12", 7, "J", 17, -12),
        ("7Jx17x45", 7, "J", 17, 45),
        ("18x7.5 ET42 5-114.3", 7.5, "J", 18, 42),
        ("J18x2.15", 2.15, "J", 18, None),
    ],
)
def test_markings(text: str, width_in: float, contour: str, code: int, offset: float | None) -> None:
    rim = parse_marking(text)
    assert rim.width_mm == pytest.approx(width_in * 25.4)
    assert (rim.contour, rim.code, rim.offset_mm) == (contour, code, offset)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "7J",
        "17",
        "7Jx",
        "x17",
        "7Jx17 ET",
        "7Jx1",
        "7Jx99",
        "7Jx7",
        "8Jx8",
        "12.5x8",
        "17x7x114.3",
        "0Jx17",
        "1Jx17",
        "18Jx17",
        "-7Jx17",
        "7Qx17",
        "7Jx17 ET4500",
        "7Jx17;DROP",
        "205/55R16",
        "7..5Jx17",
        "7Jx18.5",
        "7Jx17 45",
        "7Jx17 5x",
        "7Jx17 CB",
        "7Jx17.1",
        "390x180",
        "6.00Gx16",
        "7.50V-20",
        "WM2x18",
        "MTx17",
        "1.1x17",
        "7Jx17\n8Jx18",
        "７Jx17",
        "7" * 10_000,
        "7Jx17" + " " * 10_000 + "!",
    ],
)
def test_unreadable(text: str) -> None:
    with pytest.raises(UnreadableMarking, match=re.escape(f"write it like {EXAMPLES}")):
        parse_marking(text)


@given(
    st.sampled_from(["4", "5.5", "6.0", "7", "7.5", "10", "12.25", "16"]),
    st.sampled_from(["", "B", "J", "JJ", "K"]),
    st.sampled_from(["x", "X", "×", "-", " x ", " - "]),
    st.integers(13, 30),
    st.one_of(st.none(), st.integers(-99, 99)),
)
def test_either_order_reads_the_same(width: str, contour: str, by: str, code: int, offset: int | None) -> None:
    """No car's rim is wider than across (common practice, no source), so the larger number is the code."""
    assume(float(width) <= code)
    tail = "" if offset is None else f" ET{offset}"
    assert parse_marking(f"{width}{contour}{by}{code}{tail}") == parse_marking(f"{code}{by}{width}{contour}{tail}")


@given(st.text('0123456789.,½/JBKjbkxX×*-–+ ETetHCDFMISLPmn"', max_size=24))
def test_whatever_matches_is_a_rim(text: str) -> None:
    """So the schema's pattern and the parser never disagree, and the parser never fails in another way."""
    if re.fullmatch(MARKING_PATTERN, text):
        rim = parse_marking(text)
        assert rim.code in SPECIFIED_DIAMETER_MM or (rim.code in TAPERED_DIAMETER_MM and rim.contour == TAPERED)
        assert 10 <= rim.flange_height_mm <= 22
        assert 1.2 * 25.4 <= rim.width_mm <= 18 * 25.4
    else:
        with pytest.raises(UnreadableMarking):
            parse_marking(text)


@given(st.floats(2, 16), st.floats(-100, 100))
def test_flanges_lie_half_a_width_either_side_of_the_centre_line(width_in: float, offset: float) -> None:
    """An offset of +45 puts the mounting face 45 mm outboard of the centre line, so the rim sits inboard."""
    rim = Rim(width_in * 25.4, "J", 17, offset)
    inboard, outboard = rim.flange_positions_mm(offset)
    assert outboard - inboard == pytest.approx(width_in * 25.4)
    assert (inboard + outboard) / 2 == pytest.approx(-offset)
    assert inboard < outboard


def test_flanges_of_a_common_rim() -> None:
    """7 in between flanges, ET45: centre line at −45, flanges at −45 ∓ 88.9 mm."""
    assert parse_marking("7Jx17 ET45").flange_positions_mm(45) == pytest.approx((-133.9, 43.9))
    assert parse_marking("7Jx17 ET45").flange_positions_mm(-10) == pytest.approx((-78.9, 98.9))


def test_rims_of_15_degrees_are_the_code_in_inches() -> None:
    """ETRTO/TRA, from memory: no 4.8 mm more, as the 5° drop-centre rims from 17 have it."""
    assert 2 * parse_marking("22.5x8.25").radius_mm == pytest.approx(571.5)
    assert 2 * parse_marking("17.5x6.00").radius_mm == pytest.approx(444.5)
    assert parse_marking("22.5x8.25").flange_height_mm == pytest.approx(12.7)


def test_the_specified_diameter_is_not_the_code_in_inches() -> None:
    """ISO 4000-2, Table 4, from memory: under by 0.8 mm up to code 16, over by 4.8 mm from 17."""
    for code, diameter in SPECIFIED_DIAMETER_MM.items():
        assert diameter - 25.4 * code == pytest.approx(-0.8 if code <= 16 else 4.8, abs=0.06)


@given(st.from_regex(MARKING_PATTERN, fullmatch=True))
def test_what_the_pattern_lets_pass_is_a_rim(text: str) -> None:
    """Drawn from the pattern itself: characters at random hardly ever make a marking."""
    rim = parse_marking(text)
    assert rim.code in SPECIFIED_DIAMETER_MM or (rim.code in TAPERED_DIAMETER_MM and rim.contour == TAPERED)
