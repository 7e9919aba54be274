"""A weight as it was planned, given back with the readings before and after it was fitted."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..physics.distributed_mass import arc_factor
from ..physics.unbalance import PointMass, polar
from ..planning.models import Style


@dataclass(frozen=True, slots=True)
class FittedPiece(PointMass):
    """A piece as it was planned: radius_mm [mm] of its mass, bent over arc_deg [deg], clip-on or adhesive."""

    style: Style = "clip_on"
    arc_deg: float = 0.0
    sku: str | None = None

    @property
    def vector(self) -> complex:
        """What it does [g·mm], its arc included."""
        acts_as_gmm = self.mass_g * self.radius_mm * arc_factor(math.radians(self.arc_deg) / 2)
        return polar(acts_as_gmm, self.angle_deg)
