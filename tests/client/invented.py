"""An invented wheel, its readings and a shelf for the end-to-end tests, and vectors by other means.

A vector is one complex number, g·mm, the angle clockwise as everywhere.
"""

from __future__ import annotations

import cmath
from collections.abc import Iterable
from decimal import Decimal
from math import radians

from rimpoise import (
    BuiltinStock,
    ClipOnInput,
    EvenSpokes,
    Flange,
    Flanges,
    KeepOut,
    Land,
    OwnStockInput,
    PlanRequest,
    PointMass,
    StripInput,
    ThicknessRangeInput,
    Wheel,
    two_plane,
)

ROUNDED = 2e-6
"""Answers are rounded to six decimals."""

INBOARD = PointMass(position_mm=-133.9, radius_mm=222, mass_g=38, angle_deg=112)
OUTBOARD = PointMass(position_mm=43.9, radius_mm=222, mass_g=22, angle_deg=287.5)
READING = two_plane(INBOARD, OUTBOARD)
LIP = Flange(thickness_mm=3.2)
WHEEL = Wheel(
    "alloy",
    "factory",
    "car",
    flanges=Flanges(LIP, LIP),
    lands=[
        Land("inner land", "inboard", -110, 205, 40, behind_spokes=False, visible=False),
        Land("outer land", "outboard", -5, 198, 35, behind_spokes=True, visible=True, max_height_mm=8),
    ],
    spokes=EvenSpokes(5, first_deg=36, width_deg=32),
    keep_out=[KeepOut(352, 8, "valve", "inner land")],
    rim_size="7Jx17 ET45",
)
STRIP = StripInput(
    "BAR-5", "steel", 5, 16, 19, 3.6, 12, on_hand=200, unit_price=Decimal("0.18"), location="drawer 3"
)
LIPS = ThicknessRangeInput(2.5, 4)
SHELF = OwnStockInput(
    [
        ClipOnInput(f"HOOK-{m}", m, "zinc", thickness_mm=LIPS, length_mm=14 + m / 2, unit_price=Decimal("0.95"))
        for m in (10, 20, 30, 40)
    ],
    [STRIP],
)
QUESTION = PlanRequest(READING, WHEEL, BuiltinStock("metric"), reference="job 1047, front left")


def vector(size: float, angle_deg: float) -> complex:
    """A vector of a size and an angle [deg]."""
    return cmath.rect(size, radians(angle_deg))


def of_masses(masses: Iterable[PointMass]) -> tuple[complex, complex]:
    """Static sum [g·mm] and moment about the datum [g·mm²]."""
    pairs = [(vector(m.mass_g * m.radius_mm, m.angle_deg), m.position_mm) for m in masses]
    return sum(v for v, _ in pairs), sum(v * z for v, z in pairs)
