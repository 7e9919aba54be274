"""The chance that the first check spin passes, with human hands and a real machine.

Model. Every piece lands with independent normal errors of angle, axial position and mass; the machine
adds to each reading plane an independent normal error in each of its two components. To first order in
the errors the residual at the reading planes is then a normal vector, with the planned residual as its
mean, of at most four dimensions however many pieces there are. The chance that it lies within all limits
is read off one fixed low-discrepancy sample of that many normal deviates, the same for every request.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spread:
    """Standard deviations of what hands and machine do (common practice, no source).

    angle_sd_deg [deg], position_sd_mm axial [mm], mass_sd_pct [%], machine_sd_g per component [g].
    """

    angle_sd_deg: float = 2.0
    position_sd_mm: float = 1.5
    mass_sd_pct: float = 2.0
    machine_sd_g: float = 1.0
