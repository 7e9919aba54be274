"""Where a static mass is supposed: as called, but midway between the flanges if it was called at one."""

from __future__ import annotations

from dataclasses import astuple

import pytest

from rimpoise_service.model.device import Device
from rimpoise_service.model.reading import (
    AtPlace,
    GivenPlane,
    GivenPlanes,
    MachineReading,
    SetToPlaces,
    ShownStatic,
    ShownVector,
)
from rimpoise_service.model.resolution import resolve
from rimpoise_service.model.wheel import Wheel
from rimpoise_service.physics.readings import Static
from rimpoise_service.physics.unbalance import PointMass
from tests.model.test_dialects import INNER_MM, OUTER_MM, WHEEL

MIDDLE_MM = -45.0


def supposed(given: GivenPlanes | MachineReading, wheel: Wheel | None = WHEEL) -> PointMass:
    """The mass of a static reading on its wheel."""
    reading = resolve(given, wheel).reading
    assert isinstance(reading, Static)
    return reading.mass


@pytest.mark.parametrize("place", ["inboard_flange", "outboard_flange"])
def test_at_a_flange_it_is_midway(place: str) -> None:
    """Common practice, no source: half each side, whichever flange the balancer was set to."""
    shown = ShownStatic(ShownVector(40, 50.0))
    for given in (
        GivenPlanes((AtPlace(place, 40, 50),)),
        MachineReading(Device(), shown, SetToPlaces((place,))),
    ):
        assert astuple(supposed(given)) == pytest.approx((MIDDLE_MM, 218.3, 40, 50), abs=0.1)


@pytest.mark.parametrize(
    ("given_mm", "supposed_mm"),
    [
        (INNER_MM - 9, INNER_MM - 9),
        (INNER_MM - 8.8, MIDDLE_MM),
        (INNER_MM + 8.8, MIDDLE_MM),
        (INNER_MM + 9, INNER_MM + 9),
        (0.0, 0.0),
        (OUTER_MM - 9, OUTER_MM - 9),
        (OUTER_MM - 8.8, MIDDLE_MM),
    ],
)
def test_a_position_within_a_twentieth_of_the_width_is_at_the_flange(given_mm: float, supposed_mm: float) -> None:
    plane: GivenPlane = PointMass(given_mm, 200.0, 40.0, 50.0)
    assert astuple(supposed(GivenPlanes((plane,)))) == pytest.approx((supposed_mm, 200.0, 40.0, 50.0))


def test_on_a_land_it_is_where_it_was_called() -> None:
    assert supposed(GivenPlanes((AtPlace("spoke land", 40, 50),))).position_mm == 5


def test_without_flanges_it_is_where_it_was_called() -> None:
    plane: GivenPlane = PointMass(INNER_MM, 200.0, 40.0, 50.0)
    assert supposed(GivenPlanes((plane,)), None) == plane
    assert supposed(GivenPlanes((plane,)), Wheel("alloy", "factory", "car")) == plane
