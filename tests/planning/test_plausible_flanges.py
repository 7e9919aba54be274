"""What is refused and doubted of measured flanges, beside the marking and beside each other."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from rimpoise_service.model.geometry import flange_geometry
from rimpoise_service.model.wheel import SIDES, Flange
from rimpoise_service.planning.wheel_plausibility import wheel_doubts, wheel_flaws
from tests.planning.doubts import RADIUS_MM, WHEEL, doubts, flaws, planes

MEASURED = replace(WHEEL, inboard=Flange(True, position_mm=105), outboard=Flange(True, position_mm=282.8))


@pytest.mark.parametrize(
    ("share", "refused", "doubted"),
    [
        (2, True, True),
        (1.301, True, True),
        (1.299, False, True),
        (1.149, False, False),
        (0.801, False, False),
        (0.799, False, True),
        (0.599, True, True),
    ],
)
def test_measured_radii_of_flanges_against_the_rims(share: float, refused: bool, doubted: bool) -> None:
    """A clip's radius, measured as a diameter or in inches, would halve or multiply its effect."""
    wheel = replace(WHEEL, inboard=Flange(True, radius_mm=share * RADIUS_MM))
    at = [(flaw.rule, flaw.path) for flaw in wheel_flaws(wheel)]
    assert at == [("flanges_on_rim", ("flanges", "inboard", "radius_mm"))] * refused
    assert [m.code for m in wheel_doubts(wheel)] == ["radius_unlikely"] * doubted


def test_without_a_marking_the_flanges_radii_are_held_against_each_other() -> None:
    wheel = replace(MEASURED, rim_size=None, inboard=Flange(True, position_mm=105, radius_mm=RADIUS_MM))

    def rules(radius_mm: float) -> list[str]:
        outer = Flange(True, position_mm=282.8, radius_mm=radius_mm)
        return [flaw.rule for flaw in wheel_flaws(replace(wheel, outboard=outer))]

    assert rules(RADIUS_MM * 1.29) == []
    assert rules(RADIUS_MM * 2) == ["flanges_on_rim"]
    flawed = planes(105, 282.8, radius_mm=2 * RADIUS_MM)
    outer = Flange(True, position_mm=282.8, radius_mm=RADIUS_MM)
    assert flaws(flawed, replace(wheel, outboard=outer)) == ["radius_on_rim", "radius_on_rim"]


@pytest.mark.parametrize(
    ("apart_mm", "refused", "doubted"),
    [
        (177.8, False, False),
        (203.1, False, False),
        (203.3, False, True),
        (152.5, False, False),
        (152.3, False, True),
        (237.7, False, True),
        (237.9, True, True),
        (117.7, True, True),
        (7, True, True),  # inches sent as millimetres
    ],
)
def test_measured_flanges_against_the_marked_width(apart_mm: float, refused: bool, doubted: bool) -> None:
    """7 in are 177.8 mm."""
    wheel = replace(MEASURED, outboard=Flange(True, position_mm=105 + apart_mm))
    assert [flaw.rule for flaw in wheel_flaws(wheel)] == ["flanges_on_rim"] * refused
    assert [m.code for m in wheel_doubts(wheel)] == ["flanges_differ"] * doubted


@pytest.mark.parametrize(
    ("side", "at_mm", "edges"),
    [("inboard", 105.0, (105.0, 282.8)), ("outboard", 282.8, (105.0, 282.8)), ("inboard", -140, (-140, 37.8))],
)
def test_one_measured_flange_is_the_others_datum(side: str, at_mm: float, edges: tuple[float, float]) -> None:
    """The other is the marked width away, wherever positions are counted from."""
    measured: dict[str, Any] = {side: Flange(True, position_mm=at_mm)}
    wheel = replace(WHEEL, **measured)
    found = [flange_geometry(wheel, each) for each in SIDES]
    assert [each.position_mm for each in found] == pytest.approx(edges)
    assert sorted(m.code for each in found for m in each.derived) == [
        "flange_position_from_other",
        "flange_radius_derived",
        "flange_radius_derived",
    ]
    assert flaws(planes(*edges), wheel) == doubts(planes(*edges), wheel) == []
