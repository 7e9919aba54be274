"""What is doubted of where fitted weights are: beside their wheel's places, or beside the reading's planes."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from rimpoise_service.diagnosis.fitted_piece import FittedPiece
from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.geometry import flange_geometry
from rimpoise_service.model.wheel import SIDES, Land, Wheel
from rimpoise_service.physics.planes import Plane
from rimpoise_service.planning.wheel_plausibility import plane_flaws, weight_doubts
from tests.planning.doubts import INNER_MM, OUTER_MM, RADIUS_MM, WHEEL
from tests.planning.test_false_alarms import possible_wheel

READ = (Plane("outboard", OUTER_MM, RADIUS_MM), Plane("inboard", INNER_MM, RADIUS_MM))
DEEP = Land("deep", "inboard", -60, 0.7 * RADIUS_MM, 30, behind_spokes=False, visible=False)


def doubted(
    position_mm: float, radius_mm: float, wheel: Wheel | None, planes: tuple[Plane, ...] = READ
) -> list[str]:
    """The codes about a weight, every one of which can be said."""
    found = list(weight_doubts(3, FittedPiece(position_mm, radius_mm, 20, 90), wheel, planes))
    assert all("3" in text_of(message) for message in found)
    return [message.code for message in found]


@pytest.mark.parametrize("off", [-14.9, 14.9, 15.1, 59.0])
def test_beside_a_flange_of_its_wheel(off: float) -> None:
    expected = ["weight_off_places"] * (abs(off) > 15)
    assert doubted(OUTER_MM + off, RADIUS_MM, WHEEL) == expected
    assert doubted(INNER_MM - off, RADIUS_MM, WHEEL, planes=()) == expected


@pytest.mark.parametrize(("share", "unlikely"), [(0.79, True), (0.81, False), (1.14, False), (1.16, True)])
def test_a_radius_on_its_wheel(share: float, unlikely: bool) -> None:
    assert doubted(INNER_MM, share * RADIUS_MM, WHEEL) == ["weight_radius_unlikely"] * unlikely


def test_on_a_land_that_was_described_nothing_is_doubted() -> None:
    described = replace(WHEEL, lands=(DEEP,))
    assert doubted(-50, DEEP.radius_mm, described) == []
    assert doubted(-50, DEEP.radius_mm, WHEEL) == ["weight_off_places", "weight_radius_unlikely"]
    assert doubted(-20, DEEP.radius_mm, described) == ["weight_off_places", "weight_radius_unlikely"]


@pytest.mark.parametrize("wheel", [None, replace(WHEEL, rim_size=None)])
def test_without_a_rim_the_readings_planes_stand_for_it(wheel: Wheel | None) -> None:
    """As far as a rim would refuse a plane: 60 mm outside it, 0.6 to 1.3 times its radius."""
    assert doubted(INNER_MM - 59.9, RADIUS_MM, wheel) == doubted(OUTER_MM + 59.9, RADIUS_MM, wheel) == []
    assert doubted(INNER_MM - 60.1, RADIUS_MM, wheel) == doubted(900, RADIUS_MM, wheel) == ["weight_off_places"]
    assert doubted(-60, 0.61 * RADIUS_MM, wheel) == doubted(-60, 1.29 * RADIUS_MM, wheel) == []
    assert doubted(-60, 0.59 * RADIUS_MM, wheel) == doubted(-60, 900, wheel) == ["weight_radius_unlikely"]


def test_a_static_reading_says_nothing_of_positions_but_of_the_radius() -> None:
    assert doubted(900, RADIUS_MM, None, READ[:1]) == []
    assert doubted(900, 900, None, READ[:1]) == ["weight_radius_unlikely"]
    assert doubted(900, 900, None, ()) == []


def test_no_false_alarms_at_the_places_of_possible_wheels() -> None:
    """Weights within a few millimetres of where a plan puts them: on every flange and land of 500 wheels."""
    rng, looked_at = random.Random(7), 0
    for _ in range(500):
        wheel = possible_wheel(rng)
        flanges = [flange_geometry(wheel, side) for side in SIDES]
        places = [(f.position_mm or 0.0, f.radius_mm or 0.0) for f in flanges]
        places += [(land.position_mm, land.radius_mm - 2) for land in wheel.lands]
        for at_mm, radius_mm in places:
            piece = FittedPiece(at_mm + rng.uniform(-6, 6), radius_mm + rng.uniform(-5, 5), 20, 90)
            assert [*plane_flaws(piece, (), wheel), *weight_doubts(1, piece, wheel, READ)] == []
            looked_at += 1
    assert looked_at > 1000
