"""The errors of hands and machine, as a plan takes them."""

from __future__ import annotations

from ...planning.spread import Spread
from .base import RequestSchema
from .quantities import AngleSpread, MachineSpread, MassSpread, PositionSpread

HANDS = Spread()


class SpreadSchema(RequestSchema):
    """Standard deviations of the errors of hands and machine."""

    shared = True
    makes = Spread
    angle_sd_deg = AngleSpread("Standard deviation of a piece's angle [deg].", load_default=HANDS.angle_sd_deg)
    clip_position_sd_mm = PositionSpread(
        "Standard deviation of a clip-on's position along the axis [mm].", load_default=HANDS.clip_position_sd_mm
    )
    strip_position_sd_mm = PositionSpread(
        "Standard deviation of a strip's position along the axis [mm].", load_default=HANDS.strip_position_sd_mm
    )
    mass_sd_pct = MassSpread(
        "Standard deviation of a piece's mass, relative to that mass [%].", load_default=HANDS.mass_sd_pct
    )
    machine_sd_g = MachineSpread(
        "Standard deviation of a reading [g], for each plane and component; without it, 0.7, or 3 for "
        "heavy vehicles.",
        load_default=None,
    )
