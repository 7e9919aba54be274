"""What hands and machine do: the errors of fitting and of reading."""

from __future__ import annotations

import math
from dataclasses import dataclass

MACHINE_SD_G, HEAVY_MACHINE_SD_G = 0.7, 3.0
"""A balancer that shows whole grams and repeats to 0.6 g without clamping again [g]; one for heavy wheels."""

MOST_SD: dict[str, float] = {
    "machine_sd_g": 1000,
    "angle_sd_deg": 15,
    "clip_position_sd_mm": 100,
    "strip_position_sd_mm": 100,
    "mass_sd_pct": 100,
}
"""The most that a plan takes, in the unit of each name; of angles its chance is right up to there."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Standard deviations of a piece's and a reading's errors; common practice, no source: a shop sends its own.

    angle_sd_deg [deg]; clip_position_sd_mm and strip_position_sd_mm along the axis [mm]; mass_sd_pct [%];
    machine_sd_g per plane and component [g], None: by the vehicle's class.
    """

    angle_sd_deg: float = 2.0
    clip_position_sd_mm: float = 0.5
    strip_position_sd_mm: float = 3.0
    mass_sd_pct: float = 2.0
    machine_sd_g: float | None = None

    @property
    def angle_var(self) -> float:
        """Variance of an angle [rad²]."""
        return math.radians(self.angle_sd_deg) ** 2

    @property
    def mass_var(self) -> float:
        """Variance of a mass, as a share of it squared [-]."""
        return (self.mass_sd_pct / 100) ** 2

    def axial_var(self, *, clip_on: bool) -> float:
        """Variance of a position along the axis [mm²]."""
        return (self.clip_position_sd_mm if clip_on else self.strip_position_sd_mm) ** 2
