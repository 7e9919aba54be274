"""Grades, their sharing between planes, and the tyre sizes that speeds are worked out from."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rimpoise_service.physics.quality_grades import (
    GRADE_PATTERN,
    RotationSpeed,
    grade_mm_s,
    permissible_gmm,
    shares,
)
from rimpoise_service.physics.tyre_sizes import UnreadableTyreSize, parse_tyre

grades = st.floats(0.1, 4000)
kilograms = st.floats(0.1, 10_000)
turnings = st.floats(1, 10_000).map(RotationSpeed)


@given(grades, kilograms, turnings)
def test_a_grade_is_the_speed_of_the_mass_centre(grade: float, mass_kg: float, speed: RotationSpeed) -> None:
    """ISO 21940-11 (from memory): e_per ω = G, in mm/s, whatever the mass and the speed."""
    offset_mm = permissible_gmm(grade, mass_kg, speed) / (1000 * mass_kg)
    assert offset_mm * speed.speed_rad_s == pytest.approx(grade, rel=1e-12)


def test_grades_a_step_apart() -> None:
    """ISO 21940-11 (from memory): the grades go up by 2.5 and what they permit with them."""
    steps = [0.4, 1, 2.5, 6.3, 16, 40, 100, 250, 630, 1600, 4000]
    permitted = [permissible_gmm(g, 20, RotationSpeed.at_rpm(800)) for g in steps]
    assert [b / a for a, b in pairwise(permitted)] == pytest.approx([2.5] * 10, rel=0.03)


@given(st.floats(-500, 500), st.floats(1, 500), st.floats(0.3, 0.7))
def test_the_moments_of_the_shares_meet_at_the_mass_centre(a_mm: float, span: float, share: float) -> None:
    """Statics, first principles: shares as levers have it, U_A L_A = U_B L_B, wherever the datum."""
    b_mm = a_mm + span
    centre = a_mm + span * (1 - share)
    to_a, to_b = shares([a_mm, b_mm], centre)
    assert to_a * (centre - a_mm) == pytest.approx(to_b * (b_mm - centre), abs=1e-9 * span)
    assert shares([b_mm, a_mm], centre) == pytest.approx((to_b, to_a))


@pytest.mark.parametrize(
    ("centre_mm", "expected"),
    [
        (0, (0.7, 0.3)),
        (29, (0.7, 0.3)),
        (31, (0.69, 0.31)),
        (71, (0.3, 0.7)),
        (-500, (0.7, 0.3)),
        (500, (0.3, 0.7)),
    ],
)
def test_no_plane_gets_less_than_three_tenths(centre_mm: float, expected: tuple[float, float]) -> None:
    """ISO 21940-11 (from memory): 0.3 to 0.7 of it; the plane nearer to the mass centre gets more."""
    assert shares([0, 100], centre_mm) == pytest.approx(expected)


def test_rolling_is_one_circumference_a_turn() -> None:
    """First principles: in one second at 1 m a turn and 36 km/h it turns ten times."""
    speed = RotationSpeed.rolling(36, 1000 / (2 * math.pi))
    assert speed.frequency_hz == pytest.approx(10, rel=1e-12)
    assert speed.speed_rpm == pytest.approx(600, rel=1e-12)
    assert RotationSpeed.at_rpm(600).speed_rad_s == pytest.approx(speed.speed_rad_s, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "diameter_mm"),
    [
        ("175/65R14", 583.1),
        ("195/65R15", 634.5),
        ("205/55R16", 631.9),
        ("225/45R17", 634.3),
        ("225/45 R 17 94W XL", 634.3),
        ("P205/55ZR16 (91Y)", 631.9),
        ("LT195/65-15C 104/102R M+S", 634.5),
        ("P215/65R15", 660.5),
        ("295/80R22.5", 1043.5),
        ("385/65R22,5", 1072.0),
        ("120/70ZR17", 599.8),
        ("120/70ZR17 M/C (58W)", 599.8),
        ("130/90-16", 640.4),
        ("31x10.50R15", 787.4),
        ("35x12.50R17LT", 889.0),
        ("LT 245/75R16", 773.9),
        ("LT235/85R16/E 120R", 805.9),
        ("120/70ZR17M/C (58W)", 599.8),
        ("195/65VR15", 634.5),
        ("195/65r15 91v", 634.5),
        ("HL255/35R20 100Y", 686.5),
        ("205/55R16 91V RunFlat *", 631.9),
        ("205/55 RF 16", 631.9),
        ("255/35zrf20 ", 686.5),
        ("205-55-16", 631.9),
        ("205/55/16", 631.9),
        ("205 55 16", 631.9),
        ("lt245/75r16", 773.9),
        ("225/45R17 94W, XL", 634.3),
        ("205/55R16 91H Seal-Inside", 631.9),
        ("145/80R8", 435.2),
        ("18x8.50-8", 457.2),
    ],
)
def test_tyres(text: str, diameter_mm: float) -> None:
    """ISO 4000-1 (from memory): 25.4 mm times the code and two section heights; in inches it stands there."""
    assert parse_tyre(text).diameter_mm == pytest.approx(diameter_mm, abs=0.05)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "225/45",
        "225/45R7",
        "17",
        "45/225R17",
        "225/45R17\n",
        "225/45R17;94W",
        "6Jx15",
        "225/45R18.5",
        "31R15",
        "11R22.5",
        "3.00-18",
    ],
)
def test_what_is_no_tyre_size_is_refused_with_a_way_to_write_it(text: str) -> None:
    with pytest.raises(UnreadableTyreSize, match="225/45 R17"):
        parse_tyre(text)


@given(st.from_regex(GRADE_PATTERN, fullmatch=True))
def test_every_grade_that_can_be_written_is_more_than_nothing(grade: str) -> None:
    assert 0.1 <= grade_mm_s(grade) <= 9999.999


@pytest.mark.parametrize("text", ["G0", "G0.09", "G00.4", "40", "g40", "G-1", "G1e3", "G40 ", "G.5", "G10000"])
def test_what_is_no_grade_does_not_match(text: str) -> None:
    assert not re.fullmatch(GRADE_PATTERN, text)
