"""The quantities of readings in a balancer's own units, in which no name can end in its unit."""

from __future__ import annotations

from typing import Any

from .quantities import Angle
from .request_fields import Integer, Number


class BareAngle(Angle):
    """An angle in a device's own sense and view; 360 is excluded: it is 0."""

    unit = ""

    def check(self, value: Any) -> Any:
        """Within the bounds, as it is."""
        return Number.check(self, value)


class ShownMass(Number):
    """A mass in a device's own unit."""

    low, high = 0, 1_000_000


class DialledLength(Number):
    """A length in a device's own unit."""

    low, high = 0, 2_000


class Spins(Integer):
    """How many spins a reading is the mean of."""

    low, high = 1, 20
