"""What is refused and doubted of a reading, as codes."""

from __future__ import annotations

from rimpoise_service.messages.catalogue import text_of
from rimpoise_service.model.reading import (
    GivenPlanes,
    GivenReading,
)
from rimpoise_service.model.resolution import resolve
from rimpoise_service.model.wheel import Wheel
from rimpoise_service.physics.unbalance import PointMass
from rimpoise_service.planning.plausibility import (
    reading_doubts,
    reading_flaws,
)

INNER_MM = -133.9
OUTER_MM = 43.9
RADIUS_MM = 218.3
WHEEL = Wheel("alloy", "factory", "car", rim_size="7Jx17 ET45")


def planes(
    inner_mm: float = INNER_MM, outer_mm: float = OUTER_MM, radius_mm: float = RADIUS_MM, mass_g: float = 30
) -> GivenPlanes:
    """Two planes by position, called 30 g and as much as is given."""
    inner, outer = PointMass(inner_mm, radius_mm, 30, 80), PointMass(outer_mm, radius_mm, mass_g, 260)
    return GivenPlanes((inner, outer))


def flaws(given: GivenReading, wheel: Wheel = WHEEL) -> list[str]:
    """The rules that a reading breaks on a wheel."""
    return [flaw.rule for flaw in reading_flaws(given, resolve(given, wheel), wheel)]


def doubts(given: GivenReading, wheel: Wheel | None = WHEEL, *, first: bool = True) -> list[str]:
    """The warnings about a reading, every one of which can be said."""
    found = list(reading_doubts(given, resolve(given, wheel), wheel, first=first))
    assert all(text_of(message) for message in found)
    return [message.code for message in found]
